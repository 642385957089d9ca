"""Several photos of one building adjusted together.

conditions.py      what a tie demands of two photos
tied.py            the observations of all photos, side by side
part_adjusted.py   one photo's share, as if it had been adjusted alone
disagreement.py    which photos contradict each other, and by how much
"""
