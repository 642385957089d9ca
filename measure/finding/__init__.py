"""Openings that a straightened wall seems to show: plain vision, nothing learned.

``where.py``       the part of a face to be searched
``picture.py``     the wall made ready: colour, noise, scale
``wall_tone.py``   which parts look like bare wall, in light and in shadow
``edges.py``       level and upright edges that outdo the wall's own texture; their runs
``jambs.py``       pairs of upright runs with a sill below: candidates
``heads.py``       which head closes a candidate: flat, segmental, semicircular, pointed
``traits.py``      faint edges, what lies above and within: more evidence
``pool.py``        candidates looked at closely: heads, traits
``company.py``     equals in rows and columns, parts and wholes, places in line with others
``clearness.py``   all the evidence weighed
``circles.py``     round openings
``choose.py``      one candidate for each place
``sides.py``       each side to a part of a pixel, with its ±
``carry.py``       back into the photo, with the ±
``groups.py``      rows and columns of like openings
"""
