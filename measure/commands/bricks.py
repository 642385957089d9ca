"""``storeyrod bricks``."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np

from measure.bricks.evidence import BrickEvidence, Stretchers
from measure.bricks.hypotheses import Hypothesis, OpeningSize, weigh_brick_formats
from measure.bricks.lengths import count_stretchers, read_along
from measure.bricks.telling import tell_choice
from measure.commands.table_text import make_console, print_table
from measure.course_reader import CourseReading
from measure.survey_job import open_survey
from shared.errors import FieldError, InputError
from shared.number_text import format_number
from shared.survey import CoursesMeasure, CoursesReference, Face, Survey
from shared.uncertain_text import format_uncertain_number


def run_bricks(
    path: Path,
    *,
    face: str | None,
    stretchers: tuple[str, ...],
    openings: tuple[str, ...],
    as_json: bool,
) -> None:
    """Weigh the brick formats against what is known of a wall, and print them."""
    job = open_survey(path)
    chosen = job.face(face) if face else _face_with_courses(job.survey)
    _check_openings(chosen, openings)
    wishes = [parse_stretchers(text) for text in stretchers]
    survey, read = job.survey, dict[str, CourseReading]()
    for name in (name for name, count in wishes if count is None):
        solution = job.measure(stop_at_problem=False).photos[chosen.photo].solution
        pixels = job.pixels(chosen.photo).pixels
        read[name], survey = read_along(survey, pixels, solution, chosen, name)
    counted = tuple(
        Stretchers(name, count or count_stretchers(read[name], name)) for name, count in wishes
    )
    facts = job.facts(chosen.photo)
    choice = weigh_brick_formats(
        survey, facts, chosen.id, stretchers=counted, openings=openings or None
    )
    if as_json:
        told = tell_choice(choice)
        told["read_along"] = {name: tell_bricks(reading) for name, reading in read.items()}
        print(json.dumps(told, indent=1, ensure_ascii=False))
        return
    console = make_console()
    names = list(dict.fromkeys(m.id for one in choice.hypotheses for m in one.openings))[:3]
    columns = (
        "key",
        "brick",
        ">course",
        "stands",
        ">w",
        ">share",
        *(f">{n} would be" for n in names),
    )
    rows = [_row(one, names) for one in choice.hypotheses]
    print_table(console, f"Face {chosen.id}: what its bricks may be", columns, rows)
    for name, reading in read.items():
        console.print(_says_of_bricks(name, reading))
    console.print(_says(choice.evidence))
    console.print(choice.sentence)
    console.print(
        "course: mm, with what a whole wall strays from it. w: gauge on the wall less that of the "
        "format, over its ±. share: if each were as likely beforehand. Sizes: by the courses "
        "alone, mm."
    )


def parse_stretchers(text: str) -> tuple[str, int | None]:
    """Read ``d7=6``, the distance d7 spans six stretchers; ``d7`` alone has them counted.

    Raises
    ------
    FieldError

    Examples
    --------
    >>> parse_stretchers("d7=6"), parse_stretchers("d7")
    (('d7', 6), ('d7', None))
    """
    name, given, number = (part.strip() for part in text.partition("="))
    if not name or (given and not (number.isdecimal() and int(number) > 0)):
        raise FieldError(
            f"'{text}' does not say how many stretchers a distance spans.",
            hint="Write it as d7=6: the distance d7 spans six stretchers. d7 alone counts them.",
        )
    return name, int(number) if given else None


def tell_bricks(reading: CourseReading) -> dict[str, Any]:
    """Bricks along a course as plain data, lengths with one joint."""
    return {
        "count": reading.count,
        "sure": reading.sure,
        "confidence": reading.confidence,
        "regular": reading.regular,
        "module_mm": reading.gauge_mm,
        "u_module_mm": reading.u_gauge_mm,
        "variation": reading.variation,
        "lengths_mm": np.diff(reading.joints_mm).tolist(),
    }


def _face_with_courses(survey: Survey) -> Face:
    for face in survey.faces:
        if any(isinstance(one, CoursesReference) for one in face.references) or any(
            isinstance(one, CoursesMeasure) and one.told is not None for one in face.measures
        ):
            return face
    raise InputError(
        "No face of the survey has counted courses, so no brick can be told from them.",
        hint="Pick two bed joints and give the number of courses between them.",
    )


def _check_openings(face: Face, names: tuple[str, ...]) -> None:
    known = [measure.id for measure in face.measures if measure.kind == "opening"]
    for name in names:
        if name not in known:
            raise FieldError(
                f"Face '{face.id}' has no opening '{name}'.",
                hint=f"It has: {', '.join(known) or 'none'}.",
            )


def _row(one: Hypothesis, names: list[str]) -> tuple[str, ...]:
    size = one.size
    gauge = format_uncertain_number(size.gauge_mm or 0.0, size.u_gauge_mm or 0.0)
    share = "" if one.share is None else f"{100 * one.share:.0f} %"
    w = "" if one.w is None else format_number(one.w, 1)
    known = size.gauge_provenance or size.provenance
    told = {measure.id: measure for measure in one.openings}
    sizes = [_size(told[name]) if name in told else "" for name in names]
    return (size.key, f"{size.name} ({known})", gauge, one.verdict, w, share, *sizes)


def _size(opening: OpeningSize) -> str:
    return (
        f"{format_uncertain_number(opening.width_mm, opening.u_width_mm)} x "
        f"{format_uncertain_number(opening.height_mm, opening.u_height_mm)}"
    )


def _says_of_bricks(name: str, reading: CourseReading) -> str:
    each = format_uncertain_number(reading.gauge_mm, reading.u_gauge_mm)
    lengths = ", ".join(f"{length:.0f}" for length in np.diff(reading.joints_mm))
    return (
        f"Along {name}: {reading.count} stretchers counted in the photo, {each} mm each with its "
        f"joint ({lengths})."
    )


def _says(evidence: BrickEvidence) -> str:
    parts = []
    if evidence.scaled:
        gauge_mm, u_mm = evidence.gauge_mm
        parts.append(f"courses of {format_uncertain_number(gauge_mm, u_mm)} mm by the other sizes")
    if evidence.ratio is not None:
        ratio, u_ratio = evidence.ratio
        parts.append(
            f"stretchers, with a joint, {format_uncertain_number(ratio, u_ratio)} courses long"
        )
    counts = f"{evidence.courses} courses counted"
    return f"On the wall: {'; '.join([counts, *parts])}."
