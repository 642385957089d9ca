"""All faces of one photo in one weighted least-squares adjustment."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from rectify.camera import CameraPrior, make_camera_prior, u_k2_beside
from rectify.solution import PhotoFacts, Solution
from rectify.solving.adjusted import Adjusted
from rectify.solving.focal_spread import Solve
from rectify.solving.least_squares import solve_conditions
from rectify.solving.observations import Sheet, add_face, add_openings
from rectify.solving.sheet_conditions import linearised
from rectify.solving.snooping import Finding, contradicted, log_chance
from rectify.solving.solved_faces import check_faces_stand
from rectify.solving.unknowns import FaceShape, Name, Unknowns
from rectify.starts.bent import bent_start, shows_bend
from rectify.starts.faces import enter_surface, face_shapes, gives_size
from rectify.starts.first_state import lay_out_unknowns, make_first_state
from shared.errors import GeometryError, NotConvergedError
from shared.jets import Array
from shared.survey import Face

#: Prior of k1 for such a lens: any that is sold (judgement).
U_K1_FREE = 0.4


def solve_photo(
    photo: PhotoFacts,
    faces: Sequence[Face],
    *,
    prior: CameraPrior | None = None,
    near: Solution | None = None,
) -> Solution:
    """Solve one photo: its camera, and every face picked in it.

    Parameters
    ----------
    photo : PhotoFacts
    faces : sequence of Face
        Those of this photo; the first wall without a hinge is the main wall.
    prior : CameraPrior, optional
        What is believed of the camera; by default from size and focal length.
    near : Solution, optional
        A solution of nearly the same picks, to start from while one of them is being dragged.
        The search then stops within a twentieth of each unknown's ± of the minimum. Where it
        does not fit these faces or leads nowhere, it is not used.

    Returns
    -------
    Solution

    Raises
    ------
    DegenerateError, FieldError
        For picks that cannot be what they are said to be.
    UnderdeterminedError
        If a face lacks what it takes to place it.
    DegenerateError
        If faces come out as no building can have them.
    NotConvergedError
        If no camera fits the picks.
    """
    prior = prior or make_camera_prior(
        photo.width_px, photo.height_px, photo.focal_35mm, cropped=photo.cropped
    )
    job = _Job(photo, faces, face_shapes(photo.id, faces), near)
    tried = _first_tried(job, prior)
    while True:
        findings = contradicted(tried.adjusted, tried.sheet.candidates())
        freed = None if tried.bends else _freed_lens(job, tried, findings)
        if freed is not None:
            tried = freed
            continue
        worst = _contradicted_openings(tried.sheet, findings)
        if not worst:
            solution = Solution(
                photo,
                tried.prior,
                tried.sheet,
                tried.adjusted,
                tried.solve,
                tuple(findings),
                tuple(sorted(tried.left_out)),
            )
            check_faces_stand(solution)
            return solution
        tried = job.solved(tried.prior, tried.left_out | worst, tried.adjusted.state)


@dataclass(frozen=True, slots=True)
class _Tried:
    """One solution on the way: what was believed and left out, and what came of it."""

    prior: CameraPrior
    left_out: frozenset[tuple[str, str]]
    sheet: Sheet
    solve: Solve
    adjusted: Adjusted

    @property
    def bends(self) -> bool:
        """Tell whether the lens is free to bend."""
        return self.prior.u_k2 > 0.0


@dataclass(frozen=True, slots=True)
class _Job:
    """What is to be solved: it stays the same while beliefs change."""

    photo: PhotoFacts
    faces: Sequence[Face]
    shapes: dict[str, FaceShape]
    near: Solution | None = None

    def first(self, prior: CameraPrior) -> _Tried:
        """Solve from the solution nearby if there is one that leads anywhere."""
        near = self.near
        if near is not None and near.photo == self.photo and near.unknowns.shapes == self.shapes:
            try:
                return self.solved(prior, state=near.unknowns)
            except (GeometryError, KeyError):
                pass
        return self.solved(prior)

    def solved(
        self,
        prior: CameraPrior,
        left_out: frozenset[tuple[str, str]] = frozenset(),
        state: Unknowns | None = None,
    ) -> _Tried:
        """Solve from `state`, or from a first guess.

        Where the openings keep it from settling they are all left out: the frame, the guides
        and the known sizes are what the user means to hold the camera by.
        """
        bends = prior.u_k2 > 0.0
        sheet, names, fixed = _gather(self.photo, self.faces, self.shapes, left_out, bends)
        if state is None:
            state = make_first_state(sheet, prior, self.faces, names, fixed, self.shapes)
        solve = _solver(self.photo.id, sheet, rough=self.near is not None)
        try:
            adjusted = solve(state.relaid(names, fixed), _prior_weight(self.photo.id, prior, names))
        except NotConvergedError as error:
            if sheet.openings:
                return self.solved(prior, left_out | sheet.openings.keys())
            raise self._blamed(error, prior, left_out) from error
        return _Tried(prior, left_out, sheet, solve, adjusted)

    def _blamed(
        self, error: NotConvergedError, prior: CameraPrior, left_out: frozenset[tuple[str, str]]
    ) -> NotConvergedError:
        """Name the tower without which the rest settles, if there is one."""
        leant_on = {shape.parent for shape in self.shapes.values()}
        for name, shape in self.shapes.items():
            if not shape.is_round or name in leant_on:
                continue
            rest = [face for face in self.faces if face.id != name]
            try:
                _Job(self.photo, rest, face_shapes(self.photo.id, rest)).solved(prior, left_out)
            except GeometryError:
                continue
            return NotConvergedError(
                f"Tower '{name}' does not settle: its outlines and the line where it meets the "
                "wall leave its size open.",
                hint="Give its radius, how far its axis lies behind the wall, or a known size on "
                "it, and check that its picks lie on its outlines.",
                details={"photo": self.photo.id, "face": name},
            )
        return error


def _first_tried(job: _Job, prior: CameraPrior) -> _Tried:
    """Solve as the camera is believed to be, or else with a lens that bends as lines show.

    A lens that bends much may keep the picks from settling; lines of three picks and more
    show by how much.
    """
    try:
        return job.first(prior)
    except NotConvergedError:
        sheet, names, fixed = _gather(job.photo, job.faces, job.shapes, frozenset(), bends=True)
        if not shows_bend(sheet):
            raise
        state = make_first_state(sheet, prior, job.faces, names, fixed, job.shapes)
        state = bent_start(sheet, prior, state)
        bend_1 = float(state.values[state.index(job.photo.id, "bend_1")])
        return job.solved(_freed(prior, bend_1), state=state)


def _freed(prior: CameraPrior, k1: float) -> CameraPrior:
    """Believe that the lens bends: any k1, and the k2 that goes with about this one."""
    return replace(prior, u_k1=U_K1_FREE, u_k2=u_k2_beside(k1))


def _freed_lens(job: _Job, tried: _Tried, findings: Sequence[Finding]) -> _Tried | None:
    """Solve with a lens free to bend, where that explains the picks better than a wrong pick.

    Asked only where the first radial term comes out far beyond what is believed of it.
    Freed, the second term goes with it, as far as it is believed to beside such a first.
    """
    at = tried.adjusted.state.index(job.photo.id, "bend_1")
    if abs(tried.adjusted.state.values[at]) <= tried.prior.most_k1:
        return None
    freed = tried
    try:
        # once more, as k2 is believed to go with the k1 of a lens that may bend
        for _ in range(2):
            prior = _freed(tried.prior, float(freed.adjusted.state.values[at]))
            freed = job.solved(prior, tried.left_out, freed.adjusted.state)
    except NotConvergedError:
        return None
    explained = tried.adjusted.chi_square - freed.adjusted.chi_square
    by_lens = float(log_chance(np.array(2), np.array(explained)))
    by_pick = findings[0].log_chance if findings else 0.0
    return freed if by_lens <= by_pick else None


def _gather(
    photo: PhotoFacts,
    faces: Sequence[Face],
    shapes: dict[str, FaceShape],
    left_out: frozenset[tuple[str, str]],
    bends: bool,
) -> tuple[Sheet, tuple[Name, ...], dict[Name, float]]:
    """Gather all observations and lay out the unknowns they need."""
    sheet = Sheet(photo.id, photo.width_px, photo.height_px, next(iter(shapes)))
    for face in faces:
        add_face(sheet, face)
    has_size = bool(sheet.sizes) or any(gives_size(face) for face in faces)
    names, fixed = lay_out_unknowns(photo.id, shapes, has_size, bends)
    for face in faces:
        enter_surface(sheet, face, names)
    add_openings(sheet, faces, left_out)
    return sheet, names, fixed


def _contradicted_openings(sheet: Sheet, findings: Sequence[Finding]) -> set[tuple[str, str]]:
    """Openings that come first among what the rest contradicts.

    They are asked to help hold the camera and may be left out; once something else comes
    first or may as well be wrong, a frame's corner or a known size, nothing may: the user
    must look at it.
    """
    out: set[tuple[str, str]] = set()
    for finding in findings:
        items = sheet.items_of(finding.candidate)
        blamed = items.union(*(sheet.items_of(rival) for rival in finding.rivals))
        if not items or not blamed <= sheet.openings.keys():
            break
        out |= items
    return out


def _prior_weight(photo: str, prior: CameraPrior, names: tuple[Name, ...]) -> Array:
    """One over variance of what is believed of each unknown, 0 for nothing."""
    u = {
        (photo, "log_focal"): prior.u_log_focal,
        (photo, "principal_x"): prior.u_principal_px[0],
        (photo, "principal_y"): prior.u_principal_px[1],
        (photo, "bend_1"): prior.u_k1,
        (photo, "bend_2"): prior.u_k2,
    }
    return np.array([1.0 / u[name] ** 2 if u.get(name) else 0.0 for name in names])


def _solver(photo: str, sheet: Sheet, *, rough: bool) -> Solve:
    """Make the function that solves these observations from a start, with given priors."""
    linearise = linearised(sheet)

    def solve(start: Unknowns, prior_weight: Array) -> Adjusted:
        try:
            return solve_conditions(
                linearise, start, sheet.observed, sheet.u_observed, prior_weight, rough=rough
            )
        except GeometryError as error:
            error.details.setdefault("photo", photo)
            raise

    return solve
