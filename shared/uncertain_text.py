"""Values with their ± as people read them: ``1 204 ± 6 mm``.

The ± shown is always one standard uncertainty. It decides how many figures
are worth printing, for itself and for the value.

References
----------
JCGM 100:2008 (GUM), 7.2.6: at most two significant figures for u, and the
value rounded to match. Between one and two the choice follows the rounding
rule of the Particle Data Group's *Review of Particle Physics* (from memory):
of the three leading figures 100 to 354 keep two, 355 to 949 keep one, 950 and
above are rounded up to 1000 and keep two.
"""

from __future__ import annotations

import math
from typing import Literal

from shared.number_text import format_number
from shared.unit_words import MM_PER_INCH, MM_PER_UNIT
from shared.units import System, format_inches, format_length_mm

# A nanometre, where the unit is mm: what is less is rounding inside the machine.
_EXACT = 1e-6


def decimals_from_u(u: float) -> int:
    """Decimals worth printing beside a standard uncertainty.

    Parameters
    ----------
    u : float
        More than zero and finite.

    Returns
    -------
    int
        Negative where tens or hundreds are the last figure of worth.

    Examples
    --------
    >>> [decimals_from_u(u) for u in (5.8, 2.1, 0.97, 140.0)]
    [0, 1, 1, -1]
    """
    if not 0.0 < u < math.inf:
        raise ValueError(f"u: more than zero and finite, got {u}")
    exponent = math.floor(math.log10(u))
    leading = round(u / 10.0 ** (exponent - 2))
    return 1 - exponent if leading < 355 else -exponent


def format_uncertain_number(value: float, u: float) -> str:
    """Write a value and its standard uncertainty to the figures they are worth.

    Parameters
    ----------
    value, u : float
        In the same unit; `u` not negative.

    Returns
    -------
    str
        ``± not known`` beside a value whose `u` is NaN or infinite, ``not
        known`` for a value that is; no ± where `u` is zero.

    Examples
    --------
    >>> format_uncertain_number(42.26, 0.38)
    '42.3 ± 0.4'
    """
    if u < 0.0:
        raise ValueError(f"u: not negative, got {u}")
    if not math.isfinite(value):
        return "not known"
    if not math.isfinite(u):
        return f"{format_number(value)} ± not known"
    if u < _EXACT:
        return _format_exact(value)
    decimals = decimals_from_u(u)
    return f"{format_number(value, decimals)} ± {format_number(u, decimals)}"


def _format_exact(value: float) -> str:
    text = format_number(value, 3)
    return text.rstrip("0").rstrip(".") if "." in text else text


def format_uncertain_mm(
    value_mm: float,
    u_mm: float,
    system: System = "metric",
    *,
    unit: Literal["mm", "cm", "m"] = "mm",
    parts_of_inch: int = 16,
) -> str:
    r"""Write a length and its standard uncertainty for people.

    Parameters
    ----------
    value_mm, u_mm : float
        Millimetres; `u_mm` not negative.
    system : {"metric", "imperial"}, optional
    unit : {"mm", "cm", "m"}, optional
        Metric only.
    parts_of_inch : {1, 2, 4, 8, 16, 32, 64}, optional
        Imperial only: the finest part of an inch used.

    Returns
    -------
    str
        Metric as by :func:`format_uncertain_number`. Imperial rounds both to
        the coarsest part of an inch, at most a whole one, of which u holds
        two; a u under the finest part is shown as that part, never as nothing.

    Examples
    --------
    >>> format_uncertain_mm(1204.1, 5.8, "imperial")
    '3\' 11 3/8" ± 1/4"'
    """
    if u_mm < 0.0:
        raise ValueError(f"u_mm: not negative, got {u_mm}")
    if not math.isfinite(value_mm):
        return "not known"
    if system == "imperial":
        return _format_imperial(value_mm, u_mm, parts_of_inch)
    if system != "metric":
        raise ValueError(f"system: 'metric' or 'imperial', got {system!r}")
    factor = MM_PER_UNIT[unit]
    if not math.isfinite(u_mm):
        return f"{format_length_mm(value_mm, unit=unit)} ± not known"
    return f"{format_uncertain_number(value_mm / factor, u_mm / factor)} {unit}"


def _format_imperial(value_mm: float, u_mm: float, parts_of_inch: int) -> str:
    value_in, u_in = value_mm / MM_PER_INCH, u_mm / MM_PER_INCH
    if not math.isfinite(u_in):
        return f"{format_inches(value_in, parts_of_inch)} ± not known"
    if u_mm < _EXACT:
        return format_inches(value_in, parts_of_inch)
    parts = parts_of_inch
    while parts > 1 and u_in >= 4.0 / parts:
        parts //= 2
    u_shown_in = max(round(u_in * parts), 1) / parts
    return f"{format_inches(value_in, parts)} ± {format_inches(u_shown_in, parts)}"
