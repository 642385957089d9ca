"""The survey on the bench as parts of card: sheets to look at, and all files in one archive."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from dataclasses import replace
from typing import Any

import shapely
from shapely import affinity

from measure.elevation.build import Elevation
from measure.export.files import safe_stem
from measure.parts.assembled import said_of, seams_of
from measure.parts.build_order import build_order_text
from measure.parts.card_plan import CardPlan, plan_survey
from measure.parts.cut_files import archive_of, make_card_files
from measure.parts.drawn_bands import with_drawn_bands
from measure.parts.materials import own_materials, read_materials
from measure.parts.measured_faces import faces_to_cut
from measure.parts.part_sheets import LaidPart, lay_parts
from measure.parts.pinned import turns_of
from measure.parts.printer import corrected_sheet, correction_from_bars
from measure.parts.skin_print import photo_of_survey
from measure.workbench.answers import Answer
from measure.workbench.bench_job import BenchJob, elevation_of
from measure.workbench.shelf import OpenSurvey
from measure.workbench.stopping import Waiting
from shared.card_wishes import CardWishes
from shared.errors import FieldError
from shared.model_scales import format_scale

#: By how much the outline of a part, as the page tries places with it, may leave the true one.
OUTLINE_MM = 0.02


def plan_of(opened: OpenSurvey, answer: Answer, waiting: Waiting) -> tuple[BenchJob, CardPlan]:
    """Turn an answered survey into parts, cut along the elevations as they are drawn.

    Raises
    ------
    FieldError, GeometryError
        One sentence for what cannot be cut.
    """
    job = BenchJob(opened, answer)
    wishes = answer.survey.card or CardWishes()
    elevations: dict[str, Elevation] = {}
    cut = faces_to_cut(answer.survey, wishes)
    # wishes for a face that is left out for now stay in the survey, and wait
    left_out = {face.id for face in answer.survey.faces} - set(cut)
    by_face = {name: wish for name, wish in wishes.by_face.items() if name not in left_out}
    wishes = wishes.model_copy(update={"by_face": by_face})
    for face in cut:
        waiting.check()
        made = elevation_of(job, answer, face)
        if made.denominator != answer.results.denominator:
            raise FieldError(
                f"Face '{face}' is reduced to {format_scale(made.denominator)} to fit its plot, "
                "but parts are cut at one scale for all faces.",
                hint="Choose another way to fit the plot, or change the model's scale.",
                details={"face": face},
            )
        elevations[face] = made
    waiting.check()
    drawings = {face: made.drawing for face, made in elevations.items()}
    wishes = with_drawn_bands(wishes, elevations)
    return job, plan_survey(job, answer.results, wishes, drawings=drawings)


def show_cards(opened: OpenSurvey, answer: Answer, waiting: Waiting) -> dict[str, Any]:
    """Lay the parts out and tell the sheets as SVG; skins are left blank, which is quicker."""
    from measure.export.svg import svg_from_sheet
    from measure.parts.axonometric import svg_of_assembled

    _, plan = plan_of(opened, answer, waiting)
    correction = correction_from_bars(plan.shell.wishes.printed_bars)
    laid, parts = lay_parts(plan, correction, waiting.report, None)
    waiting.check()
    pinned = {(pin.mark, pin.copy_number) for pin in plan.shell.wishes.pinned}
    gaps = [said_of(seam) for seam in seams_of(plan) if not seam.closes]
    seen = [caution for each in laid for caution in each.cautions]
    cautions = tuple(dict.fromkeys([*plan.cautions, *gaps, *seen]))
    sheets = [
        {
            "name": f"Sheet {number}: {each.material.name}",
            "marks": list(each.marks),
            "svg": svg_from_sheet(corrected_sheet(each.sheet, correction)).decode(),
            "material": each.material.key,
            "number": each.number,
            "paper_mm": [each.sheet.paper.width_mm, each.sheet.paper.height_mm],
            "area_mm": [
                each.area.left_mm,
                each.area.bottom_mm,
                each.area.width_mm,
                each.area.height_mm,
            ],
            "parts": [_tell_part(one, pinned) for one in each.parts],
        }
        for number, each in enumerate(laid, start=1)
    ]
    by_material = Counter(each.material.name for each in laid)
    return {
        "sheets": [
            {
                "name": "Put together",
                "marks": [],
                "parts": [],
                "svg": svg_of_assembled(plan).decode(),
            },
            *sheets,
        ],
        "spacing_mm": plan.shell.wishes.spacing_mm,
        "correction": [correction.across, correction.up],
        "parts": sum(part.count for part in parts),
        "materials": [{"name": name, "sheets": count} for name, count in by_material.items()],
        "cautions": list(cautions),
        "build_order": build_order_text(replace(plan, cautions=cautions), parts),
        "faces": [face.id for face in plan.shell.faces],
    }


def _tell_part(laid: LaidPart, pinned: set[tuple[str, int]]) -> dict[str, Any]:
    """A part on its sheet: its place, its outline from its own lower left corner, its turns."""
    own = affinity.translate(laid.shape, -laid.left_mm, -laid.bottom_mm).simplify(OUTLINE_MM)
    rings = [each.exterior.coords for each in shapely.get_parts(own)]
    return {
        "mark": laid.part.mark,
        "copy_number": laid.copy_number,
        "name": laid.part.name,
        "left_mm": laid.left_mm,
        "bottom_mm": laid.bottom_mm,
        "quarters": laid.quarters,
        "turns": turns_of(laid.part),
        "pinned": (laid.part.mark, laid.copy_number) in pinned,
        "outline_mm": [[[round(x, 3), round(y, 3)] for x, y in ring] for ring in rings],
    }


def pack_cards(opened: OpenSurvey, answer: Answer, waiting: Waiting) -> tuple[str, bytes]:
    """Write every file of the model into one archive; gives its name and bytes."""
    job, plan = plan_of(opened, answer, waiting)
    date = dt.date.today()
    made = make_card_files(plan, date, waiting.report, photo_of_survey(job))
    waiting.check()
    stem = safe_stem(answer.survey.title or opened.path.name.split(".")[0])
    return f"{stem}-card.zip", archive_of(made.files, date)


def list_materials(wishes: CardWishes | None) -> list[dict[str, Any]]:
    """Sheet materials to choose from, the user's own first."""
    own = own_materials(wishes) if wishes is not None else ()
    return [
        {
            "key": one.key,
            "name": one.name,
            "use": one.use,
            "thickness_mm": one.thickness_mm,
            "note": one.source,
        }
        for one in (*own, *read_materials())
    ]
