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
- ``schedule``, ``sheet_schedule``: the sizes as a table, in a file and on the sheet
- ``face_numbers``, ``tidy``: the numbers of a measured face, lined up
- ``facade``, ``face_facade``, ``complete``, ``fit``: the same as plain geometry, completed, fitted
- ``foot``: the wall continued down to what stands below its outline
- ``moved_lines``, ``lines``: lines that the user drew elsewhere, and those to take hold of
- ``build``, ``draw_facade``, ``details``: from a measured face to its drawing; ``labels`` and
  ``opening_names``: where its lettering stands
- ``liberties``, ``checks``: what was not drawn as measured, and what is wrong with the wall
- ``skin``: the straightened photo evened, balanced, painted over and cut
- ``choice_sheet``: the ways to fit a plot, side by side
- ``carried``: details carried along when the facade is fitted
- ``extent``, ``areas``: what a face covers
"""
