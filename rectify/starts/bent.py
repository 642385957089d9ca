"""Where the search starts when a lens bends the picture much: from the lines picked alone.

Lines of three picks and more show the bend, and many lines show the camera, without any
size (`rectify.guides.line_camera`). Used where the plain start leads nowhere.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from rectify.camera import CameraPrior
from rectify.guides.line_camera import LEVEL, PLUMB, LineCamera, known_lines, start_from_lines
from rectify.solving.observations import LineObserved, Sheet
from rectify.solving.unknowns import FaceShape, Unknowns
from shared.jets import Array, value_of


def shows_bend(sheet: Sheet) -> bool:
    """Tell whether any line has three picks or more."""
    return any(len(line.picks) > 2 for line in sheet.lines)


def direction_of(
    line: LineObserved, shapes: Mapping[str, FaceShape], wings: Sequence[str]
) -> int | None:
    """A picked line's direction in `rectify.guides.line_camera`; None on roofs and towers.

    `wings` are the faces with headings of their own, in the order of directions.
    """
    name: str | None = line.face
    while name is not None and shapes[name].kind == "parallel":
        name = shapes[name].parent
    kind = "main" if name is None else shapes[name].kind
    if kind not in ("main", "hinged"):
        return None
    if line.direction == "plumb":
        return PLUMB
    if kind == "main":
        return LEVEL
    return LEVEL + 1 + wings.index(name) if name in wings else None


def bent_start(sheet: Sheet, prior: CameraPrior, state: Unknowns) -> Unknowns:
    """Start from the camera that the picked lines show, lens and all.

    Parameters
    ----------
    sheet : Sheet
    prior : CameraPrior
    state : Unknowns
        The plain start: what lines do not show is taken from it.
    """
    wings = [face for face, shape in state.shapes.items() if shape.kind == "hinged"]
    values = list(state.values)
    chords: list[tuple[int, Array, float]] = []
    for line in sheet.lines:
        direction = direction_of(line, state.shapes, wings)
        if direction is None:
            continue
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
