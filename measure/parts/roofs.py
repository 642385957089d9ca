"""Roof slopes as flat parts: what was outlined on the slope, at its true length up the slope.

Frame: the slope's chart at the model's scale, u along the eaves, v up the slope from them.
A slope is laid on, not jointed: eaves, ridge and verges are trimmed to fit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely

from measure.elevation.path_geometry import Box
from measure.parts.face_shape import squared_outline
from measure.parts.part import Part, PartPicture, lines_of_polygon
from measure.parts.part_marks import mark_below, mark_on
from measure.parts.shell import Shell, face_letter
from measure.parts.walls import as_skin
from measure.results import Results
from measure.survey_job import SurveyJob
from shared.errors import FieldError


def roof_parts(
    job: SurveyJob, results: Results, shell: Shell, roofs: Sequence[str]
) -> tuple[Part, ...]:
    """Card and skin of each roof slope.

    Parameters
    ----------
    job : SurveyJob
    results : Results
    shell : Shell
        Tells scale and sheets; its faces come first in the lettering.
    roofs : sequence of str
        Faces that are roof slopes.

    Raises
    ------
    FieldError
        For a slope without an outline, or one that crosses itself.
    """
    parts: list[Part] = []
    for number, name in enumerate(roofs, start=len(shell.faces)):
        face, result = job.face(name), results.faces[name]
        solution = results.photos[face.photo].solution
        drawn = [m for m in result.measures.values() if m.kind == "outline"]
        if not drawn:
            raise FieldError(
                f"Roof slope '{name}' has no outline, so it cannot be cut.",
                hint="Outline what shows of it, or leave it out.",
            )
        small = [(float(u), float(v)) for u, v in drawn[0].points_mm / shell.denominator]
        whole = shapely.Polygon(squared_outline(small))
        if not whole.is_valid or whole.area <= 0:
            raise FieldError(
                f"The outline of roof slope {name} crosses itself, so nothing can be cut along it.",
                hint="Pick its corners in their order round the slope.",
            )
        pitch, u_pitch = solution.value_and_u(name, "pitch")
        label, letter = face.label or name, face_letter(number)
        note = (
            f"lies {math.degrees(pitch):.1f}° (± {math.degrees(u_pitch):.1f}°) above the level, "
            "arrow to the ridge"
        )
        carcass = shell.workshop.layer("carcass")
        words, up = mark_on(whole, f"{letter}1", label)
        lines = lines_of_polygon("cut", whole, f"{letter}1")
        parts.append(
            Part(
                f"{letter}1",
                f"{label}, roof slope",
                name,
                "roof",
                carcass.material,
                (*lines, *up),
                words,
                grain="any",
                note=note,
            )
        )
        skin = next((x for x in shell.workshop.layers if x.role == "skin"), None)
        if skin is not None:
            bleed = shell.wishes.bleed_mm
            mark = f"{letter}2"
            parts.append(
                Part(
                    mark,
                    f"{label}, skin",
                    name,
                    "skin",
                    skin.material,
                    tuple(as_skin(lines_of_polygon("cut", whole, mark), whole, mark, bleed)),
                    (mark_below(whole, mark, bleed),),
                    grain="up",
                    pictures=(PartPicture(name, Box(*whole.bounds).grown(bleed)),),
                )
            )
    return tuple(parts)
