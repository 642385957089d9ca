"""From a shell to all its parts, with what is to be said of them."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from measure.elevation.drawing import Drawing
from measure.parts.face_shape import FaceShape, RoundPlan
from measure.parts.folded import folded_groups, folded_part
from measure.parts.measured_faces import (
    drawing_left_mm,
    face_shape,
    faces_to_cut,
    shape_from_drawing,
)
from measure.parts.part import Part
from measure.parts.placed_faces import placed_together
from measure.parts.projections import band_parts, sill_parts, tower_band_parts
from measure.parts.reveals import (
    RevealPlan,
    film_parts,
    lined_ids,
    plan_reveals,
    reveal_cautions,
    reveal_parts,
)
from measure.parts.roofs import roof_parts
from measure.parts.shell import Shell, make_shell
from measure.parts.tabs import tab_cautions, with_tabs
from measure.parts.tower import backing_parts, course_parts, former_parts, wrap_part
from measure.parts.tower_plan import TowerPlan, plan_tower
from measure.parts.walls import find_thin_piers, layer_body, layer_openings, wall_part
from measure.results import Results
from measure.survey_job import SurveyJob
from shared.card_wishes import CardWishes
from shared.errors import FieldError
from shared.same_walls import same_walls
from shared.survey import RoofSurface


@dataclass(frozen=True, slots=True)
class CardPlan:
    """All parts of a model.

    Attributes
    ----------
    shell : Shell
    parts : tuple of Part
        In the order of their marks.
    reveals : dict of str to list of RevealPlan
        By face.
    towers : dict of str to TowerPlan
    cautions : tuple of str
        Whole sentences.
    """

    shell: Shell
    parts: tuple[Part, ...]
    reveals: dict[str, list[RevealPlan]]
    towers: dict[str, TowerPlan]
    cautions: tuple[str, ...]

    def part(self, mark: str) -> Part:
        """One part by its mark."""
        return next(part for part in self.parts if part.mark == mark)


def plan_survey(
    job: SurveyJob,
    results: Results,
    wishes: CardWishes,
    *,
    scale: str | None = None,
    drawings: Mapping[str, Drawing] | None = None,
) -> CardPlan:
    """Turn a measured survey into parts.

    Parameters
    ----------
    job : SurveyJob
    results : Results
    wishes : CardWishes
    scale : str, optional
        The survey's own by default.
    drawings : mapping of str to Drawing, optional
        Elevations by face, tidied or completed: their outlines and openings are cut then.

    Raises
    ------
    FieldError, UnderdeterminedError
        One sentence for what cannot be cut.
    """
    faces = []
    names = faces_to_cut(job.survey, wishes)
    roofs = [name for name in names if isinstance(job.face(name).surface, RoofSurface)]
    for name in names:
        if name in roofs:
            continue
        shape = face_shape(job, results, name, wishes)
        if drawings is not None and name in drawings:
            left = drawing_left_mm(job, results, name)
            shape = shape_from_drawing(drawings[name], shape, wishes.of_face(name).extent, left)
        faces.append(shape)
    if not faces:
        raise FieldError(
            "No wall is to be cut, and a roof alone holds nothing.",
            hint="Name the wall that it stands on as well.",
        )
    waiting = {face.id for face in job.survey.faces} - {face.id for face in faces}
    wishes = _without(wishes, waiting)
    placed, said = placed_together(
        faces,
        {face.id: face.photo for face in job.survey.faces},
        same_walls(job.survey.faces),
        results.placements,
    )
    shell = make_shell(job.survey.title, placed, job.denominator(scale), wishes)
    plan = plan_shell(shell)
    return replace(
        plan,
        parts=(*plan.parts, *roof_parts(job, results, shell, roofs)),
        cautions=(*said, *plan.cautions),
    )


def _without(wishes: CardWishes, waiting: set[str]) -> CardWishes:
    """Leave out what is wished for faces that are not cut this time, and towers' ties to them."""
    kept = {}
    for name, wish in wishes.by_face.items():
        if name in waiting:
            continue
        if wish.tower.meets in waiting:
            wish = wish.model_copy(update={"tower": wish.tower.model_copy(update={"meets": None})})
        kept[name] = wish
    return wishes.model_copy(update={"by_face": kept})


