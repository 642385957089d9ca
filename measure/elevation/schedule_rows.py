"""Sizes as rows of the schedule: as measured, or as an elevation draws them."""

from __future__ import annotations

from collections.abc import Mapping

from measure.elevation.build import Elevation
from measure.elevation.elsewhere import kept_under
from measure.elevation.schedule import Schedule, ScheduleRow, ScheduleSize
from measure.results import FaceResult, Results
from shared.survey import OpeningMeasure, Survey

#: Columns of the schedule for each kind: key of the result, name of the column.
SCHEDULED: dict[str, tuple[tuple[str, str], ...]] = {
    "opening": (
        ("width_mm", "width"),
        ("height_mm", "height"),
        ("rise_mm", "rise"),
        ("sill_mm", "sill"),
        ("head_mm", "head"),
    ),
    "distance": (("length_mm", "length"),),
    "level": (("level_mm", "level"),),
    "courses": (("gauge_mm", "gauge"),),
    "arc": (("radius_mm", "radius"), ("span_mm", "span"), ("rise_mm", "rise")),
    "spacing": (("mean_mm", "spacing"),),
    "set-back": (("depth_mm", "depth"),),
}


def schedule_from_results(
    results: Results,
    survey: Survey,
    denominator: float,
    faces: tuple[str, ...] | None = None,
    elevations: Mapping[str, Elevation] | None = None,
) -> Schedule:
    """Put openings, levels and other lengths into one row a measure, for the CSV file.

    Parameters
    ----------
    results : Results
    survey : Survey
    denominator : float
    faces : tuple of str, optional
        All by default.
    elevations : mapping of face id to Elevation, optional
        Openings and levels then have the sizes that are drawn, and those that were invented
        get rows of their own.
    """
    rows: list[ScheduleRow] = []
    twice = kept_under(survey, results) if elevations else {}
    for face in survey.faces:
        if faces is not None and face.id not in faces:
            continue
        forms = {m.id: m.head for m in face.measures if isinstance(m, OpeningMeasure)}
        drawn: set[str] = set()
        if elevations is not None and face.id in elevations:
            found = drawn_rows(face.id, elevations[face.id], results.faces[face.id])
            drawn = {row.id for row in found}
            rows += found
        for measure in results.faces[face.id].measures.values():
            # openings are told once, with the elevation that draws them
            told = drawn or twice.get(face.id) in (elevations or {})
            if measure.id in drawn or (measure.kind == "opening" and told):
                continue
            columns = SCHEDULED.get(measure.kind, ())
            sizes = tuple(
                ScheduleSize(name, measure.size(key), measure.u_of(key))
                for key, name in columns
                if key in measure.sizes
            )
            if sizes:
                count = measure.facts.get("count")
                notes = [f"{count} courses"] if count is not None else []
                rows.append(
                    ScheduleRow(
                        face.id,
                        measure.id,
                        measure.label,
                        measure.kind,
                        sizes,
                        form=forms.get(measure.id, ""),
                        notes="; ".join([*notes, *measure.warnings]),
                    )
                )
    return Schedule(tuple(rows), denominator)


def drawn_rows(face: str, elevation: Elevation, result: FaceResult) -> list[ScheduleRow]:
    """Openings and levels with the sizes that an elevation draws, invented ones marked."""
    rows: list[ScheduleRow] = []
    moved = {each.id for each in elevation.liberties if each.moved_mm is not None}
    how = {each.id: each.how for each in elevation.completed.invented}
    numbers = elevation.tidied.numbers
    rises = {at.id: numbers.u_of_difference(at.head, at.springing) for at in numbers.openings}
    for each in elevation.facade.openings:
        u_rise = None if each.inferred else rises.get(each.id)
        sizes = [
            ScheduleSize("width", each.width_mm, each.u_width_mm),
            ScheduleSize("height", each.height_mm, each.u_height_mm),
            ScheduleSize("sill", each.sill_mm, each.u_sill_mm),
            ScheduleSize("head", each.head_mm, each.u_head_mm),
        ]
        if each.rise_mm > 0.0:
            sizes.insert(2, ScheduleSize("rise", each.rise_mm, u_rise))
        notes = [f"{each.made_from} {how[each.id]}"] if each.id in how else []
        if each.id in moved:
            notes.append("lined up")
        if each.id in result.measures and not each.inferred:
            notes += result.measures[each.id].warnings
        rows.append(
            ScheduleRow(
                face,
                each.id,
                each.label,
                "opening",
                tuple(sizes),
                form=each.form,
                inferred=each.inferred,
                notes="; ".join(notes),
            )
        )
    for level in elevation.facade.levels:
        size = ScheduleSize("level", level.v_mm, level.u_mm)
        note = "lined up" if level.id in moved else ""
        rows.append(
            ScheduleRow(
                face, level.id, level.label, "level", (size,), inferred=level.inferred, notes=note
            )
        )
    return rows
