"""A small invented drawing: part of the street front of Pennywhistle Maltings.

Sizes are whole millimetres that a reader can follow: the wall is 11 m by 8.4 m,
three bays at 3.2 m, openings on three floors.
"""

from __future__ import annotations

import datetime as dt
import itertools
import math

from measure.elevation.drawing import (
    ELEVATION_LAYERS,
    Circle,
    Dimension,
    Drawing,
    Item,
    LevelMark,
    Path,
    Polyline,
    Text,
)
from measure.elevation.openings import opening_path
from measure.elevation.path_geometry import ArcSegment, LineSegment
from measure.elevation.title_block import TitleBlock

DATE = dt.date(2026, 11, 24)
WALL_WIDTH_MM, WALL_HEIGHT_MM = 11000.0, 8400.0
KNOWN_LINE_ID = "known-1000"

OPENINGS = (
    # id, left, sill, width, height, head, rise, inferred
    ("d1", 900.0, 0.0, 1400.0, 2600.0, "semicircular", None, False),
    ("w1", 4200.0, 900.0, 1200.0, 1500.0, "segmental", 180.0, False),
    ("w2", 7400.0, 900.0, 1200.0, 1500.0, "segmental", 180.0, False),
    ("w3", 1000.0, 3700.0, 1200.0, 1500.0, "flat", None, False),
    ("w4", 4200.0, 3700.0, 1200.0, 1500.0, "flat", None, False),
    ("w5", 7400.0, 3700.0, 1200.0, 1500.0, "flat", None, True),
    ("p1", 1150.0, 6300.0, 900.0, 1300.0, "pointed", 779.4, False),
    ("o1", 4350.0, 6400.0, 900.0, 900.0, "round", None, False),
    ("p2", 7550.0, 6300.0, 900.0, 1300.0, "pointed", 779.4, True),
)


def maltings_items() -> tuple[Item, ...]:
    items: list[Item] = [
        Polyline("ground", ((-1200.0, 0.0), (WALL_WIDTH_MM + 1200.0, 0.0))),
        Polyline(
            "outline",
            (
                (0.0, 0.0),
                (0.0, WALL_HEIGHT_MM),
                (WALL_WIDTH_MM, WALL_HEIGHT_MM),
                (WALL_WIDTH_MM, 0.0),
            ),
            id="o-front",
        ),
        Polyline("bands", ((0.0, 3050.0), (WALL_WIDTH_MM, 3050.0))),
        Polyline("bands", ((0.0, 3250.0), (WALL_WIDTH_MM, 3250.0))),
        Polyline("bands", ((0.0, 450.0), (900.0, 450.0))),
        Polyline("bands", ((2300.0, 450.0), (WALL_WIDTH_MM, 450.0))),
        Polyline("datum", ((-900.0, 0.0), (WALL_WIDTH_MM + 900.0, 0.0))),
        Circle("bands", (9900.0, 5400.0), 380.0, id="clock"),
        # A crane's hood over the top bay: a true arc between two lines.
        Path(
            "bands",
            (9300.0, 6300.0),
            (
                LineSegment((9300.0, 7300.0)),
                ArcSegment((10500.0, 7300.0), -math.pi / 2),
                LineSegment((10500.0, 6300.0)),
            ),
        ),
        Polyline("bands", ((9400.0, 4000.0), (10400.0, 4000.0)), id=KNOWN_LINE_ID),
    ]
    items += [
        Polyline("courses", ((9200.0, 600.0 + 75.0 * n), (WALL_WIDTH_MM, 600.0 + 75.0 * n)))
        for n in range(12)
    ]
    for name, left, sill, width, height, head, rise, inferred in OPENINGS:
        items.append(
            opening_path(left, sill, width, height, head, rise, id=name, inferred=inferred)
        )
        items.append(
            Text(
                "notes",
                (left + width / 2, sill + height / 2),
                name.upper(),
                size_paper_mm=1.8,
                horizontal="centre",
                vertical="middle",
                room_mm=0.8 * width,
            )
        )
    edges = [0.0, 900.0, 2300.0, 4200.0, 5400.0, 7400.0, 8600.0, WALL_WIDTH_MM]
    items += [
        Dimension((a, 0.0), (b, 0.0), f"{b - a:,.0f}".replace(",", "\u202f"), -8.0)
        for a, b in itertools.pairwise(edges)
    ]
    items += [
        Dimension((0.0, 0.0), (WALL_WIDTH_MM, 0.0), "11\u202f000 ± 9", -16.0),
        Dimension((0.0, 0.0), (0.0, WALL_HEIGHT_MM), "8\u202f400 ± 11", -16.0, "vertical"),
        Dimension((0.0, 0.0), (0.0, 3050.0), "3\u202f050", -8.0, "vertical"),
        Dimension((0.0, 3050.0), (0.0, 3250.0), "200", -8.0, "vertical"),
        Dimension((0.0, 3250.0), (0.0, WALL_HEIGHT_MM), "5\u202f150", -8.0, "vertical"),
        Dimension((4200.0, 3700.0), (5400.0, 5200.0), "1\u202f921", 5.0, "aligned", inferred=True),
    ]
    items += [
        LevelMark(v, text, WALL_WIDTH_MM)
        for v, text in (
            (0.0, "datum 0"),
            (450.0, "plinth +450"),
            (900.0, "sill +900"),
            (3050.0, "string course +3\u202f050"),
            (3250.0, "top of it +3\u202f250"),
            (WALL_HEIGHT_MM, "eaves +8\u202f400"),
        )
    ]
    return tuple(items)


def make_maltings_drawing(
    title: str = "Pennywhistle Maltings", lettering_mm: float = 1.8
) -> Drawing:
    return Drawing(
        title,
        ELEVATION_LAYERS,
        maltings_items(),
        subtitle="Street front",
        lettering_mm=lettering_mm,
    )


def make_maltings_block(scale_denominator: float = 148.0, **changes: object) -> TitleBlock:
    fields: dict[str, object] = {
        "title": "Pennywhistle Maltings",
        "scale_denominator": scale_denominator,
        "date": DATE,
        "subtitle": "Street front",
        "photo": "street.jpg",
        "plus_minus": "Sizes good to ±11 mm on the building, ±0.07 mm on the model.",
    }
    return TitleBlock(**(fields | changes))  # type: ignore[arg-type]
