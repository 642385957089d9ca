"""A survey opened from disk: the document, its photos, and what they measure.

The short path for scripts and notebooks::

    from measure.survey_job import open_survey

    job = open_survey("pennywhistle.survey.json")
    results = job.measure()
    print(results.faces["front"].measures["f2"].sizes["width_mm"])
    wall = job.straighten("front", dpi=600)
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

from measure.course_reader import CourseReading
from measure.course_strip import read_courses_from_photo
from measure.elevation.extent import face_extent
from measure.evaluate import evaluate
from measure.results import Results
from rectify.photos.file import MAX_MEGAPIXELS, read_photo, read_photo_header
from rectify.photos.photo import Photo as PhotoPixels
from rectify.photos.photo import PhotoHeader
from rectify.solution import PhotoFacts
from rectify.straighten import Progress, Straightened, straighten
from rectify.window import window_for_print
from shared.errors import FieldError, SurveyFileError
from shared.model_scales import parse_model_scale
from shared.photo_paths import check_photo_unchanged, photo_path
from shared.survey import Face, Photo, Survey
from shared.survey_file import read_survey


@dataclass
class SurveyJob:
    """A survey with its photos at hand.

    Parameters
    ----------
    survey : Survey
    path : Path
        Of the survey file; photos are found beside it.
    max_megapixels : float
        Larger photos are refused.
    readings : dict
        What was read of courses while measuring, under the ids of face and measure.
    """

    survey: Survey
    path: Path
    max_megapixels: float = MAX_MEGAPIXELS
    readings: dict[tuple[str, str], CourseReading] = field(default_factory=dict)
    _headers: dict[str, PhotoHeader] = field(default_factory=dict)
    _pixels: dict[str, PhotoPixels] = field(default_factory=dict)
    _results: Results | None = None

    def photo(self, photo_id: str) -> Photo:
        """Find a photo of the survey by its id."""
        for photo in self.survey.photos:
            if photo.id == photo_id:
                return photo
        raise FieldError(f"The survey has no photo '{photo_id}'.", hint="Name one that it lists.")

    def face(self, face_id: str) -> Face:
        """Find a face of the survey by its id."""
        for face in self.survey.faces:
            if face.id == face_id:
                return face
        known = ", ".join(face.id for face in self.survey.faces) or "none"
        raise FieldError(f"The survey has no face '{face_id}'.", hint=f"It has: {known}.")

    def header(self, photo_id: str) -> PhotoHeader:
        """Read what is known of a photo without decoding it."""
        if photo_id not in self._headers:
            photo = self.photo(photo_id)
            file = photo_path(self.path, photo)
            check_photo_unchanged(self.path, photo)
            header = read_photo_header(file)
            wanted = (photo.width_px or header.width_px, photo.height_px or header.height_px)
            if wanted != (header.width_px, header.height_px):
                raise FieldError(
                    f"Photo '{photo_id}' is {header.width_px} x {header.height_px} px, but the "
                    f"survey was picked on one of {wanted[0]} x {wanted[1]} px.",
                    hint="Put the original photo back, or pick again on this one.",
                    details={"photo": photo_id},
                )
            self._headers[photo_id] = header
        return self._headers[photo_id]

    def facts(self, photo_id: str) -> PhotoFacts:
        """Put together what the solver needs to know of a photo."""
        photo, header = self.photo(photo_id), self.header(photo_id)
        focal_35mm = photo.focal_35mm if photo.focal_35mm is not None else header.focal_35mm
        return PhotoFacts(
            photo_id, header.width_px, header.height_px, focal_35mm, cropped=photo.cropped
        )

    def pixels(self, photo_id: str) -> PhotoPixels:
        """Decode a photo, once."""
        if photo_id not in self._pixels:
            self.header(photo_id)
            file = photo_path(self.path, self.photo(photo_id))
            self._pixels[photo_id] = read_photo(file, self.max_megapixels)
        return self._pixels[photo_id]

    def measure(self, *, stop_at_problem: bool = True) -> Results:
        """Solve all photos and measure all faces; see `measure.evaluate.evaluate`.

        A photo is decoded only where courses are to be counted in it. What speaks against the
        file itself (cropped, a picture of a screen ...) is among the photo's warnings.
        """
        if self._results is None:
            used = {face.photo for face in self.survey.faces}
            facts = {photo: self.facts(photo) for photo in sorted(used)}
            reader = partial(read_courses_from_photo, self.pixels, readings=self.readings)
            results = evaluate(
                self.survey, facts, read_courses=reader, stop_at_problem=stop_at_problem
            )
            photos = {
                id_: replace(photo, warnings=(*photo.warnings, *self.header(id_).warnings))
                for id_, photo in results.photos.items()
            }
            self._results = replace(results, photos=photos)
        return self._results

    def denominator(self, scale: str | None = None) -> float:
        """Denominator of a scale, the survey's own when none is named."""
        return parse_model_scale(scale or self.survey.model_scale).denominator

    def straighten(
        self,
        face_id: str,
        *,
        scale: str | None = None,
        dpi: float = 600.0,
        progress: Progress | None = None,
    ) -> Straightened:
        """Straighten the measured part of a face at print size.

        Parameters
        ----------
        face_id : str
        scale : str, optional
            Such as "1:148"; the survey's own by default.
        dpi : float
            Pixels to the inch of the print.
        progress : callable, optional
            Told how far it is; may stop it.

        Returns
        -------
        Straightened
        """
        if not (math.isfinite(dpi) and 10 <= dpi <= 4800):
            raise FieldError(f"A resolution of {dpi:g} dpi cannot be printed.", hint="Use 300.")
        face = self.face(face_id)
        results = self.measure(stop_at_problem=False)
        solution = results.photos[face.photo].solution
        extent = face_extent(face, results.faces[face_id], solution)
        window = window_for_print(
            (extent.left_mm, extent.bottom_mm, extent.right_mm, extent.top_mm),
            dpi,
            self.denominator(scale),
        )
        pixels = self.pixels(face.photo).pixels
        return straighten(pixels, solution.view(face_id), window, progress=progress)


def open_survey(path: str | Path, *, max_megapixels: float = MAX_MEGAPIXELS) -> SurveyJob:
    """Open a survey file.

    Parameters
    ----------
    path : str or Path
    max_megapixels : float
        Larger photos are refused.

    Returns
    -------
    SurveyJob

    Raises
    ------
    SurveyFileError, FieldError
        If the file is missing, damaged or says something impossible.
    """
    file = Path(path)
    job = SurveyJob(read_survey(file), file, max_megapixels)
    if not job.survey.faces:
        raise SurveyFileError(
            f"The survey {file.name} has no faces yet.",
            hint="Add a face with a frame and a known size.",
        )
    return job
