"""``storeyrod sizes`` and ``storeyrod scales``."""

from __future__ import annotations

from measure.commands.table_text import make_console, print_table
from shared.errors import UnitError
from shared.model_scales import read_drawing_scales, read_model_scales
from shared.number_text import format_number
from shared.reference_sizes import ReferenceSize, read_reference_sizes, search_reference_sizes
from shared.units import format_length_mm, parse_length_mm

#: Height of the door that the scales are shown by: a 6 ft 6 in leaf.
DOOR_MM = 1981.0

#: Gauge of the courses that the scales are shown by.
COURSE_MM = 75.0


def run_sizes(words: list[str], *, units: str) -> None:
    """List the catalogue of known sizes, or those near a length."""
    text = " ".join(words)
    length_mm = _length_or_none(text)
    if length_mm is not None:
        imperial = format_length_mm(length_mm, "imperial")
        print(f"{text} is {format_length_mm(length_mm)}, {imperial}.")
        found = [size for size in read_reference_sizes() if _is_near(size, length_mm)]
        text = f"about {format_length_mm(length_mm)}"
    else:
        found = list(search_reference_sizes(text) if text else read_reference_sizes())
    if not found:
        print(f"No known size is called '{text}'. Try one word, such as door, brick or plate.")
        return
    rows = [(size.key, size.name, _sizes(size, units), size.meant, size.source) for size in found]
    columns = ("key", "what", "size", "what exactly", "source")
    print_table(make_console(), f"{len(rows)} known sizes", columns, rows)


def _length_or_none(text: str) -> float | None:
    """Read a length such as 6'8", or say that it is none."""
    if not any(character.isdigit() for character in text):
        return None
    try:
        return parse_length_mm(text)
    except UnitError:
        return None


def _is_near(size: ReferenceSize, length_mm: float) -> bool:
    """Tell whether a size lies within 2 % of a length."""
    values = (size.width_mm, size.height_mm, size.length_mm, size.gauge_mm)
    return any(abs(value - length_mm) <= 0.02 * length_mm for value in values if value)


def _sizes(size: ReferenceSize, units: str) -> str:
    parts = []
    for name in ("width", "height", "length", "gauge"):
        value = getattr(size, f"{name}_mm", None)
        if value:
            shown = format_number(value, 1) if name == "gauge" else _length(value, units)
            parts.append(f"{name} {shown}")
    return ", ".join(parts)


def _length(value_mm: float, units: str) -> str:
    return format_length_mm(value_mm, "imperial" if units == "imperial" else "metric")


def run_scales() -> None:
    """List model scales and drawing scales."""
    console = make_console()
    for title, scales in (
        ("Model scales", read_model_scales()),
        ("Drawing scales (ISO 5455)", read_drawing_scales()),
    ):
        rows = [
            (
                scale.name,
                scale.ratio,
                scale.definition,
                format_number(COURSE_MM / scale.denominator, 2),
                format_number(DOOR_MM / scale.denominator, 2),
                f"{scale.source} ({scale.provenance})" if scale.provenance else scale.source,
            )
            for scale in scales
        ]
        columns = ("name", ">scale", "defined as", ">course 75 mm", ">door 1981 mm", "source")
        print_table(console, title, columns, rows)
    console.print(
        "British N is listed twice, 1:148 and 2 1/16 mm to the foot (1:147.78): "
        "0.15 % apart, never swapped for you."
    )
