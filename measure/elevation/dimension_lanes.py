"""Where dimension lines and their values stand, from the building outwards.

Frame: millimetres of paper, but counted along and out: along runs as the
lettering reads (right, or up for a vertical dimension), out points away from the
building. Dimensions asked onto one line share a lane; a lane that would crowd the
one before it moves out. Where a span is too short for its value, the value gets a
place further out, on a leader, that no line runs through.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

from measure.elevation import lettering
from measure.elevation.drawing import Dimension
from measure.elevation.path_geometry import Point

EXTENSION_OVERSHOOT_MM = 1.6
TICK_MM = 2.2
TEXT_GAP_MM = 1.1
LANE_CLEARANCE_MM = 1.6
MOST_ROWS = 8


@dataclass(slots=True)
class Span:
    """One horizontal or vertical dimension, in lane coordinates.

    Along runs as the lettering reads: right for a horizontal dimension, up for a
    vertical one. Out points away from the building.
    """

    dimension: Dimension
    start_along_mm: float
    end_along_mm: float
    start_out_mm: float
    end_out_mm: float
    text: str
    text_width_mm: float
    row: int = 0
    text_centre_mm: float = 0.0

    @property
    def middle_mm(self) -> float:
        """Where the span is halved, along."""
        return (self.start_along_mm + self.end_along_mm) / 2

    def text_reach_mm(self, centre_mm: float | None = None) -> tuple[float, float]:
        """From where to where the value runs, along; at its place, or if centred elsewhere."""
        middle = self.text_centre_mm if centre_mm is None else centre_mm
        return middle - self.text_width_mm / 2, middle + self.text_width_mm / 2


@dataclass(slots=True)
class Lane:
    """Dimensions on one line."""

    out_mm: float
    spans: list[Span] = field(default_factory=list)
    outer_edge_mm: float = -math.inf

    def reach_mm(self) -> tuple[float, float]:
        """From where to where the lane and its values run, along."""
        return (
            min(min(span.start_along_mm, span.text_reach_mm()[0]) for span in self.spans),
            max(max(span.end_along_mm, span.text_reach_mm()[1]) for span in self.spans),
        )

    def runs_beside(self, other: Lane) -> bool:
        """Whether the two lanes could touch if they stood close."""
        (low, high), (other_low, other_high) = self.reach_mm(), other.reach_mm()
        return low < other_high and other_low < high

    def has_room_for(self, span: Span) -> bool:
        """Whether no span of the lane overlaps, ends touching allowed."""
        return all(
            span.end_along_mm <= other.start_along_mm + 1e-6
            or other.end_along_mm <= span.start_along_mm + 1e-6
            for other in self.spans
        )


@dataclass(frozen=True, slots=True)
class Side:
    """One side of the drawing: how lane coordinates lie on the paper."""

    vertical: bool
    outward: int  # +1: up or right, -1: down or left

    def point_mm(self, along_mm: float, out_mm: float) -> Point:
        """Point of the paper."""
        across = out_mm * self.outward
        return (across, along_mm) if self.vertical else (along_mm, across)

    @property
    def text_is_outside(self) -> bool:
        """Above the line is away from the building: above it, and on its left."""
        return self.outward == (-1 if self.vertical else 1)


def lanes_of_side(
    dimensions: Iterable[Dimension], side: Side, scale_denominator: float, size_mm: float
) -> list[Lane]:
    """Lanes of the dimensions on one side, settled clear of each other, innermost first."""
    lanes = _lanes([_span(d, side, scale_denominator, size_mm) for d in dimensions])
    _settle(lanes, side, size_mm)
    return lanes


def words_of_dimension(dimension: Dimension) -> str:
    """Value as it is written: in brackets where it was not measured (ISO 129-1, from memory)."""
    text = lettering.clean(dimension.text)
    return f"({text})" if dimension.inferred and text else text


def _span(
    dimension: Dimension, side: Side, scale_denominator: float, size_mm: float
) -> tuple[float, Span]:
    """Where the line is asked to be, and the span in lane coordinates."""
    along, across = (1, 0) if side.vertical else (0, 1)
    ends = sorted((dimension.start_mm, dimension.end_mm), key=lambda point: point[along])
    outs = [point[across] / scale_denominator * side.outward for point in ends]
    alongs = [point[along] / scale_denominator for point in ends]
    text = words_of_dimension(dimension)
    width_mm = lettering.width_mm(text, size_mm)
    span = Span(dimension, alongs[0], alongs[1], outs[0], outs[1], text, width_mm)
    span.text_centre_mm = span.middle_mm
    return max(outs) + abs(dimension.offset_paper_mm), span


def _lanes(spans: list[tuple[float, Span]]) -> list[Lane]:
    """Gather spans asked onto one line; those that overlap go to lanes of their own."""
    lanes: list[Lane] = []
    # Short spans lie nearer the building, so that extension lines cross no dimension line.
    for out_mm, span in sorted(
        spans, key=lambda pair: (round(pair[0], 3), pair[1].end_along_mm - pair[1].start_along_mm)
    ):
        for lane in lanes:
            if abs(lane.out_mm - out_mm) < 0.01 and lane.has_room_for(span):
                lane.spans.append(span)
                break
        else:
            lanes.append(Lane(out_mm, [span]))
    for lane in lanes:
        lane.spans.sort(key=lambda span: span.start_along_mm)
    return lanes


def _settle(lanes: list[Lane], side: Side, size_mm: float) -> None:
    """Give each value its row, and move lanes out until they are clear of each other."""
    for number, lane in enumerate(lanes):
        # Extension lines of lanes further out that run through this one.
        passing = [
            along
            for outer in lanes[number + 1 :]
            for span in outer.spans
            for along, out in (
                (span.start_along_mm, span.start_out_mm),
                (span.end_along_mm, span.end_out_mm),
            )
            if out < lane.out_mm
        ]
        rows = _place_values(lane, passing, size_mm)
        text_mm = TEXT_GAP_MM + size_mm * lettering.ASCENT
        inside_mm = TICK_MM / 2 if side.text_is_outside else max(TICK_MM / 2, text_mm)
        outside_mm = text_mm if side.text_is_outside else EXTENSION_OVERSHOOT_MM
        if rows:
            outside_mm = max(outside_mm, _row_far_side_mm(rows, side, size_mm))
        for inner in lanes[:number]:
            if inner.runs_beside(lane):
                least_mm = inner.outer_edge_mm + LANE_CLEARANCE_MM + inside_mm
                lane.out_mm = max(lane.out_mm, least_mm)
        lane.outer_edge_mm = lane.out_mm + outside_mm


def row_near_side_mm(row: int, side: Side, size_mm: float) -> float:
    """How far outside its line row 1, 2 ... of the values on leaders begins."""
    text_mm = size_mm * lettering.ASCENT
    clear_mm = EXTENSION_OVERSHOOT_MM
    if side.text_is_outside:
        clear_mm = max(clear_mm, TEXT_GAP_MM + text_mm)
    return clear_mm + TEXT_GAP_MM + (row - 1) * (text_mm + TEXT_GAP_MM)


def _row_far_side_mm(row: int, side: Side, size_mm: float) -> float:
    return row_near_side_mm(row, side, size_mm) + size_mm * lettering.ASCENT


def _place_values(lane: Lane, passing_mm: list[float], size_mm: float) -> int:
    """Choose row and place of each value; returns the number of rows on leaders."""
    short = []
    for span in lane.spans:
        room_mm = span.end_along_mm - span.start_along_mm - 0.6 * size_mm
        low, high = span.text_reach_mm(span.middle_mm)
        if span.text_width_mm > room_mm or any(low < along < high for along in passing_mm):
            short.append(span)
    # One after the other; where they then get in each other's way, from both ends inwards.
    ends_first = sorted(
        short, key=lambda span: min(short.index(span), len(short) - short.index(span))
    )
    for order in (short, short[::-1], ends_first):
        placed: list[Span] = []
        for span in order:
            if not _place_on_leader(span, placed, passing_mm, size_mm):
                break
            placed.append(span)
        else:
            break
    else:
        # Lines pass everywhere: each stands in a row of its own, clear of the others at least.
        for row, span in enumerate(short, start=1):
            span.row, span.text_centre_mm = row, span.middle_mm
    return max((span.row for span in short), default=0)


def _place_on_leader(
    span: Span, placed: list[Span], passing_mm: list[float], size_mm: float
) -> bool:
    """Find the nearest free place outside the line, where no line runs through the value.

    The leader meets the value from below, anywhere along it; where that finds no place,
    the value stands beside its leader, at the end of a shoulder. Returns whether there is one.
    """
    gap_mm = 0.5 * size_mm
    half_mm = span.text_width_mm / 2
    under = [share * (half_mm - gap_mm / 2) for share in (0.0, 0.5, -0.5, 1.0, -1.0)]
    beside = [sign * (half_mm + (1 + n) * gap_mm) for n in range(9) for sign in (1, -1)]
    for shifts_mm, most_rows in ((under, 3), (beside, MOST_ROWS)):
        for row in range(1, most_rows + 1):
            for shift_mm in shifts_mm:
                span.row, span.text_centre_mm = row, span.middle_mm + shift_mm
                if _is_free(span, placed, passing_mm, gap_mm):
                    return True
    return False


def _is_free(span: Span, placed: list[Span], passing_mm: list[float], gap_mm: float) -> bool:
    """Whether value and leader of a span keep clear of passing lines and of those placed before."""
    low, high = (
        end + away * gap_mm for end, away in zip(span.text_reach_mm(), (-1, 1), strict=True)
    )
    if any(low < along < high for along in passing_mm):
        return False
    # The row is taken from the leader to the far end of the value.
    low, high = min(low, span.middle_mm), max(high, span.middle_mm)
    for other in placed:
        other_low, other_high = other.text_reach_mm()
        other_low, other_high = min(other_low, other.middle_mm), max(other_high, other.middle_mm)
        if other.row == span.row and low < other_high and other_low < high:
            return False
        if other.row > span.row and low < other.middle_mm < high:
            return False
        if other.row < span.row and other_low - gap_mm < span.middle_mm < other_high + gap_mm:
            return False
    return True
