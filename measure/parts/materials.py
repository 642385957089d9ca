"""Thicknesses of card and paper that parts are made of, and of the glue between them."""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import resources

import numpy as np

from shared.card_wishes import CardWishes
from shared.errors import FieldError


@dataclass(frozen=True, slots=True)
class Material:
    """One sheet material.

    Attributes
    ----------
    key, name : str
    thickness_mm : float
        Of one sheet.
    use : {"carcass", "overlay", "skin", "strip", "former", "film"}
        What it usually serves as.
    source, provenance : str
    """

    key: str
    name: str
    thickness_mm: float
    use: str
    source: str = ""
    provenance: str = "measured"

    def __post_init__(self) -> None:
        if not 0.01 <= self.thickness_mm <= 20.0:
            raise FieldError(
                f"A sheet of {self.name} cannot be {self.thickness_mm:g} mm thick.",
                hint="Measure a stack of ten sheets and divide by ten.",
            )


@functools.cache
def read_materials() -> tuple[Material, ...]:
    """Read the materials that come with the program."""
    raw = resources.files("measure.parts").joinpath("materials.toml").read_bytes()
    rows = tomllib.loads(raw.decode("utf-8"))["material"]
    return tuple(Material(**row) for row in rows)


def find_material(key: str, own: Sequence[Material] = ()) -> Material:
    """Find a material by its key, the user's own first.

    Raises
    ------
    FieldError
        If there is none of that key.
    """
    for material in (*own, *read_materials()):
        if material.key == key:
            return material
    known = ", ".join(material.key for material in (*own, *read_materials()))
    raise FieldError(f"There is no material called '{key[:60]}'.", hint=f"There are: {known}.")


def own_materials(wishes: CardWishes) -> tuple[Material, ...]:
    """Materials of the user's own, from the stacks that were measured."""
    return tuple(
        Material(
            sheet.key,
            sheet.name,
            sheet_thickness_mm(sheet.stack_mm, sheet.sheets)[0],
            sheet.use,
            source=f"{sheet.sheets} sheets measured {sheet.stack_mm:g} mm",
        )
        for sheet in wishes.own_sheets
    )


def sheet_thickness_mm(stack_mm: float, sheets: int = 10) -> tuple[float, float]:
    """Thickness of one sheet from a measured stack, and its standard uncertainty.

    Parameters
    ----------
    stack_mm : float
        Thickness of the stack, by a rule read to half a millimetre.
    sheets : int
        How many lie in it.

    Returns
    -------
    thickness_mm, u_mm : float
        A reading to the nearest half is uncertain by ``0.5 / sqrt(12)``.

    Raises
    ------
    FieldError
        For a stack of nothing.
    """
    if sheets < 1 or not np.isfinite(stack_mm) or stack_mm <= 0:
        raise FieldError("A stack needs a sheet and a thickness.", hint="Measure ten sheets.")
    return stack_mm / sheets, 0.5 / float(np.sqrt(12.0)) / sheets
