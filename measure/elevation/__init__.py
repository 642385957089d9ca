"""The elevation as a drawing: what is on it, and how it is set on paper.

- ``path_geometry``: lines and exact arcs, boxes
- ``drawing``: the display list at full size: layers, items, `Drawing`
- ``openings``: outline of an opening from its sizes and the kind of its head
- ``primitives``: the three things that every file format can draw
- ``lettering``: widths of text, wrapping and shrinking
- ``annotate``: dimensions and level marks turned into lines and lettering
- ``paper``: sheet sizes, margins, scales in words
- ``title_block``, ``bars``: what stands around a drawing
- ``page``: sheets, one or many
- ``schedule``: the sizes as a table
"""
