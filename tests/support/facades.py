"""A small invented front as plain geometry: five bays, two storeys, a door in the middle."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from pydantic import TypeAdapter

from measure.elevation.details.draw_details import detail_items
from measure.elevation.drawing import Item
from measure.elevation.facade import (
    DrawnCourses,
    DrawnLevel,
    DrawnOpening,
    DrawnOutline,
    DrawnSpan,
    Facade,
)
from shared.survey_details import Detail

WIDTH_MM, HEIGHT_MM, BAY_MM = 10000.0, 7000.0, 2000.0
SCALE = 148.0


def window(id_: str, centre: float, sill: float, **more: Any) -> DrawnOpening:
    """1000 by 1500, flat."""
    width, height = more.pop("width", 1000.0), more.pop("height", 1500.0)
    rise = more.pop("rise", 0.0)
    fields: dict[str, Any] = {
        "u_width_mm": 4.0,
        "u_height_mm": 5.0,
        "u_sill_mm": 3.0,
        "u_head_mm": 3.0,
        "form": "flat",
    } | more
    return DrawnOpening(
        id=id_,
        label=id_.upper(),
        left_mm=centre - width / 2,
        right_mm=centre + width / 2,
        sill_mm=sill,
        springing_mm=sill + height - rise,
        head_mm=sill + height,
        **fields,
    )


def arched(form: str, rise: float, width: float = 1000.0) -> DrawnOpening:
    """Opening with an arched head, its sill at 1000 and its springing at 3000 mm."""
    return window("a1", 5000.0, 1000.0, width=width, height=2000.0 + rise, rise=rise, form=form)


def small_front() -> Facade:
    """Bays at 1000, 3000, 5000, 7000, 9000; ground floor g1 g2 door g4 g5, first floor f1..f5."""
    openings = [window(f"g{bay}", BAY_MM * bay - 1000.0, 900.0) for bay in (1, 2, 4, 5)]
    openings.append(
        window("door", 5000.0, 0.0, width=1200.0, height=2600.0, rise=600.0, form="semicircular")
    )
    openings += [window(f"f{bay}", BAY_MM * bay - 1000.0, 3900.0) for bay in range(1, 6)]
    outline = ((0.0, 0.0), (WIDTH_MM, 0.0), (WIDTH_MM, HEIGHT_MM), (0.0, HEIGHT_MM))
    return Facade(
        openings=tuple(openings),
        outlines=(DrawnOutline("o1", outline),),
        levels=(DrawnLevel("eaves", "eaves", 6900.0, 6.0), DrawnLevel("string", "", 3200.0, 4.0)),
        spans=(DrawnSpan("d1", "distance", ((500.0, 3900.0), (9500.0, 3900.0))),),
        courses=(DrawnCourses("c1", tuple(75.0 * n for n in range(13)), 75.0, 12),),
    )


def alone(*openings: DrawnOpening) -> Facade:
    return replace(small_front(), openings=openings)


def drawn(facade: Facade, *wishes: dict, denominator: float = SCALE) -> list[Item]:
    made = [TypeAdapter(Detail).validate_python(wish) for wish in wishes]
    return detail_items(facade, made, denominator, lambda pick: (pick.x, pick.y))
