"""Which brick format a wall is built of: a choice among hypotheses, not one number.

evidence.py      what a wall shows of its bricks: gauge, lengths, ratio
lengths.py       bricks counted along a course
hypotheses.py    formats weighed against it
telling.py       the verdict in sentences
"""
