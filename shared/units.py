"""Lengths and angles: read what people type, write what people read.

Everything inside the program is in millimetres and radians. Degrees, feet and
inches exist in this module and in what it reads and writes, nowhere else.

The inch is exactly 25.4 mm and the foot exactly 304.8 mm: international yard
and pound agreement of 1959 (from memory).
"""

from __future__ import annotations

import itertools
import math
import re
from typing import Literal, overload

import numpy as np
from numpy.typing import NDArray

from shared.errors import UnitError
from shared.model_scales import parse_model_scale
from shared.number_text import (
    MINUS,
    UnreadableNumber,
    format_number,
    readings_of_number,
    shorten_text,
    tidy_text,
)
from shared.unit_words import MM_PER_INCH, MM_PER_UNIT, UNIT_FROM_WORD, LengthUnit

System = Literal["metric", "imperial"]

SHORTEST_MM = 0.001
"""A micrometre: below this a typed length is a slip, whatever it is the length of."""
TOO_LONG_MM = 1_000_000.0
"""One kilometre: no building that anyone models from one photo is as long."""

_EXAMPLES = "write it like 2032 mm or 6 ft 8 in"
_UNIT_TOKEN = re.compile(r"\s*([a-z]+\.?|['\"])\s*")
_FAMILIES: tuple[tuple[LengthUnit, ...], ...] = (("ft", "in"), ("m", "cm", "mm"))
_PLURALS: dict[LengthUnit, str] = {
    "mm": "millimetres",
    "cm": "centimetres",
    "m": "metres",
    "in": "inches",
    "ft": "feet",
}
_METRIC_DECIMALS: dict[LengthUnit, int] = {"mm": 0, "cm": 1, "m": 3}


def parse_length_mm(
    text: str,
    default_unit: LengthUnit = "mm",
    *,
    allow_zero: bool = False,
    allow_negative: bool = False,
) -> float:
    """Read a length that somebody typed.

    Parameters
    ----------
    text : str
        ``2032``, ``2.03 m``, ``2,03 m``, ``203,2 cm``, ``6'8"``,
        ``6' 8 1/2"``, ``6ft 8in``, ``80 in``, ``1 204``, ``6′ 8½″`` ...
    default_unit : {"mm", "cm", "m", "in", "ft"}, optional
        Unit of a figure that names none. A figure without unit after feet is
        in inches.
    allow_zero, allow_negative : bool, optional
        For set-backs, which may be nought or lie in front of the wall.

    Returns
    -------
    float
        Millimetres.

    Raises
    ------
    UnitError
        One sentence that says what is wrong and shows two good examples: for
        an empty text, no number, an unknown unit, nought or a negative length
        where not allowed, less than 0.001 mm, 1 km and more, and a comma that
        can be read in two ways.

    Notes
    -----
    ``1,204 mm`` is 1204 mm to one reader and 1.204 mm to another. Each reading
    is tried; if only one lies between 0.001 mm and 1 km it is taken
    (``1,204 m`` must be 1.204 m, as 1204 m is over a kilometre), otherwise the
    text is refused. A single point is always a decimal mark.

    Examples
    --------
    >>> parse_length_mm("2,03 m"), parse_length_mm("6'8 1/2"), parse_length_mm("1 204")
    (2030.0, 2044.7, 1204.0)
    >>> parse_length_mm("1,204")
    Traceback (most recent call last):
    ...
    shared.errors.UnitError: “1,204” can mean 1204 mm or 1.204 mm: write it like 2032 mm or 2.03 m.
    """
    if default_unit not in MM_PER_UNIT:
        raise ValueError(f"default_unit: one of {sorted(MM_PER_UNIT)}, got {default_unit!r}")
    try:
        tidy = tidy_text(text)
        if not tidy:
            raise UnitError(f"No length was given: {_EXAMPLES}.")
        negative = tidy.startswith("-")
        readings = _readings_mm(tidy.removeprefix("-").strip(), default_unit)
    except UnreadableNumber as reason:
        message = f"{shorten_text(text)} cannot be read as a length, because {reason}"
        raise UnitError(f"{message}: {_EXAMPLES}.") from None
    if readings == (0.0,):
        if allow_zero:
            return 0.0
        raise UnitError(
            f"A length must be more than nought, not {shorten_text(text)}: {_EXAMPLES}."
        )
    if negative and not allow_negative:
        raise UnitError(
            f"A length cannot be less than nought, as in {shorten_text(text)}: {_EXAMPLES}."
        )
    size_mm = _only_sensible_mm(readings, text)
    return -size_mm if negative else size_mm


