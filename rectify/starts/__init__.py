"""Where the search starts: a camera and surfaces guessed from the picks, good to some percent.

first_guess.py    the frame's four corners -> camera
first_state.py    all unknowns, gathered
faces.py          wings, walls behind or before the frame's
tower.py          round faces
roof.py           slopes
bent.py           a lens that bends much: camera from the lines alone
"""
