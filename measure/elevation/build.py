"""From measured sizes to the drawing of one face.

Draws what was measured, where it was measured: nothing is straightened out, lined up
or added here. The drawing's u starts at the left edge of what is drawn, its v at the datum.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise

import numpy as np

from measure.elevation.areas import level_lines, solid_wall
from measure.elevation.drawing import (
    ELEVATION_LAYERS,
    Dimension,
    Drawing,
    Item,
    LevelMark,
    Polyline,
    Text,
)
from measure.elevation.extent import face_extent
from measure.elevation.openings import opening_path
from measure.elevation.path_geometry import Box, Point
from measure.results import FaceResult, MeasureResult
from rectify.solution import Solution
from shared.number_text import format_number
from shared.survey import Face, Measure, OpeningMeasure

#: Levels closer than this, at paper size, share one mark.
SAME_LEVEL_PAPER_MM = 1.2

#: An opening narrower than this on paper carries its id alone.
ROOM_FOR_WORDS_PAPER_MM = 22.0


def build_drawing(
    title: str, face: Face, result: FaceResult, solution: Solution, denominator: float
) -> Drawing:
    """Draw one face.

    Parameters
    ----------
    title : str
        Of the building.
    face : Face
    result : FaceResult
    solution : Solution
    denominator : float
        Of the scale it is meant for: marks that would fall on each other there share a place.

    Returns
    -------
    Drawing
    """
    extent = face_extent(face, result, solution)
    shift = np.array([-_left_edge(face, result, extent), -result.datum_v_mm])
    builder = _Builder(face, result, shift, denominator)
    builder.add_all()
    return Drawing(
        title=title or "Untitled building",
        subtitle=face.label or face.id,
        layers=ELEVATION_LAYERS,
        items=tuple(builder.items),
    )


def _left_edge(face: Face, result: FaceResult, extent: Box) -> float:
    outlines = [m.points_mm for m in result.measures.values() if m.kind == "outline"]
    return float(outlines[0][:, 0].min()) if outlines else extent.left_mm


class _Builder:
    """Gathers the items of one drawing."""

    def __init__(
        self, face: Face, result: FaceResult, shift: np.ndarray, denominator: float
    ) -> None:
        self.face = face
        self.result = result
        self.shift = shift
        self.denominator = denominator
        self.items: list[Item] = []
        self.asked: Mapping[str, Measure] = {measure.id: measure for measure in face.measures}
        self.levels: list[tuple[float, str, str | None]] = []
        self.right_mm = 0.0

    def add_all(self) -> None:
        """Add everything, outline first."""
        measures = list(self.result.measures.values())
        outlines = [m for m in measures if m.kind == "outline"]
        for number, measure in enumerate(outlines):
            layer = "outline" if number == 0 else "bands"
            self.items.append(Polyline(layer, self._points(measure), closed=True, id=measure.id))
        openings = [m for m in measures if m.kind == "opening"]
        for measure in openings:
            self._add_opening(measure)
        wall = self._wall(outlines, measures)
        self.right_mm = wall.right_mm
        adds = {
            "distance": self._add_distance,
            "spacing": self._add_spacing,
            "level": self._add_level,
            "arc": self._add_arc,
            "slope": self._add_slope,
            "set-back": self._add_set_back,
            "courses": self._add_courses,
        }
        for measure in measures:
            if measure.kind in adds:
                adds[measure.kind](measure, wall)
        self._add_overall(outlines, wall)
        self._add_levels(openings)
        self.items.append(Polyline("datum", ((wall.left_mm, 0.0), (wall.right_mm, 0.0)), id=None))

    def _points(self, measure: MeasureResult) -> tuple[Point, ...]:
        moved = measure.points_mm + self.shift
        return tuple((float(u), float(v)) for u, v in moved)

    def _wall(self, outlines: list[MeasureResult], measures: list[MeasureResult]) -> Box:
        points = np.concatenate([m.points_mm for m in (outlines[:1] or measures)]) + self.shift
        low, high = points.min(axis=0), points.max(axis=0)
        return Box(float(low[0]), float(low[1]), float(high[0]), float(high[1]))

    def _add_opening(self, measure: MeasureResult) -> None:
        asked = self.asked[measure.id]
        if not isinstance(asked, OpeningMeasure):
            raise TypeError(f"measure {measure.id} is not an opening")
        left = measure.size("left_mm") + float(self.shift[0])
        sill, width = measure.size("sill_mm"), measure.size("width_mm")
        height = measure.size("height_mm")
        rise = measure.size("rise_mm") if "rise_mm" in measure.sizes else None
        self.items.append(opening_path(left, sill, width, height, asked.head, rise, id=measure.id))
        roomy = width / self.denominator >= ROOM_FOR_WORDS_PAPER_MM
        words = (measure.label or measure.id, f"{_mm(width)} × {_mm(height)}")
        lines = words if roomy else (measure.id,)
        for line, text in enumerate(lines):
            self.items.append(
                Text(
                    "notes",
                    (left + width / 2.0, sill + height * 0.45),
                    text,
                    2.5 if line == 0 and roomy else 1.8,
                    horizontal="centre",
                    vertical="middle",
                    offset_paper_mm=(0.0, 1.6 - 3.4 * line if roomy else 0.0),
                    room_mm=width * 0.92,
                )
            )

    def _add_distance(self, measure: MeasureResult, wall: Box) -> None:
        start, end = self._points(measure)
        text = _mm(measure.size("length_mm"))
        level = abs(end[1] - start[1]) < 0.02 * abs(end[0] - start[0])
        plumb = abs(end[0] - start[0]) < 0.02 * abs(end[1] - start[1])
        if level:
            self.items.append(Dimension(start, end, text, 6.0, "horizontal", id=measure.id))
        elif plumb:
            self.items.append(Dimension(start, end, text, 6.0, "vertical", id=measure.id))
        else:
            self.items.append(Dimension(start, end, text, 4.0, "aligned", id=measure.id))

    def _add_spacing(self, measure: MeasureResult, wall: Box) -> None:
        points = sorted(self._points(measure))
        gaps = measure.sizes["spacings_mm"]
        if not isinstance(gaps, list):
            raise TypeError("spacings are a list")
        for (start, end), gap in zip(pairwise(points), gaps, strict=True):
            low = (start[0], wall.bottom_mm), (end[0], wall.bottom_mm)
            self.items.append(Dimension(*low, _mm(gap), -7.0, "horizontal", id=measure.id))

    def _add_level(self, measure: MeasureResult, wall: Box) -> None:
        self.levels.append((measure.size("level_mm"), measure.label or measure.id, measure.id))

    def _add_arc(self, measure: MeasureResult, wall: Box) -> None:
        points = self._points(measure)
        top = max(points, key=lambda point: point[1])
        self.items.append(
            Text(
                "notes",
                top,
                f"R {_mm(measure.size('radius_mm'))}",
                1.8,
                horizontal="centre",
                offset_paper_mm=(0.0, 1.0),
                id=measure.id,
            )
        )

    def _add_slope(self, measure: MeasureResult, wall: Box) -> None:
        start, end = self._points(measure)
        middle = ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0)
        text = f"{measure.size('slope_deg'):.1f}°"
        self.items.append(
            Text("notes", middle, text, 2.5, horizontal="centre", offset_paper_mm=(0.0, 1.5))
        )

    def _add_set_back(self, measure: MeasureResult, wall: Box) -> None:
        near = self._points(measure)[0]
        text = f"{_mm(measure.size('depth_mm'))} back"
        self.items.append(Text("notes", near, text, 1.8, offset_paper_mm=(1.0, 1.0)))

    def _add_courses(self, measure: MeasureResult, wall: Box) -> None:
        """Bed joints across the wall at the heights found, cut where openings are."""
        joints = measure.sizes.get("joints_mm")
        if not isinstance(joints, list):
            return
        solid = solid_wall(self.items, wall)
        for level in joints:
            for part in level_lines(solid, level, wall):
                self.items.append(Polyline("courses", part))
        low, high = min(joints), max(joints)
        gauge = measure.size("gauge_mm")
        count = measure.facts.get("count")
        self.items.append(
            Dimension(
                (wall.left_mm, low),
                (wall.left_mm, high),
                f"{count} × {gauge:.1f}",
                -6.0,
                "vertical",
                id=measure.id,
            )
        )

    def _add_overall(self, outlines: list[MeasureResult], wall: Box) -> None:
        if not outlines or wall.width_mm <= 0 or wall.height_mm <= 0:
            return
        low, right = wall.bottom_mm, wall.right_mm
        self.items.append(
            Dimension((wall.left_mm, low), (right, low), _mm(wall.width_mm), -15.0, "horizontal")
        )
        self.items.append(
            Dimension(
                (wall.left_mm, low),
                (wall.left_mm, wall.top_mm),
                _mm(wall.height_mm),
                -8.0,
                "vertical",
            )
        )

    def _add_levels(self, openings: list[MeasureResult]) -> None:
        """Mark each level once: those asked for, then sills and heads, then the datum."""
        for measure in openings:
            self.levels.append((measure.size("sill_mm"), "sill", None))
            self.levels.append((measure.size("head_mm"), "head", None))
        self.levels.insert(0, (0.0, "datum", None))
        taken: list[float] = []
        for level, name, id_ in self.levels:
            close = SAME_LEVEL_PAPER_MM * self.denominator
            if any(abs(level - other) < close for other in taken):
                continue
            taken.append(level)
            sign = "±0" if abs(level) < 0.5 else f"{'+' if level > 0 else ''}{_mm(level)}"
            self.items.append(LevelMark(level, f"{name} {sign}", self.right_mm, id=id_))


def _mm(value: float) -> str:
    return format_number(value, 0)