def _readings_mm(tidy: str, default_unit: LengthUnit) -> tuple[float, ...]:
    """Every length that a tidied text without sign can mean."""
    pieces = _UNIT_TOKEN.split(tidy)
    numbers, words = pieces[::2], pieces[1::2]
    units: list[LengthUnit] = []
    if not numbers[0]:
        raise UnreadableNumber("it does not begin with a figure")
    for word in words:
        unit = UNIT_FROM_WORD.get(word.rstrip("."))
        if unit is None:
            raise UnreadableNumber(f"“{word}” is not a unit of length known here")
        units.append(unit)
    if numbers[-1]:
        if not units:
            units = [default_unit]
        elif units == ["ft"]:
            units = ["ft", "in"]
        else:
            raise UnreadableNumber(
                f"the figure {numbers[-1]} after the unit has no unit of its own"
            )
    else:
        numbers.pop()
    readings = [
        readings_of_number(number.lstrip(" -,") if i else number)
        for i, number in enumerate(numbers)
    ]
    if len(units) > 1:
        _check_descending(units, readings)
    factors = [MM_PER_UNIT[unit] for unit in units]
    # Nine decimals drop what binary fractions add: 2.03 m is 2030.0 mm.
    return tuple(
        round(sum(value * factor for value, factor in zip(combination, factors, strict=True)), 9)
        for combination in itertools.product(*readings)
    )


def _check_descending(units: list[LengthUnit], readings: list[tuple[float, ...]]) -> None:
    """Refuse 6 in 8 ft, 6.5 ft 3 in, 6 ft 14 in and 2 m 3 in."""
    family = next((names for names in _FAMILIES if units[0] in names), ())
    places = [family.index(unit) if unit in family else -1 for unit in units]
    if -1 in places or any(a >= b for a, b in itertools.pairwise(places)):
        raise UnreadableNumber(
            f"{' and '.join(_PLURALS[unit] for unit in units)} do not go together in that order"
        )
    for larger, smaller, (whole, *_), (part, *_) in zip(
        units, units[1:], readings, readings[1:], strict=False
    ):
        if not whole.is_integer():
            raise UnreadableNumber(
                f"the {_PLURALS[larger]} before the {_PLURALS[smaller]} are not a whole number"
            )
        limit = round(MM_PER_UNIT[larger] / MM_PER_UNIT[smaller])
        if part >= limit:
            raise UnreadableNumber(
                f"there are {limit} or more {_PLURALS[smaller]} beside the {_PLURALS[larger]}"
            )


def _only_sensible_mm(readings: tuple[float, ...], text: str) -> float:
    sensible = [size for size in readings if SHORTEST_MM <= size < TOO_LONG_MM]
    if len(sensible) == 1:
        return sensible[0]
    shown = shorten_text(text)
    if sensible:
        small, large = sorted(sensible)
        raise UnitError(
            f"{shown} can mean {large:.10g} mm or {small:.10g} mm: write it like 2032 mm or 2.03 m."
        )
    wrong = "a kilometre or more" if max(readings) >= TOO_LONG_MM else "under a thousandth of a mm"
    raise UnitError(f"{shown} is {wrong}, which no part of a building is: {_EXAMPLES}.")


