"""How pixels get from the photo onto a true surface: exact where it matters, quick elsewhere.

target_map.py          pixel of the straightened picture -> point of the photo, exactly
lattice.py             the same by interpolation between nodes; its miss is measured
homography_spans.py    which part of a row the photo shows
tiles.py               rectangles of a picture, and how they are cut up for the work
picture.py             the bands, filled from the pyramid
"""
