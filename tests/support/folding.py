"""Part sheets read back from their SVG by an independent reader, and stood up again."""

from __future__ import annotations

import io
import math
from dataclasses import dataclass

import numpy as np
import shapely
from svgelements import SVG, Arc, Close, Move, Path

MM_PER_PX = 25.4 / 96


@dataclass
class FlatPart:
    """One part as it came out of the SVG: lines by the rest of their id, its top upwards."""

    lines: dict[str, np.ndarray]

    def polygon(self, name: str = "") -> shapely.Polygon:
        return shapely.Polygon(self.lines[name])

    def left(self, name: str = "") -> float:
        return float(self.lines[name][:, 0].min())

    def right(self, name: str = "") -> float:
        return float(self.lines[name][:, 0].max())

    def foot(self, name: str = "") -> float:
        return float(self.lines[name][:, 1].min())

    def top(self, name: str = "") -> float:
        return float(self.lines[name][:, 1].max())


def points_mm(path: Path, height_mm: float) -> np.ndarray:
    """Corners of a path in millimetres, y up; arcs as sixty points."""
    points: list[tuple[float, float]] = []
    for segment in path.segments():
        if isinstance(segment, Arc):
            points += [segment.point(t) for t in np.linspace(0.0, 1.0, 61)[1:]]
        elif isinstance(segment, Move) or not isinstance(segment, Close):
            points.append(segment.end)
    flat = np.array([(float(x), float(y)) for x, y in points]) * MM_PER_PX
    flat[:, 1] = height_mm - flat[:, 1]
    return flat


def read_sheets(files: dict[str, bytes]) -> dict[str, FlatPart]:
    """All parts on all sheets, by their mark; copies come as ``mark-2``."""
    parts: dict[str, FlatPart] = {}
    for name, data in files.items():
        if not (name.startswith("sheet-") and name.endswith(".svg")):
            continue
        svg = SVG.parse(io.BytesIO(data), ppi=96, reify=True)
        height = svg.height * MM_PER_PX
        for element in svg.elements():
            if isinstance(element, Path) and element.id and element.id[0].isupper():
                mark, _, rest = element.id.partition(".")
                parts.setdefault(mark, FlatPart({})).lines[rest] = points_mm(element, height)
    for part in parts.values():
        _stand_up(part)
    return parts


def _stand_up(part: FlatPart) -> None:
    if "up" not in part.lines:
        return
    foot, tip = part.lines["up"]
    turn = math.pi / 2 - math.atan2(*(tip - foot)[::-1])
    cos, sin = math.cos(turn), math.sin(turn)
    rotation = np.array([[cos, -sin], [sin, cos]])
    for name, points in part.lines.items():
        part.lines[name] = points @ rotation.T


def plan_point(origin: np.ndarray, heading: float, u: float, depth: float) -> np.ndarray:
    """Plan point (x, z) of a wall at u and a depth behind its face."""
    along = np.array([math.cos(heading), math.sin(heading)])
    inward = np.array([math.sin(heading), -math.cos(heading)])
    return origin + u * along + depth * inward
