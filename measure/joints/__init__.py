"""Joints of masonry in a straightened strip: find the lines, weigh them, thread a path.

Stand-alone image code: it knows an array of pixels and two rows, no camera and no survey.

profile.py    strip -> a few dozen column blocks, one signal each, level lines made level
response.py   profile at one sampling -> how much each row looks like a joint; its peaks
pitch.py      spectrum and autocorrelation -> counts worth trying
path.py       peaks -> the likeliest run of joints, even or uneven, and its rivals
search.py     all this at every sampling, for the whole strip and for each half of it alone
likeness.py   whether the halves of a course are alike, and those on either side of a joint are not
evidence.py   what speaks for and against one run of joints
score.py      evidence as a row of numbers, and the score that a fitted net gives it
verdict.py    evidence of all runs -> one count and how far to trust it
place.py      each joint to a part of a pixel, with its standard uncertainty
"""
