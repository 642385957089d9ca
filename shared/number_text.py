"""Numbers as people type them, and numbers as the program writes them.

Knows figures, fractions, decimal marks and the gaps between thousands. Knows
no units: lengths are read in `shared.units`, scales in `shared.model_scales`.

The decimal mark is settled once, here:

- a single point is always a decimal mark: ``1.204`` is a little over one;
- a single comma is a decimal mark (``2,03``), unless exactly three figures
  follow it and one to three stand before it (``1,204``): that can be read in
  two ways, both are returned, and the caller keeps the one that makes sense
  or refuses;
- a gap (``1 204``), or more than one group (``1,204,500``, ``1.204,5``), is
  never in doubt.
"""

from __future__ import annotations

import math
import re
import unicodedata

THOUSANDS_GAP = "\N{NARROW NO-BREAK SPACE}"
MINUS = "\N{MINUS SIGN}"
LONGEST_TEXT = 80

_VULGAR_FRACTIONS = {
    ord(sign): " " + unicodedata.normalize("NFKC", sign).replace("\N{FRACTION SLASH}", "/") + " "
    for sign in "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒"
}
_FULL_WIDTH = {code: code - 0xFEE0 for code in range(0xFF01, 0xFF5F)}
_LOOK_ALIKES: dict[int, int | str] = {
    **_FULL_WIDTH,
    **_VULGAR_FRACTIONS,
    **dict.fromkeys(map(ord, "′’‘ʹʼ´`‛"), "'"),
    **dict.fromkeys(map(ord, "″”“ʺ˝‟„"), '"'),
    **dict.fromkeys(map(ord, "−–—‐‑‒"), "-"),
    **dict.fromkeys(map(ord, "⁄∕"), "/"),
    **dict.fromkeys(map(ord, "∶ː"), ":"),
}

_FRACTION = re.compile(
    r"(?:(?P<whole>[0-9][0-9 ]*?)(?:\s*-\s*|\s+))?(?P<over>[0-9]{1,3})\s*/\s*(?P<under>[0-9]{1,3})"
)
_PLAIN = re.compile(r"[0-9]+[.,]?|[0-9]*[.][0-9]+")
_GAPS = re.compile(r"[0-9]{1,3}(?: [0-9]{3})+(?:[.,][0-9]+)?")
_ONE_COMMA = re.compile(r"[0-9]*,[0-9]+")
_COMMA_OR_GROUP = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_COMMA_GROUPS = re.compile(r"[1-9][0-9]{0,2}(?:(?:,[0-9]{3})+\.[0-9]+|(?:,[0-9]{3}){2,})")
_POINT_GROUPS = re.compile(r"[1-9][0-9]{0,2}(?:(?:\.[0-9]{3})+,[0-9]+|(?:\.[0-9]{3}){2,})")


class UnreadableNumber(ValueError):
    """A text is no number; the message is the reason, as the middle of a sentence."""


def tidy_text(text: str) -> str:
    r"""Bring look-alike characters to plain ones, in lower case, with single spaces.

    Parameters
    ----------
    text : str
        As typed: curly or straight primes, any dash, any space, full-width
        figures, fractions in one character.

    Returns
    -------
    str
        A prime becomes ``'``, a double prime or two primes ``"``, and a
        fraction in one character ``n/d`` set off by spaces.

    Raises
    ------
    UnreadableNumber
        If the text is longer than any number or name needs.

    Examples
    --------
    >>> tidy_text("6′ 8½″")
    '6\' 8 1/2 "'
    """
    if len(text) > LONGEST_TEXT:
        raise UnreadableNumber(f"it is {len(text)} characters long")
    plain = text.translate(_LOOK_ALIKES).replace("''", '"')
    return " ".join(plain.split()).casefold()


def readings_of_number(text: str) -> tuple[float, ...]:
    """Read a number without sign or unit in every way it can be meant.

    Parameters
    ----------
    text : str
        Tidied by :func:`tidy_text`.

    Returns
    -------
    tuple of float
        One value, or two where a comma may be a decimal mark or may part the
        thousands: the decimal reading first.

    Raises
    ------
    UnreadableNumber
        If the text is no number, or an improper or impossible fraction.
        ``81/2`` is refused because it is how ``8 1/2`` looks when its space
        got lost.

    Examples
    --------
    >>> readings_of_number("1 204"), readings_of_number("8 1/2"), readings_of_number("2,03")
    ((1204.0,), (8.5,), (2.03,))
    >>> readings_of_number("1,204")
    (1.204, 1204.0)
    """
    text = text.strip()
    if not text:
        raise UnreadableNumber("a figure is missing")
    if "/" in text:
        return (_value_of_fraction(text),)
    if _PLAIN.fullmatch(text) or _GAPS.fullmatch(text):
        return (float(text.replace(" ", "").replace(",", ".")),)
    if _COMMA_OR_GROUP.fullmatch(text):
        return (float(text.replace(",", ".")), float(text.replace(",", "")))
    if _ONE_COMMA.fullmatch(text):
        return (float(text.replace(",", ".")),)
    if _COMMA_GROUPS.fullmatch(text):
        return (float(text.replace(",", "")),)
    if _POINT_GROUPS.fullmatch(text):
        return (float(text.replace(".", "").replace(",", ".")),)
    raise UnreadableNumber(f"“{text}” is not a number")


def _value_of_fraction(text: str) -> float:
    match = _FRACTION.fullmatch(text)
    if match is None:
        raise UnreadableNumber(f"“{text}” is not a fraction")
    over, under = int(match["over"]), int(match["under"])
    if under == 0:
        raise UnreadableNumber(f"“{text}” divides by nothing")
    if over >= under:
        raise UnreadableNumber(
            f"the fraction {over}/{under} is not less than one (a space may be lost, as in 8 1/2)"
        )
    (whole,) = readings_of_number(match["whole"]) if match["whole"] else (0.0,)
    return whole + over / under


def format_number(value: float, decimals: int = 0) -> str:
    """Write a number with gaps between the thousands.

    Parameters
    ----------
    value : float
    decimals : int, optional
        Figures after the point. A negative count rounds to tens, hundreds ...

    Returns
    -------
    str
        With narrow no-break gaps and a true minus sign; ``not known`` for NaN
        and infinity. Minus nought is written as nought.

    Examples
    --------
    >>> format_number(1204.26, 1).replace(THOUSANDS_GAP, " ")
    '1 204.3'
    """
    if not math.isfinite(value):
        return "not known"
    rounded = round(value, decimals)
    text = f"{abs(rounded):,.{max(decimals, 0)}f}".replace(",", THOUSANDS_GAP)
    return MINUS + text if rounded < 0 else text


def shorten_text(text: str, longest: int = 40) -> str:
    """Quote what was typed, cut short where it is long, on one line."""
    line = " ".join(text.split())
    return f"“{line if len(line) <= longest else line[: longest - 1] + '…'}”"
