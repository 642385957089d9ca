"""Courses whose count is not given: where they will be read from the photo."""

from __future__ import annotations

from collections.abc import Callable

from measure.results import MeasureResult
from rectify.photo import Photo
from rectify.solution import Solution
from shared.errors import InputError
from shared.survey import CoursesMeasure, Face

PixelsOf = Callable[[str], Photo]


def read_courses_from_photo(
    pixels_of: PixelsOf, solution: Solution, face: Face, measure: CoursesMeasure
) -> MeasureResult:
    """Refuse: this version cannot count courses in a photo yet.

    Raises
    ------
    InputError
    """
    raise InputError(
        f"The courses '{measure.id}' of face '{face.id}' have no count.",
        hint="Count the courses between its two picks and give the count.",
        details={"face": face.id, "measure": measure.id},
    )
