"""Level and plumb edges that the photo itself shows: found, sorted, joined, put to the test.

edges.py          pieces of straight edges, with ±
line_camera.py    which of them run level or plumb, and what lens bends them
joining.py        pieces of one edge joined
trial.py          the photo solved with them and without
report.py         what they changed
"""
