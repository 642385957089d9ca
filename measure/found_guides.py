"""Guides found in the photos of a survey, taken into it or dropped, all at once."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from measure.survey_job import SurveyJob
from rectify.guides.report import FitOfLines
from rectify.photo_lines import FoundGuides, find_guides, with_found, without_found
from rectify.straighten import Progress
from shared.errors import FieldError
from shared.survey import Face, Survey


def find_guides_of(
    job: SurveyJob, photo: str | None = None, progress: Progress | None = None
) -> dict[str, FoundGuides]:
    """Look for guides in the photos of a survey.

    Parameters
    ----------
    job : SurveyJob
    photo : str, optional
        Only this one.
    progress : callable, optional
        Told the share done; stops the work by returning False.

    Returns
    -------
    dict of photo id to FoundGuides

    Raises
    ------
    FieldError
        If the survey has no such photo, or nothing is picked in it.
    """
    if photo is not None:
        picked = {job.photo(photo).id: faces_picked_in(job.survey, photo)}
    else:
        picked = {one.id: _faces_in(job.survey, one.id) for one in job.survey.photos}
        picked = {name: faces for name, faces in picked.items() if faces}
    found: dict[str, FoundGuides] = {}
    for i, (name, faces) in enumerate(picked.items()):

        def tell(share: float, done: int = i) -> bool | None:
            return None if progress is None else progress((done + share) / len(picked))

        found[name] = find_guides(job.pixels(name).pixels, job.facts(name), faces, tell)
    return found


def faces_picked_in(survey: Survey, photo: str) -> list[Face]:
    """Faces of a photo that guides may be looked for on.

    Raises
    ------
    FieldError
        If nothing is picked in the photo.
    """
    faces = _faces_in(survey, photo)
    if not faces:
        raise FieldError(
            f"Nothing is picked in photo '{photo}'.", hint="Pick a frame on a wall in it first."
        )
    return faces


def _faces_in(survey: Survey, photo: str) -> list[Face]:
    return [face for face in survey.faces if face.photo == photo]


def with_found_guides(survey: Survey, found: Mapping[str, FoundGuides]) -> Survey:
    """The survey with found guides in place of those found earlier in the same photos."""
    faces = tuple(
        with_found(face, found[face.photo]) if face.photo in found else face
        for face in survey.faces
    )
    return survey.model_copy(update={"faces": faces})


def without_found_guides(survey: Survey, photo: str | None = None) -> Survey:
    """The survey with all found guides dropped, or those of one photo."""
    faces = tuple(
        without_found(face) if photo in (None, face.photo) else face for face in survey.faces
    )
    return survey.model_copy(update={"faces": faces})


def tell_found(found: FoundGuides, *, scaled: bool) -> dict[str, Any]:
    """What was found in one photo as plain JSON data.

    ``guides`` by face as a survey writes them; ``before`` and ``after`` hold the numbers
    without and with them; lengths are null where nothing gives the scale.
    """
    return {
        "count": found.count,
        "sentence": found.sentence,
        "guides": {
            face: [guide.model_dump(mode="json") for guide in guides]
            for face, guides in found.guides.items()
        },
        "before": _told(found.before, scaled=scaled),
        "after": _told(found.after, scaled=scaled),
        "far_pick_px": list(found.far_pick_px) if found.far_pick_px else None,
    }


def _told(fit: FitOfLines | None, *, scaled: bool) -> dict[str, float | None] | None:
    if fit is None:
        return None
    numbers: dict[str, float | None] = {
        "lines_rms_px": fit.lines_rms_px,
        "picks_rms_px": fit.picks_rms_px,
        "focal_px": fit.focal_px,
        "u_focal_px": fit.u_focal_px,
        "k1": fit.k1,
        "u_k1": fit.u_k1,
        "k2": fit.k2,
        "u_k2": fit.u_k2,
        "tilt_deg": math.degrees(fit.tilt_rad),
        "u_tilt_deg": math.degrees(fit.u_tilt_rad),
        "far_mm": fit.far_mm if scaled else None,
        "u_far_mm": fit.u_far_mm if scaled else None,
        "u_far_per_cent": 100.0 * fit.u_far_mm / fit.far_mm,
    }
    return {
        key: None if value is None or not math.isfinite(value) else value
        for key, value in numbers.items()
    }
