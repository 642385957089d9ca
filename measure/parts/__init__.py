"""From measured faces to parts that are cut from card.

What is at hand
    materials.py     thicknesses of card and paper, with where they come from
    workshop.py      the sheets chosen, as layers of a wall; projections built up from them
The building at the model's scale
    face_shape.py    outline, openings and place of one face
    measured_faces.py  face shapes from results, or from a drawing made of them
    opening_shapes.py  openings grown and shrunk; the length of their linings
    corners.py       how far each layer runs at a corner or a tower
    shell.py         all faces, and what meets what
Parts
    part.py, part_marks.py  one flat part: its lines by what the knife does
    walls.py, folded.py     carcass, overlay, skin; layers that go round corners
    reveals.py, projections.py  what stands in openings and out of walls
    roofs.py         slopes, laid on
    tower_wrap.py, tower_plan.py, tower.py  how a round tower is rolled, and its parts
    card_plan.py     all parts of a survey, with cautions
Sheets and files
    joints.py        parts larger than a sheet
    nesting.py       laying parts on sheets
    part_frame.py, part_sheets.py, printer.py  the sheets, corrected for the printer
    key_sheet.py, text_sheet.py, cut_list.py, build_order.py  what goes with them
    assembled.py, axonometric.py  the shell in space, its seams, its picture
    cut_files.py     all of it as files and as one archive
"""
