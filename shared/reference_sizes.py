"""Catalogue of known sizes: what can give a facade its scale, and how well.

Reads ``reference_sizes.toml`` and ``brick_formats.toml``. Every row says
plainly what is measured (a door's LEAF is not its FRAME nor the OPENING in the
wall: mixing them errs by 5 to 10 %), how far the thing on the wall strays from
the catalogue, and how well its source is known.

The ± of a row does not hold the ± of picking it in a photo.
"""

from __future__ import annotations

import difflib
import functools
import math
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import resources
from typing import Any, Literal

from shared.errors import FieldError
from shared.number_text import shorten_text
from shared.units import parse_length_mm

Kind = Literal["rectangle", "length", "courses", "unit"]
Part = Literal["leaf", "frame", "opening", "masonry", "object"]
PROVENANCES = ("read", "read second-hand", "from memory", "common practice, no source")

_TABLES = ("reference_sizes.toml", "brick_formats.toml")
_SIZES = ("length", "width", "height")


@dataclass(frozen=True, slots=True)
class ReferenceSize:
    """One thing of known size.

    Attributes
    ----------
    key : str
        Written into survey files; never changes its meaning.
    name, meant : str
        What the trade calls it, and what exactly is measured.
    group : str
        Door, window, brick ...
    kind : {"rectangle", "length", "courses", "unit"}
        Width and height; one length; courses of a known gauge; or a brick or
        block whose gauge is not known.
    part : {"leaf", "frame", "opening", "masonry", "object"}
        Of a door or window, which of its outlines is meant.
    region, source : str
        Where it is found, and where its size stands.
    provenance, gauge_provenance, u_provenance : str
        How well the size, the gauge and the ± are known: "read", "read
        second-hand", "from memory" ...; ± are "judgement" unless said.
    width_mm, height_mm, length_mm : float or None
        Across, up, and for kind "length" the one size. Of a brick: `length_mm`
        along the wall, `width_mm` into the wall, `height_mm` up.
    u_width_mm, u_height_mm, u_length_mm : float or None
        Standard uncertainty of the thing on the wall against that size.
    joint_mm : float or None
        Bed joint.
    gauge_mm, u_gauge_mm : float or None
        Height of one course with its bed joint, and its standard uncertainty
        for a whole wall: it is the same mistake in every course.
    range_mm : tuple of float or None
        Least and most, where only a range is known.
    usable : bool
        False for a check of good sense that is no scale reference.
    in_wall_plane : bool
        False for what stands before the wall or lies on the ground.
    note : str
    aliases : tuple of str
        Other keys that find this row.
    """

    key: str
    name: str
    meant: str
    group: str
    kind: Kind
    part: Part
    region: str
    source: str
    provenance: str
    u_provenance: str = "judgement"
    gauge_provenance: str | None = None
    width_mm: float | None = None
    height_mm: float | None = None
    length_mm: float | None = None
    u_width_mm: float | None = None
    u_height_mm: float | None = None
    u_length_mm: float | None = None
    joint_mm: float | None = None
    gauge_mm: float | None = None
    u_gauge_mm: float | None = None
    range_mm: tuple[float, float] | None = None
    usable: bool = True
    in_wall_plane: bool = True
    note: str = ""
    aliases: tuple[str, ...] = ()


@functools.cache
def read_reference_sizes() -> tuple[ReferenceSize, ...]:
    """Read the catalogue, in the order of its files.

    Returns
    -------
    tuple of ReferenceSize
        Keys and aliases are unique.
    """
    return tuple(row for table in _TABLES for row in _read_table(table))


def _read_table(table: str) -> Iterator[ReferenceSize]:
    text = resources.files("shared").joinpath(table).read_text(encoding="utf-8")
    document = tomllib.loads(text)
    for raw in document["size"]:
        row = {**document.get("defaults", {}), **raw}
        if "sizes" not in row:
            yield _make_row(row)
        for member in row.pop("sizes", ()):
            yield _make_row(_make_member(row, member))


def _make_member(family: dict[str, Any], member: list[Any]) -> dict[str, Any]:
    """One row of a family: its size, and key and name with the size added."""
    names = ("length",) if len(member) == 1 else ("width", "height")
    rounded = "x".join(str(round(_mm(size))) for size in member)
    said = " x ".join(str(size) for size in member) + ("" if isinstance(member[0], str) else " mm")
    return {
        **family,
        **dict(zip(names, member, strict=True)),
        "key": f"{family['key']}-{rounded}",
        "name": f"{family['name']}, {said}",
    }


