"""Model scales and drawing scales: the table, and reading what people type.

The table is ``model_scales.toml``. A scale given in figures stays exactly as
given: 1:147.78 is not taken for 2 1/16 mm to the foot (1:147.7818), nor 1:76
for OO (1:76.2). A name that stands for several scales is refused.
"""

from __future__ import annotations

import difflib
import functools
import itertools
import re
import tomllib
from dataclasses import dataclass
from importlib import resources
from typing import Any, Literal

from shared.errors import UnitError
from shared.number_text import UnreadableNumber, readings_of_number, shorten_text, tidy_text
from shared.unit_words import MM_PER_UNIT, UNIT_FROM_WORD

SMALLEST_DENOMINATOR = 0.02
"""50:1, the largest enlargement of ISO 5455."""
LARGEST_DENOMINATOR = 10_000.0
"""1:10 000, the smallest reduction of ISO 5455 (from memory)."""

_EXAMPLES = "write it like 1:148 or 4 mm/ft"
_RATIO = re.compile(r"(?:scale\s+)?(?P<model>[^:]+?)\s*(?::|to)\s*(?P<full>[^:]+)")
_SLASH_RATIO = re.compile(r"1\s*/\s*(?P<full>[0-9., ]+)")
_PER_UNIT = re.compile(
    r"(?P<model>[0-9][0-9 .,/-]*?)\s*(?P<unit>[a-z]+|\")\s*(?:/|per|to the|to|=)\s*"
    r"(?:(?:1|one)\s*)?(?P<full>[a-z]+|')(?:\s*-?\s*0\s*(?:\"|in))?"
)


@dataclass(frozen=True, slots=True)
class ModelScale:
    """One scale.

    Attributes
    ----------
    name : str
        What modellers call it; a ratio for drawing scales and for scales
        given in figures.
    denominator : float
        Millimetres in reality for one on the model; below one for an
        enlargement.
    definition : str
        The exact definition that the denominator is worked out from.
    source, provenance : str
        Where the definition stands, and whether that text was read, read
        second-hand, is from memory, was computed or was typed by the user.
    kind : {"model", "drawing", "given"}
        Row of the model table, row of ISO 5455, or given in figures only.
    note : str
        What it could be confused with.
    aliases : tuple of str
        Other ways of saying it.
    """

    name: str
    denominator: float
    definition: str
    source: str
    provenance: str = "given by the user"
    kind: Literal["model", "drawing", "given"] = "given"
    note: str = ""
    aliases: tuple[str, ...] = ()

    @property
    def ratio(self) -> str:
        """The scale as a ratio, to four decimals: ``1:148``, ``1:147.7818``."""
        return format_scale(self.denominator)

    def model_mm_from_full_mm(self, full_mm: float) -> float:
        """Size on the model of a size in reality, both in millimetres."""
        return full_mm / self.denominator


@functools.cache
def read_model_scales() -> tuple[ModelScale, ...]:
    """Read the model scales, smallest model first as far as their names go.

    Returns
    -------
    tuple of ModelScale
    """
    return tuple(
        ModelScale(
            name=row["name"],
            denominator=_denominator_from_definition(row["definition"]),
            definition=row["definition"],
            source=row["source"],
            provenance=row["provenance"],
            kind="model",
            note=row.get("note", ""),
            aliases=tuple(row.get("aliases", ())),
        )
        for row in _read_table()["model_scale"]
    )


@functools.cache
def read_drawing_scales() -> tuple[ModelScale, ...]:
    """Read the scales that ISO 5455 recommends for drawings, enlargements first.

    Returns
    -------
    tuple of ModelScale
    """
    return tuple(
        ModelScale(
            name=definition,
            denominator=_denominator_from_definition(definition),
            definition=definition,
            source=group["source"],
            provenance=group["provenance"],
            kind="drawing",
        )
        for group in _read_table()["drawing_scales"]
        for definition in group["definitions"]
    )


