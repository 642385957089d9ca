"""Where the search starts when a lens bends the picture much: from the lines picked alone.

Lines of three picks and more show the bend, and many lines show the camera, without any
size (`rectify.line_camera`). Used where the plain start leads nowhere.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from rectify.camera import CameraPrior
from rectify.line_camera import LEVEL, PLUMB, LineCamera, known_lines, start_from_lines
from rectify.observations import Sheet
from rectify.unknowns import Unknowns
from shared.jets import Array, value_of


def shows_bend(sheet: Sheet) -> bool:
    """Tell whether any line has three picks or more."""
    return any(len(line.picks) > 2 for line in sheet.lines)


def bent_start(sheet: Sheet, prior: CameraPrior, state: Unknowns) -> Unknowns:
    """Start from the camera that the picked lines show, lens and all.

    Parameters
    ----------
    sheet : Sheet
    prior : CameraPrior
    state : Unknowns
        The plain start: what lines do not show is taken from it.
    """
    wings = [face for face, shape in state.shapes.items() if "heading" in shape.parts]
    values = list(state.values)
    directions = {face: LEVEL + 1 + at for at, face in enumerate(wings)}
    flat = [face for face, shape in state.shapes.items() if shape.kind in ("main", "parallel")]
    directions |= dict.fromkeys(flat, LEVEL)
    chords: list[tuple[int, Array, float]] = []
    for line in sheet.lines:
        plumb = line.direction == "plumb"
        if not plumb and line.face not in directions:
            continue
        direction = PLUMB if plumb else directions[line.face]
        picks = np.array([sheet.picks_px[at] for at in line.picks])
        u_px = float(np.mean([sheet.u_px[at] for at in line.picks]))
        chords += [(direction, picks[i : i + 2], u_px) for i in range(len(picks) - 1)]
    numbers = np.array([math.log(prior.focal_px), *prior.principal_px, 0.0, 0.0])
    headings = tuple(float(value_of(state.number(face, "heading", values))) for face in wings)
    plain = LineCamera(numbers, state.rotation, headings, state.bend_focal_px)
    found = start_from_lines(known_lines(chords), plain, prior)
    parts = ("log_focal", "principal_x", "principal_y", "bend_1", "bend_2")
    out = state.values.copy()
    owners = [(sheet.photo, part) for part in parts] + [(face, "heading") for face in wings]
    for name, value in zip(owners, (*found.numbers, *found.headings), strict=True):
        if name in state.names:
            out[state.index(*name)] = value
    return replace(state, values=out, rotation=found.rotation)
