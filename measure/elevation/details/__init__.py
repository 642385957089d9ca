"""The vocabulary of a wall, drawn: what carries a name in the trade, from a few sizes each.

- ``ground``: where a detail may be drawn: inside the wall, beside openings, behind what is nearer
- ``bands``: plinths, string courses, cornices, plain bands
- ``dressings``: sills, lintels, quoins
- ``arches``: voussoirs of every form of head, keystones
- ``joinery``: glazing bars, meeting rails, mullions, transoms, panels of doors
- ``brickwork``: bed joints and perpends in a bond
- ``pipes``: rainwater pipes
- ``draw_details``: all details of a face, nearest first
"""
