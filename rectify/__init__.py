"""Photo to true surface: camera, surfaces, adjustment, straightening.

Imports from ``shared`` only. Start reading at ``rectify/frames.py``, then::

    camera, surfaces, projection    rays, walls and towers, pixels to charts and back
    adjust, tie_photos              one photo, or several tied together -> solutions
    solution, sampled_chart         picks laid on faces with all that their ± depends on
    placements                      where a face stands in the building
    diagnosis                       what is wrong or weak, in sentences
    snap                            corners and edges under a click
    photo_lines                     level and plumb guides found in the photo
    window, straighten              pixels on a true surface
    rectangle                       four corners, in order or refused

Each folder is a room behind one of these: ``photos`` reads files, ``starts`` and ``solving`` stand
behind `adjust`, ``ties`` behind `tie_photos`, ``snapping`` behind `snap`, ``guides`` behind
`photo_lines`, ``straightening`` behind `straighten`.
"""
