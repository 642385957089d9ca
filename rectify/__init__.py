"""Photo to true surface: camera, surfaces, adjustment, straightening.

Imports from ``shared`` only. Start reading at ``rectify/frames.py``, then::

    camera, surfaces, projection     rays, walls and towers, pixels to charts and back
    observations, rectangle          a survey's picks, gathered and refused
    first_guess, face_starts,        where the search starts
      tower_start, first_state
    unknowns, sighting, residuals    what is solved for, and what each observation demands
    least_squares, adjusted          the search, and what comes out of it
    snooping, focal_spread           wrong picks; cameras that the picks leave possible
    adjust                           all of it for one photo -> solution
    solution, sampled_chart          picks laid on faces with all that their ± depends on
    diagnosis                        what is wrong or weak, in sentences
    photo*, picture, pyramid         photo files and their pixels
    window, straighten, snap*        pixels on a true surface; corners and edges in the photo
"""
