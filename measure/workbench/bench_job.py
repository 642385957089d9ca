"""A survey on the bench as a job for drawing and exporting: nothing is measured twice."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace

from measure.delivery import caption_of, elevation_of_face, lay_sheets
from measure.elevation.annotate import edges_apart
from measure.elevation.build import Elevation
from measure.elevation.drawing import (
    Circle,
    Drawing,
    Item,
    Path,
    Polyline,
    circle_segments,
    polyline_segments,
)
from measure.elevation.page import Orientation
from measure.elevation.path_geometry import ArcSegment, Point, Segment, arc_radius_mm, walk
from measure.elevation.sheet import Sheet
from measure.elevation.title_block import TitleBlock
from measure.results import Results
from measure.survey_job import SurveyJob
from measure.workbench.answers import Answer
from measure.workbench.payloads import How
from measure.workbench.shelf import OpenSurvey
from rectify.photos.photo import Photo, PhotoHeader
from shared.errors import FieldError


class BenchJob(SurveyJob):
    """A job whose photos and results are already at hand.

    Parameters
    ----------
    opened : OpenSurvey
    answer : Answer
        A whole one, not one made while a pick was dragged.
    """

    def __init__(self, opened: OpenSurvey, answer: Answer) -> None:
        super().__init__(answer.survey, opened.path)
        self._opened = opened
        self._answer = answer

    def header(self, photo_id: str) -> PhotoHeader:
        """What is known of a photo."""
        return self._opened.header(self.survey, self.photo(photo_id))

    def pixels(self, photo_id: str) -> Photo:
        """Pixels of a photo."""
        return self._opened.decoded(self.survey, photo_id).photo

    def measure(self, *, stop_at_problem: bool = True) -> Results:
        """Results as the page shows them."""
        return self._answer.results


def elevation_of(job: BenchJob, answer: Answer, face_id: str) -> Elevation:
    """Elevation of one face, as the survey wishes.

    Raises
    ------
    GeometryError
        If the face is not placed or nothing is picked on it.
    FieldError
        For a wish that cannot be met.
    """
    answer.solution_of(face_id)
    return elevation_of_face(job, answer.results, face_id, answer.results.denominator)


def shown_part(drawing: Drawing, how: How) -> Drawing:
    """A drawing without the layers that are hidden.

    Raises
    ------
    FieldError
        If every layer is hidden.
    """
    hidden = set(how.hidden)
    items = tuple(item for item in drawing.items if item.layer not in hidden)
    if drawing.items and not items:
        raise FieldError("Every layer is hidden: show at least one.")
    return replace(drawing, items=items)


@dataclass(frozen=True, slots=True)
class Laid:
    """An elevation, what is shown of it, what stands in its corner, and its sheets."""

    elevation: Elevation
    drawing: Drawing
    block: TitleBlock
    sheets: tuple[Sheet, ...]


def lay(job: BenchJob, answer: Answer, face_id: str, elevation: Elevation, how: How) -> Laid:
    """Set the elevation of a face on paper as the page asks."""
    drawing = shown_part(elevation.drawing, how)
    block = caption_of(job, answer.results, face_id, elevation, dt.date.today())
    turned: Orientation = "landscape" if how.landscape else "portrait"
    # sizes of openings that are hidden are not wanted on the sheet either
    scheduled = () if "openings" in how.hidden else elevation.facade.openings
    sheets = lay_sheets(drawing, block, how.paper, scheduled, turned)
    return Laid(elevation, drawing, block, sheets)


def shown_items(drawing: Drawing) -> list[Item]:
    """Items of a drawing without those of layers that are turned off."""
    off = {layer.name for layer in drawing.layers if not layer.shown}
    return [item for item in drawing.items if item.layer not in off]


def paths_of(items: Iterable[Item], shift_mm: Point) -> list[str]:
    """Lines of items as SVG path data on the chart of their face, in millimetres, v up.

    Lettering and sizes have none. Edges that were measured and those that were not are lines
    of their own.
    """
    lines = (_line_of(part) for item in items for part in edges_apart(item))
    return [_path_data(*line, shift_mm) for line in lines if line is not None]


def inferred_paths_of(items: Iterable[Item], shift_mm: Point) -> list[str]:
    """Those of them that were not measured."""
    parts = (part for item in items for part in edges_apart(item))
    return paths_of((part for part in parts if getattr(part, "inferred", False)), shift_mm)


def _line_of(item: Item) -> tuple[Point, tuple[Segment, ...], bool] | None:
    if isinstance(item, Circle):
        return (*circle_segments(item.centre_mm, item.radius_mm), True)
    if isinstance(item, Path):
        return item.start_mm, item.segments, item.closed
    if isinstance(item, Polyline):
        return (*polyline_segments(item), item.closed)
    return None


def _path_data(
    start_mm: Point, segments: tuple[Segment, ...], closed: bool, shift_mm: Point
) -> str:
    du, dv = shift_mm
    parts = [f"M{start_mm[0] + du:.1f} {start_mm[1] + dv:.1f}"]
    for here, segment in walk(start_mm, segments):
        u, v = segment.to_mm[0] + du, segment.to_mm[1] + dv
        if isinstance(segment, ArcSegment):
            radius = arc_radius_mm(here, segment)
            large = int(abs(segment.sweep_rad) > 3.141592653589793)
            turn = int(segment.sweep_rad > 0)
            parts.append(f"A{radius:.1f} {radius:.1f} 0 {large} {turn} {u:.1f} {v:.1f}")
        else:
            parts.append(f"L{u:.1f} {v:.1f}")
    return "".join(parts) + ("Z" if closed else "")
