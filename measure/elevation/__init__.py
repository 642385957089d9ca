"""The elevation as a drawing: what is on it, and how it is set on paper.

- ``path_geometry``: lines and exact arcs, boxes
- ``drawing``: the display list at full size: layers, items, `Drawing`
- ``openings``: outline of an opening from its sizes and the kind of its head
- ``primitives``: the three things that every file format can draw
- ``lettering``: widths of text, wrapping and shrinking
- ``annotate``: a drawing turned into those three at a scale, with ``dimensions`` (their places:
  ``dimension_lanes``), ``level_marks`` and ``breaks`` (courses left out where words stand)
- ``paper``: sheet sizes, margins, the area A4 and Letter share
- ``title_block``, ``caption``, ``bars``: what stands around a drawing
- ``sheet``: an empty sheet with its frame, and a sheet with all that is drawn on it
- ``page``, ``tiling``: a drawing set on one sheet or several
- ``schedule``: the sizes as a table
- ``build``, ``extent``, ``areas``: the drawing of a measured face
"""
