"""Widths of lettering, and how to make it fit.

Sizes are heights of capitals, as ISO 3098 gives them. Widths are those of DejaVu
Sans, the font that comes with matplotlib: it is among the widest of plain sans
fonts, so text set in another one still fits.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.ImageFont import FreeTypeFont

EM_FROM_CAPITAL = 2048 / 1493
"""Font size over height of capitals: DejaVu Sans has 2048 units to the em and capitals of 1493."""
ASCENT = 1.28
"""Height of an accented capital such as É above the baseline, over the height of a capital."""
DESCENT = 0.33
"""Depth of g, p and brackets below the baseline, over the height of a capital."""
LINE_STEP = 1.7
"""Distance of two baselines, over the height of capitals."""
ELLIPSIS = "\N{HORIZONTAL ELLIPSIS}"

_MEASURED_AT_PX = 2048
_BREAKING_BLANKS = re.compile("[^\\S\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}]+")


@cache
def font_file() -> Path:
    """Where DejaVu Sans lies on this computer."""
    import matplotlib

    return Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf"


@cache
def known_characters() -> frozenset[int]:
    """Code points that DejaVu Sans has letters for."""
    from matplotlib.ft2font import FT2Font

    return frozenset(FT2Font(str(font_file())).get_charmap())


@lru_cache(maxsize=4096)
def _width_of_character_em(character: str) -> float:
    """Width of one character in units of the font size."""
    if unicodedata.category(character) in ("Mn", "Me", "Cf"):
        return 0.0
    if ord(character) in known_characters():
        return float(_font_for_measuring().getlength(character)) / _MEASURED_AT_PX
    # A letter from another font: wide scripts fill a square, the others at most nearly so.
    return 1.0 if _is_wide(character) else 0.8


@cache
def _font_for_measuring() -> FreeTypeFont:
    from PIL import ImageFont

    return ImageFont.truetype(
        str(font_file()), _MEASURED_AT_PX, layout_engine=ImageFont.Layout.BASIC
    )


def clean(text: str) -> str:
    r"""One line without control characters, lone surrogates and repeated blanks.

    Examples
    --------
    >>> clean("malt\thouse\x00  1\n")
    'malt house 1'
    """
    kept = (
        character
        for character in text
        if character.isspace() or unicodedata.category(character) not in ("Cc", "Cs", "Cn", "Co")
    )
    return _BREAKING_BLANKS.sub(" ", "".join(kept)).strip()


def width_mm(text: str, size_mm: float) -> float:
    """Width of a line of text with capitals `size_mm` high."""
    return sum(map(_width_of_character_em, text)) * size_mm * EM_FROM_CAPITAL


def shortened(text: str, size_mm: float, room_mm: float) -> str:
    """Leave off the end of a text, with an ellipsis, until it fits; may leave nothing."""
    if width_mm(text, size_mm) <= room_mm:
        return text
    while text and width_mm(text.rstrip() + ELLIPSIS, size_mm) > room_mm:
        text = text[:-1]
        # Never part a letter from its accents.
        while text and unicodedata.category(text[-1]) in ("Mn", "Me", "Cf"):
            text = text[:-1]
    if text:
        return text.rstrip() + ELLIPSIS
    return ELLIPSIS if width_mm(ELLIPSIS, size_mm) <= room_mm else ""


def wrapped(text: str, size_mm: float, room_mm: float) -> list[str]:
    """Break a text into lines no wider than the room, at blanks and else anywhere.

    A single letter wider than the room stands alone on its line.
    """
    return _wrapped_and_cut(text, size_mm, room_mm)[0]


def _wrapped_and_cut(text: str, size_mm: float, room_mm: float) -> tuple[list[str], bool]:
    """Lines, and whether a word of letters (not of a script without blanks) was cut in two."""
    lines: list[str] = []
    line = ""
    cut = False
    for word in clean(text).split(" "):
        trial = f"{line} {word}" if line else word
        if width_mm(trial, size_mm) <= room_mm:
            line = trial
            continue
        if line:
            lines.append(line)
        line = ""
        for character in word:
            joins = unicodedata.category(character) in ("Mn", "Me", "Cf")
            if line and not joins and width_mm(line + character, size_mm) > room_mm:
                cut |= not (_is_wide(line[-1]) or _is_wide(character))
                lines.append(line)
                line = ""
            line += character
    if line:
        lines.append(line)
    return lines, cut


def _is_wide(character: str) -> bool:
    return unicodedata.east_asian_width(character) in ("W", "F")


def fitted(
    text: str,
    size_mm: float,
    room_mm: float,
    *,
    most_lines: int = 1,
    smallest_mm: float = 1.8,
    height_mm: float | None = None,
) -> tuple[list[str], float]:
    """Make a text fit a place: first by more lines, then smaller, last by leaving off its end.

    Parameters
    ----------
    text : str
    size_mm : float
        Height of capitals wanted.
    room_mm : float
        Width of the place.
    most_lines : int
    smallest_mm : float
        The least height of capitals that is still read easily.
    height_mm : float, optional
        Height of the place.

    Returns
    -------
    lines : list of str
        Each no wider than the room; empty for an empty text.
    size_mm : float
        Height of capitals used.
    """
    size = size_mm
    while True:
        lines, cut = _wrapped_and_cut(text, size, room_mm)
        allowed = most_lines
        if height_mm is not None:
            allowed = min(allowed, max(1, int((height_mm / size - 1) / LINE_STEP) + 1))
        # A word cut in two is worse than smaller letters.
        if len(lines) <= allowed and not cut:
            return lines, size
        if size <= smallest_mm:
            break
        size = max(smallest_mm, size * 0.94)
    if len(lines) > allowed:
        rest = " ".join(lines[allowed - 1 :])
        lines = [*lines[: allowed - 1], shortened(rest, size, room_mm)]
    return [shortened(line, size, room_mm) for line in lines], size