def format_length_mm(
    value_mm: float,
    system: System = "metric",
    *,
    unit: Literal["mm", "cm", "m"] = "mm",
    decimals: int | None = None,
    parts_of_inch: int = 8,
) -> str:
    r"""Write a length for people.

    Parameters
    ----------
    value_mm : float
        Millimetres; NaN and infinity are written ``not known``.
    system : {"metric", "imperial"}, optional
        Imperial is feet, inches and a fraction in its lowest terms.
    unit : {"mm", "cm", "m"}, optional
        Metric only.
    decimals : int, optional
        Metric only: figures after the point. By default none for mm, one for
        cm, and for m as many as needed down to the millimetre.
    parts_of_inch : {1, 2, 4, 8, 16, 32, 64}, optional
        Imperial only: round to the nearest one of so many parts of an inch.

    Returns
    -------
    str
        Read back by :func:`parse_length_mm` to within the rounding.

    Examples
    --------
    >>> format_length_mm(6350, unit="m"), format_length_mm(2045, "imperial")
    ('6.35 m', '6\' 8 1/2"')
    """
    if not math.isfinite(value_mm):
        return "not known"
    if system == "imperial":
        return format_inches(value_mm / MM_PER_INCH, parts_of_inch)
    if system != "metric":
        raise ValueError(f"system: 'metric' or 'imperial', got {system!r}")
    if unit not in _METRIC_DECIMALS:
        raise ValueError(f"unit: one of {list(_METRIC_DECIMALS)}, got {unit!r}")
    places = _METRIC_DECIMALS[unit] if decimals is None else decimals
    number = format_number(value_mm / MM_PER_UNIT[unit], places)
    if decimals is None and unit == "m":
        number = number.rstrip("0").rstrip(".")
    return f"{number} {unit}"


def format_inches(value_in: float, parts_of_inch: int) -> str:
    """Write inches as feet, inches and a fraction, such as ``6' 8 1/2"`` or ``3/8"``."""
    if parts_of_inch not in (1, 2, 4, 8, 16, 32, 64):
        raise ValueError(f"parts_of_inch: 1, 2, 4, 8, 16, 32 or 64, got {parts_of_inch!r}")
    parts = round(abs(value_in) * parts_of_inch)
    inches, over = divmod(parts, parts_of_inch)
    feet, inches = divmod(inches, 12)
    words = []
    if inches or feet or not over:
        words.append(str(inches))
    if over:
        common = math.gcd(over, parts_of_inch)
        words.append(f"{over // common}/{parts_of_inch // common}")
    sign = MINUS if value_in < 0 and parts else ""
    return sign + (f"{format_number(feet)}' " if feet else "") + " ".join(words) + '"'


def parse_scale(text: str) -> float:
    """Read a scale: the number of millimetres in reality for one on the model.

    Parameters
    ----------
    text : str
        ``1:148``, ``1/76.2``, ``4 mm/ft``, ``2 1/16 mm/ft``, ``OO`` ...: all that
        :func:`shared.model_scales.parse_model_scale` reads.

    Returns
    -------
    float
        The denominator: 148 for 1:148; below one for an enlargement.

    Raises
    ------
    UnitError
        One sentence, naming near matches.

    Examples
    --------
    >>> parse_scale("1:148"), round(parse_scale("4 mm/ft"), 10)
    (148.0, 76.2)
    """
    return parse_model_scale(text).denominator


@overload
def rad_from_deg(angle_deg: float) -> float: ...
@overload
def rad_from_deg(angle_deg: NDArray[np.float64]) -> NDArray[np.float64]: ...
def rad_from_deg(angle_deg: float | NDArray[np.float64]) -> float | NDArray[np.float64]:
    """Radians from degrees, of a number or an array of any shape."""
    return angle_deg * (math.pi / 180.0)


@overload
def deg_from_rad(angle_rad: float) -> float: ...
@overload
def deg_from_rad(angle_rad: NDArray[np.float64]) -> NDArray[np.float64]: ...
def deg_from_rad(angle_rad: float | NDArray[np.float64]) -> float | NDArray[np.float64]:
    """Degrees from radians, of a number or an array of any shape."""
    return angle_rad * (180.0 / math.pi)