def _make_row(raw: dict[str, Any]) -> ReferenceSize:
    row = dict(raw)
    fields: dict[str, Any] = {}
    u_mm, u_percent = row.pop("u_mm", None), row.pop("u_percent", None)
    for name in _SIZES:
        own_u_mm = row.pop(f"u_{name}_mm", u_mm)
        if name in row:
            size_mm = fields[f"{name}_mm"] = _mm(row.pop(name))
            fields[f"u_{name}_mm"] = _u_mm(size_mm, own_u_mm, u_percent)
    if "joint" in row:
        fields["joint_mm"] = _mm(row.pop("joint"))
    if "courses" in row:
        gauge_mm = fields["gauge_mm"] = _mm(row.pop("courses_height")) / row.pop("courses")
        own_u_mm, u_percent = row.pop("u_gauge_mm", None), row.pop("u_gauge_percent", None)
        fields["u_gauge_mm"] = _u_mm(gauge_mm, own_u_mm, u_percent)
    if "range" in row:
        least, most = map(_mm, row.pop("range"))
        fields["range_mm"] = (least, most)
    row["kind"] = _kind_of(fields)
    row["aliases"] = tuple(row.get("aliases", ()))
    return ReferenceSize(**row, **fields)


def _u_mm(size_mm: float, u_mm: float | None, u_percent: float | None) -> float:
    if (u_mm is None) == (u_percent is None):
        raise ValueError("known sizes: each needs its u in mm or in percent, and not both")
    return float(u_mm) if u_mm is not None else round(size_mm * float(u_percent or 0) / 100, 9)


def _kind_of(fields: dict[str, Any]) -> Kind:
    if "gauge_mm" in fields:
        return "courses"
    if "width_mm" in fields and "length_mm" not in fields:
        return "rectangle"
    return "unit" if "height_mm" in fields else "length"


def _mm(size: float | str) -> float:
    return parse_length_mm(size) if isinstance(size, str) else float(size)


@functools.cache
def _row_from_key() -> dict[str, ReferenceSize]:
    return {key: row for row in read_reference_sizes() for key in (row.key, *row.aliases)}


def find_reference_size(key: str) -> ReferenceSize:
    """Find a known size by its key.

    Parameters
    ----------
    key : str
        As written in a survey file, such as ``uk-door-leaf``.

    Returns
    -------
    ReferenceSize
        An alias finds the row it stands for.

    Raises
    ------
    FieldError
        One sentence with near matches, if no row has that key.

    Examples
    --------
    >>> door = find_reference_size("uk-door-leaf")
    >>> door.key, door.height_mm, door.u_height_mm, door.part
    ('uk-door-leaf-813x2032', 2032.0, 6.0, 'leaf')
    """
    rows = _row_from_key()
    if key in rows:
        return rows[key]
    near = difflib.get_close_matches(key.strip().lower(), rows, n=3, cutoff=0.5)
    advice = f"perhaps you mean {' or '.join(near)}" if near else "choose one from the catalogue"
    raise FieldError(f"{shorten_text(key)} is not a key of the catalogue of known sizes: {advice}.")


def search_reference_sizes(
    words: str, *, kind: Kind | None = None, usable_only: bool = False
) -> tuple[ReferenceSize, ...]:
    """Search the catalogue by words, for a picker.

    Parameters
    ----------
    words : str
        Each must occur in key, name, meaning, group, region or source; without
        words all rows match.
    kind : {"rectangle", "length", "courses", "unit"}, optional
        Only rows of that kind.
    usable_only : bool, optional
        Leave out rows that are no scale reference.

    Returns
    -------
    tuple of ReferenceSize
        Rows that hold more of the words in key or name come first, otherwise
        in the order of the catalogue.

    Examples
    --------
    >>> [row.key for row in search_reference_sizes("german brick nf")]
    ['de-brick-nf']
    """
    wanted = words.casefold().split()
    found = []
    for row in read_reference_sizes():
        if (kind and row.kind != kind) or (usable_only and not row.usable):
            continue
        title = f"{row.key} {row.name} {' '.join(row.aliases)}".casefold()
        rest = f"{row.meant} {row.group} {row.region} {row.source}".casefold()
        if all(word in title or word in rest for word in wanted):
            found.append((-sum(word in title for word in wanted), row))
    return tuple(row for _, row in sorted(found, key=lambda pair: pair[0]))


def mean_size_limit_mm(work_size_mm: float, category: Literal["T1", "T2"]) -> int:
    """Limit on the mean of a sample of bricks against their work size.

    Parameters
    ----------
    work_size_mm : float
        Length, width or height that the maker declares.
    category : {"T1", "T2"}

    Returns
    -------
    int
        Millimetres, to be read with ±.

    Notes
    -----
    ``0.40 * sqrt(size)`` for T1 and ``0.25 * sqrt(size)`` for T2, in
    millimetres, rounded to the millimetre. Half of T2 serves as the standard
    uncertainty of a single brick (judgement).

    References
    ----------
    BS EN 771-1, tolerance categories of the mean; checked on its printed table.

    Examples
    --------
    >>> mean_size_limit_mm(215, "T1"), mean_size_limit_mm(215, "T2")
    (6, 4)
    """
    if not 0.0 < work_size_mm < math.inf:
        raise ValueError(f"work_size_mm: more than zero and finite, got {work_size_mm}")
    factor = {"T1": 0.40, "T2": 0.25}[category]
    return math.floor(factor * math.sqrt(work_size_mm) + 0.5)
