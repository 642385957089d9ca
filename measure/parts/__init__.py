"""From an elevation to parts that are cut from card.

materials.py     thicknesses of card and paper, with where they come from
tower_wrap.py    how a round tower is rolled: lengths, score lines, formers, strips
"""
