"""Answers in plain JSON, as the page gets them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from measure.evaluate import Evaluated
from measure.results import Results, json_from_results
from measure.trust import across_mm, advice, is_coarse, shape_rests_on
from measure.workbench.placing import (
    curves_of,
    extent_of,
    joints_of,
    limits_of,
    picks_on_wall,
    suspect_path,
)
from rectify.diagnosis import Suspect, find_suspects
from rectify.photos.photo import PhotoHeader
from rectify.solution import PhotoFacts
from shared.errors import StoreyrodError
from shared.survey import Face, Photo, Survey, Tie

PhotoLook = Callable[[Photo], PhotoHeader]


def facts_of(photo: Photo, look: PhotoLook) -> tuple[PhotoFacts | None, dict[str, Any]]:
    """What the solver needs to know of a photo, None if it cannot be read, and what is told."""
    try:
        header = look(photo)
    except StoreyrodError as problem:
        return None, {"problem": tell_problem(problem)}
    focal = photo.focal_35mm if photo.focal_35mm is not None else header.focal_35mm
    facts = PhotoFacts(photo.id, header.width_px, header.height_px, focal, photo.cropped)
    if photo.focal_35mm is not None:
        says = f"A {photo.focal_35mm:g} mm lens, as you typed."
    elif header.focal_35mm is not None:
        says = f"A {header.focal_35mm:g} mm lens, read from the photo."
    else:
        says = (
            "The photo does not say its lens. Sizes along the known size stay good; across it "
            "they are less sure until a second known size crosses the first."
        )
    told = {
        "width_px": header.width_px,
        "height_px": header.height_px,
        "focal_35mm": focal,
        "camera": f"{header.camera_make} {header.camera_model}".strip(),
        "lens_says": says,
        "doubts": list(header.warnings),
        "problem": None,
    }
    return facts, told


def tell_evaluated(
    survey: Survey, evaluated: Evaluated, told_photos: Mapping[str, Any], stamp: str, *, quick: bool
) -> dict[str, Any]:
    """Everything the page gets of a document: ``results`` as on the command line, and ``page``."""
    results, problems = evaluated.results, evaluated.problems
    suspects = {photo: find_suspects(one.solution) for photo, one in results.photos.items()}
    page = {
        "scale_denominator": results.denominator,
        "photos": told_photos,
        "faces": {
            face.id: tell_face(face, results, problems.get(face.id), survey.ties)
            for face in survey.faces
        },
        "suspects": [tell_suspect(survey, one) for found in suspects.values() for one in found],
        "ties": {photo: list(said) for photo, said in evaluated.said_of_ties.items()},
        "trust": {
            face.id: tell_trust(
                face,
                results,
                [one.sentence for one in suspects.get(face.photo, ())]
                + list(evaluated.said_of_ties.get(face.photo, ())),
            )
            for face in survey.faces
        },
    }
    told: dict[str, Any] = clean_json(
        {"stamp": stamp, "quick": quick, "results": json_from_results(results), "page": page}
    )
    return told


def tell_face(
    face: Face, results: Results, problem: StoreyrodError | None, ties: Sequence[Tie]
) -> dict[str, Any]:
    """Where a face stands: its picks and curves on the wall, and why not, where it does not."""
    told: dict[str, Any] = {
        "solved": False,
        "sized": False,
        "problem": None if problem is None else tell_problem(problem),
    }
    if face.id not in results.faces:
        return told
    solution = results.photos[face.photo].solution
    view = solution.view(face.id)
    picks = picks_on_wall(face, view, ties)
    # lines found by the program and points off the walls reach beyond the wall: the view shows
    # what the user picked on it
    own = {path: at for path, at in picks.items() if not _is_beyond(face, path)}
    extent = extent_of(own if len(own) > 1 else picks)
    if extent is None:
        return told
    result = results.faces[face.id]
    return {
        **told,
        "solved": True,
        "sized": solution.scaled,
        "datum_mm": result.datum_v_mm,
        "picks_mm": {path: [round(n, 2) for n in point] for path, point in picks.items()},
        "curves": curves_of(face, result, view),
        "joints": joints_of(result, view),
        "extent_mm": extent,
        "limits_mm": limits_of(extent, view, solution.photo.width_px, solution.photo.height_px),
        "measure_problems": {
            id_: tell_problem(why)
            for id_, why in result.problems.items()
            if isinstance(why, StoreyrodError)
        },
    }


def _is_beyond(face: Face, path: str) -> bool:
    parts = path.split("/")
    if parts[0] == "ties":
        return True
    if parts[2] != "guides":
        return False
    return bool(getattr(face.guides[int(parts[3][1:])], "found", False))


def tell_trust(face: Face, results: Results, doubts: Sequence[str]) -> dict[str, Any]:
    """How far to trust a face, in numbers, and the sentence on what would help most."""
    if face.id not in results.faces:
        begin = "Pick the four corners of something upright and square: they straighten the wall."
        return {"state": "none", "u_across_mm": None, "advice": begin}
    solution = results.photos[face.photo].solution
    if not solution.scaled:
        say = f"{shape_rests_on(solution)} Give it one known size."
        return {"state": "shape", "u_across_mm": None, "advice": doubts[0] if doubts else say}
    across = across_mm(results, face.id)
    u_mm = None if across is None else across[1]
    if doubts:
        return {"state": "doubtful", "u_across_mm": u_mm, "advice": doubts[0]}
    help_most = advice(results, face.id, results.denominator, across)
    if is_coarse(across):
        return {"state": "coarse", "u_across_mm": u_mm, "advice": help_most}
    agrees = solution.redundancy > 0 and solution.adjusted.misfit <= 1.0
    state = "checked" if agrees and len(solution.sheet.sizes) > 1 else "sized"
    return {"state": state, "u_across_mm": u_mm, "advice": help_most}


def tell_suspect(survey: Survey, suspect: Suspect) -> dict[str, Any]:
    """What contradicts the rest, where it stands, and what would explain it as well."""
    return {
        "path": suspect_path(survey, suspect),
        "sentence": suspect.sentence,
        "w": suspect.w,
        "rivals": [
            {
                "path": suspect_path(survey, rival),
                "name": f"{rival.part} of {rival.item}".removeprefix(" of "),
            }
            for rival in suspect.rivals
        ],
    }


def tell_problem(problem: StoreyrodError) -> dict[str, Any]:
    """A refusal as the page gets it."""
    return {
        "code": problem.code,
        "message": problem.message,
        "hint": problem.hint,
        "details": problem.details,
    }


def clean_json(value: Any) -> Any:
    """The same data with None where a number is not finite: JSON has no such numbers."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(key): clean_json(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [clean_json(item) for item in value]
    return value