def _read_table() -> dict[str, Any]:
    text = resources.files("shared").joinpath("model_scales.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _denominator_from_definition(definition: str) -> float:
    readings = _readings_in_figures(tidy_text(definition))
    if readings is None or len(readings) != 1:
        raise ValueError(f"model_scales.toml: the definition {definition!r} is not exact")
    return readings[0]


def parse_model_scale(text: str) -> ModelScale:
    """Read a scale by name or in figures.

    Parameters
    ----------
    text : str
        ``1:148``, ``1/76.2``, ``2:1``, ``4 mm/ft``, ``2 1/16 mm to the foot``,
        ``3/16" = 1'``, ``N British``, ``OO``, ``4 mm scale`` ... in any case.

    Returns
    -------
    ModelScale
        The row of the table with exactly this ratio, otherwise a scale of
        kind "given".

    Raises
    ------
    UnitError
        One sentence: unknown (with near matches), several scales of one name,
        a comma that can be read in two ways, or beyond 50:1 and 1:10 000.

    Examples
    --------
    >>> parse_model_scale("2 1/16 mm/ft").ratio, parse_model_scale("N British").ratio
    ('1:147.7818', '1:148')
    >>> parse_model_scale("1:147.78").kind
    'given'
    """
    shown = shorten_text(text)
    try:
        tidy = tidy_text(text)
        if not tidy:
            raise UnitError(f"No scale was given: {_EXAMPLES}.")
        named = _rows_called(tidy)
        if len(named) == 1:
            return named[0]
        if named:
            choices = "; ".join(f"{row.name} ({row.ratio})" for row in named)
            raise UnitError(f"{shown} is the name of {len(named)} scales, so say which: {choices}.")
        readings = _readings_in_figures(tidy)
    except UnreadableNumber as reason:
        message = f"{shown} cannot be read as a scale, because {reason}"
        raise UnitError(f"{message}: {_EXAMPLES}.") from None
    if readings is None:
        raise UnitError(_unknown_scale(tidy, shown))
    return _scale_in_figures(tidy, _only_sensible(readings, shown))


def _rows_called(tidy: str) -> list[ModelScale]:
    """Rows of that name, or else rows that share that alias."""
    rows = read_model_scales()
    by_name = [row for row in rows if _key(row.name) == _key(tidy)]
    return by_name or [row for row in rows if _key(tidy) in map(_key, row.aliases)]


def _key(name: str) -> str:
    """Compare names without regard to case, gaps and the word scale (but 0 is not O)."""
    bare = re.sub(r"[\s,()-]+", "", name.casefold())
    return re.sub(r"scale|gauge", "", bare) or bare


def _readings_in_figures(tidy: str) -> tuple[float, ...] | None:
    """Every denominator that figures can mean; None if it is not in the form of a scale."""
    if match := _PER_UNIT.fullmatch(tidy):
        unit, full = UNIT_FROM_WORD.get(match["unit"]), UNIT_FROM_WORD.get(match["full"])
        if unit is None or full is None:
            return None
        sizes = [value * MM_PER_UNIT[unit] for value in readings_of_number(match["model"])]
        return tuple(MM_PER_UNIT[full] / size if size else float("inf") for size in sizes)
    if match := _SLASH_RATIO.fullmatch(tidy):
        return readings_of_number(match["full"])
    if match := _RATIO.fullmatch(tidy):
        models, fulls = readings_of_number(match["model"]), readings_of_number(match["full"])
        return tuple(
            full / model if model else float("inf")
            for model, full in itertools.product(models, fulls)
        )
    return None


def _only_sensible(readings: tuple[float, ...], shown: str) -> float:
    sensible = [d for d in readings if SMALLEST_DENOMINATOR <= d <= LARGEST_DENOMINATOR]
    if len(sensible) == 1:
        return sensible[0]
    if sensible:
        choices = " or ".join(format_scale(d) for d in sorted(sensible))
        raise UnitError(
            f"{shown} can mean {choices}: write it without a comma, like 1:148 or 1:76.2."
        )
    raise UnitError(f"{shown} lies beyond 50:1 and 1:10000, so no sheet can show it: {_EXAMPLES}.")


def _scale_in_figures(tidy: str, denominator: float) -> ModelScale:
    # 1e-12 lets pass only the rounding of the division: the rows of the table
    # nearest to each other, 1:87 and 1:87.0857, differ by 1e-3.
    for row in (*read_model_scales(), *read_drawing_scales()):
        if abs(row.denominator - denominator) <= 1e-12 * row.denominator:
            return row
    return ModelScale(
        name=format_scale(denominator), denominator=denominator, definition=tidy, source="as given"
    )


def _unknown_scale(tidy: str, shown: str) -> str:
    rows = read_model_scales()
    name_from_key = {_key(name): row.name for row in rows for name in (*row.aliases, row.name)}
    keys = difflib.get_close_matches(_key(tidy), name_from_key, n=6, cutoff=0.6)
    near = list(dict.fromkeys(name_from_key[key] for key in keys))[:3]
    if re.fullmatch(r"[0-9., ]+", tidy):
        near = [f"1:{tidy}"]
    if near:
        return f"{shown} is not a scale known here: perhaps you mean {' or '.join(near)}."
    return f"{shown} is not a scale known here: {_EXAMPLES}, or name one such as OO or N British."


def format_scale(denominator: float) -> str:
    """Write a scale as a ratio, to four decimals.

    Parameters
    ----------
    denominator : float
        Greater than zero.

    Returns
    -------
    str
        Without gaps between thousands, as on a drawing.

    Examples
    --------
    >>> format_scale(148.0), format_scale(76.2), format_scale(0.5)
    ('1:148', '1:76.2', '2:1')
    """
    if not 0 < denominator < float("inf"):
        raise ValueError(f"denominator: more than zero and finite, got {denominator}")
    if denominator >= 1:
        return f"1:{_short(denominator)}"
    return f"{_short(1 / denominator)}:1"


def _short(value: float) -> str:
    return f"{value:.4f}".rstrip("0").rstrip(".")


def redraw_factor(old: ModelScale, new: ModelScale) -> float:
    """Factor that takes sizes on a drawing at an old scale to a new scale.

    Parameters
    ----------
    old, new : ModelScale

    Returns
    -------
    float
        Old over new denominator; NEM 010 gives 45/87 = 0.517 from 0 to H0.

    Examples
    --------
    >>> round(redraw_factor(parse_model_scale("1:45"), parse_model_scale("1:87")), 3)
    0.517
    """
    return old.denominator / new.denominator