def plan_shell(shell: Shell) -> CardPlan:
    """Turn a shell into parts.

    Raises
    ------
    FieldError
        For an outline that crosses itself, and for what else cannot be cut.
    """
    for face in shell.faces:
        if not face.area.is_valid or face.area.area <= 0:
            raise FieldError(
                f"The outline of face {face.id} crosses itself, so nothing can be cut along it.",
                hint="Pick its corners in their order round the wall.",
            )
    parts: list[Part] = []
    cautions = list(shell.cautions)
    reveals = {face.id: plan_reveals(shell, face) for face in shell.faces}
    towers: dict[str, TowerPlan] = {}
    folded: dict[tuple[str, str], list[FaceShape]] = {}
    for layer in shell.workshop.layers:
        for group in folded_groups(shell, layer.role):
            for face in group:
                folded[layer.role, face.id] = group
    for face in shell.faces:
        marks = _marks(shell.letter(face.id))
        plans = reveals[face.id]
        cautions += reveal_cautions(shell, face, plans)
        carcass = shell.workshop.layer("carcass")
        holes = layer_openings(shell, face, carcass, lined_ids(plans))
        cautions += find_thin_piers(face, holes, carcass.thickness_mm, shell.denominator)
        if isinstance(face.plan, RoundPlan):
            tower = plan_tower(shell, face)
            towers[face.id] = tower
            cautions += tower.cautions
            parts += _tower_parts(shell, tower, plans, marks, cautions)
        else:
            cautions += tab_cautions(shell, face)
            parts += _wall_layers(shell, face, reveals, folded, marks)
        parts += reveal_parts(shell, face, plans, marks)
        parts += film_parts(shell, face, plans, marks)
        made, said = sill_parts(shell, face, marks)
        more, also = (
            tower_band_parts(shell, towers[face.id], marks)
            if face.id in towers
            else band_parts(shell, face, marks)
        )
        parts += [*made, *more]
        cautions += [*said, *also]
    for part in parts:
        if not any(line.closed and line.use == "cut" for line in part.lines):
            raise FieldError(
                f"Nothing is left of part {part.mark} ({part.name}) once its openings are cut.",
                hint="Check the outline of the face and the size of its openings.",
            )
    return CardPlan(shell, tuple(parts), reveals, towers, tuple(dict.fromkeys(cautions)))


def _marks(letter: str) -> Iterator[str]:
    return (f"{letter}{number}" for number in itertools.count(1))


def _wall_layers(
    shell: Shell,
    face: FaceShape,
    reveals: dict[str, list[RevealPlan]],
    folded: dict[tuple[str, str], list[FaceShape]],
    marks: Iterator[str],
) -> list[Part]:
    """Carcass, overlay and skin of one wall; a folded layer comes with its leftmost wall."""
    parts = []
    for layer in reversed(shell.workshop.layers):
        group = folded[layer.role, face.id]
        if group[0].id != face.id:
            continue
        mark = next(marks)
        bodies = [layer_body(shell, each, layer, lined_ids(reveals[each.id])) for each in group]
        if len(group) == 1:
            body, folds = with_tabs(shell, bodies[0], mark)
            parts.append(wall_part(shell, body, mark, folds))
        else:
            letters = "".join(shell.letter(each.id) for each in group)
            parts.append(folded_part(shell, bodies, letters + mark[len(shell.letter(face.id)) :]))
    return parts


def _tower_parts(
    shell: Shell,
    tower: TowerPlan,
    plans: list[RevealPlan],
    marks: Iterator[str],
    cautions: list[str],
) -> list[Part]:
    parts = []
    courses, said = course_parts(shell, tower, itertools.repeat("?"))
    if said:
        cautions.append(said)
    for layer in reversed(shell.workshop.layers):
        if layer.role == "overlay" and courses:
            parts += course_parts(shell, tower, marks)[0]
            continue
        parts.append(wrap_part(shell, tower, layer, lined_ids(plans), next(marks)))
    parts += former_parts(shell, tower, marks)
    parts += backing_parts(shell, tower, marks)
    return [replace(part, count=max(part.count, 1)) for part in parts]
