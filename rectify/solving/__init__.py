"""The adjustment of one photo: what is unknown, what each observation demands, the search.

observations.py        a survey's picks, gathered and refused
unknowns.py            what is solved for
sighting.py            rays through picks, as the unknowns have it
residuals.py           what each observation demands, with exact derivatives
sheet_conditions.py    all of them at any unknowns
least_squares.py       the search
adjusted.py            what comes out of it: values, covariance, redundancy
snooping.py            which pick is wrong
focal_spread.py        cameras that the picks leave possible
face_checks.py, solved_faces.py    whether faces stand as a building's can
"""
