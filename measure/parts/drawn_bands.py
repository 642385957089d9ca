"""Bands said once: those that the drawing has are cut from card too, if it says how far out."""

from __future__ import annotations

from collections.abc import Mapping

from measure.elevation.build import Elevation
from measure.elevation.facade import Facade
from shared.card_wishes import Band, CardWishes
from shared.survey_details import BandDetail, LevelAt


def with_drawn_bands(wishes: CardWishes, elevations: Mapping[str, Elevation]) -> CardWishes:
    """Add the bands of the drawing to faces whose card names none of its own.

    Parameters
    ----------
    wishes : CardWishes
    elevations : mapping of str to Elevation
        By face. A band of theirs without ``out_mm`` is only drawn.
    """
    by_face = dict(wishes.by_face)
    for name, elevation in elevations.items():
        wish = wishes.of_face(name)
        bands = tuple(
            Band(
                label=detail.kind.replace("-", " "),
                foot_mm=_level(elevation.facade, detail.foot),
                head_mm=_level(elevation.facade, detail.head),
                out_mm=detail.out_mm,
            )
            for detail in elevation.details
            if isinstance(detail, BandDetail) and detail.out_mm is not None
        )
        if bands and not wish.bands:
            by_face[name] = wish.model_copy(update={"bands": bands})
    return wishes.model_copy(update={"by_face": by_face})


def _level(facade: Facade, at: LevelAt) -> float:
    found = facade.level_of(at)
    if found is None:  # the drawing of the face refuses such a band first
        raise ValueError(f"at: a level of the facade, got {at!r}")
    return found
