"""Which photos are tied, how they start, and whether what they say agrees."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from rectify.camera import ray_from_photo_px
from rectify.placements import Placement, SeenEnd, seen_ends, start_placement, start_scale
from rectify.solution import Solution
from rectify.solving.adjusted import Adjusted
from rectify.starts.first_state import multiplied
from rectify.surfaces import Plane
from rectify.ties.conditions import End, JoinedTie, SameWall
from rectify.ties.disagreement import disagreement
from rectify.ties.tied import (
    U_WIDE_MM,
    U_WIDE_RAD,
    JointProblem,
    JointState,
    with_tie_picks,
)
from shared.errors import FieldError, GeometryError
from shared.jets import Array, value_of
from shared.same_walls import same_walls
from shared.survey import Face, Tie, WallSurface

#: A photo whose turn or shift is known no better has no place in plan.
MOST_TURN_RAD, MOST_SHIFT_MM = 0.2, 2000.0


@dataclass(frozen=True, slots=True)
class SpacePoint:
    """A point off the faces, located where its rays meet.

    Parameters
    ----------
    face : str
        On whose chart it is told.
    u_mm, v_mm, set_back_mm : float
        Along, up, and how far behind that face; negative before it.
    cov_mm2 : ndarray, shape (3, 3)
    cov_unknowns : ndarray, shape (3, p)
        With the unknowns of the photo of that face.
    """

    face: str
    u_mm: float
    v_mm: float
    set_back_mm: float
    cov_mm2: Array
    cov_unknowns: Array


@dataclass
class Tied:
    """What tying gave.

    Parameters
    ----------
    solutions : dict of photo to Solution
        Together where they agree, else as they were.
    placements : dict of photo to (reference, Placement)
        Of photos that are placed in the frame of another.
    points : dict of tie to SpacePoint
    warnings : dict of photo to list of str
    states : dict of tuple of photos to JointState
        Where those that were solved together came to rest.
    """

    solutions: dict[str, Solution]
    placements: dict[str, tuple[str, Placement]] = field(default_factory=dict)
    points: dict[str, SpacePoint] = field(default_factory=dict)
    warnings: dict[str, list[str]] = field(default_factory=dict)
    states: dict[tuple[str, ...], JointState] = field(default_factory=dict)

    def warn(self, photos: Sequence[str], sentence: str) -> None:
        """Add a sentence to some photos."""
        for photo in photos:
            self.warnings.setdefault(photo, []).append(sentence)


def tie_photos(
    faces: Sequence[Face],
    ties: Sequence[Tie],
    solutions: Mapping[str, Solution],
    *,
    near: Tied | None = None,
) -> Tied:
    """Solve photos together that are tied to each other.

    Parameters
    ----------
    faces : sequence of Face
        Those that are placed; a tie to any other is left out.
    ties : sequence of Tie
    solutions : mapping of photo to Solution
        Of each photo by itself.
    near : Tied, optional
        What tying nearly the same picks gave, to start from while one of them is being dragged;
        the search then stops within a twentieth of each unknown's ± of the minimum.

    Returns
    -------
    Tied

    Raises
    ------
    FieldError
        For a wall that is said to be the same as a tower, or a tie that cannot be.
    """
    out = Tied(dict(solutions))
    by_id = {face.id: face for face in faces}
    photo_of = {face.id: face.photo for face in faces}
    pairs = [(by_id[face.same_as], face) for face in faces if face.same_as in by_id]
    for one, other in pairs:
        for face in (one, other):
            if not isinstance(face.surface, WallSurface):
                raise FieldError(
                    f"Face '{other.id}' is said to be the same as '{one.id}', but '{face.id}' is "
                    "no wall.",
                    hint="Tie towers and roofs by levels and points.",
                    details={"face": other.id},
                )
    ties = [tie for tie in ties if all(photo_of.get(end.face) in solutions for end in tie.at)]
    pairs = [pair for pair in pairs if all(face.photo in solutions for face in pair)]
    for tie in ties:
        if tie.kind == "space" and not isinstance(by_id[tie.at[0].face].surface, WallSurface):
            raise FieldError(
                f"Tie '{tie.id}' tells a point in space on '{tie.at[0].face}', which is no wall.",
                hint="Let its first pick name a wall; how far behind it the point lies is told.",
                details={"tie": tie.id},
            )
    for group in _groups(list(solutions), ties, photo_of):
        _tie_group(group, ties, pairs, photo_of, out, near)
    return out


def _groups(
    photos: Sequence[str],
    ties: Sequence[Tie],
    photo_of: Mapping[str, str],
) -> list[list[str]]:
    """Photos that hang together, in the order of the survey."""
    joined = [{photo_of[end.face] for end in tie.at} for tie in ties]
    groups: list[set[str]] = [{photo} for photo in photos]
    for share in joined:
        touched = [group for group in groups if group & share]
        groups = [group for group in groups if not group & share]
        groups.append(set().union(*touched))
    return [[p for p in photos if p in group] for group in groups if len(group) > 1]


def _tie_group(
    group: list[str],
    ties: Sequence[Tie],
    pairs: Sequence[tuple[Face, Face]],
    photo_of: Mapping[str, str],
    out: Tied,
    near: Tied | None,
) -> None:
    group = sorted(group, key=lambda photo: not out.solutions[photo].scaled)
    reference = group[0]
    ends = seen_ends(ties, photo_of, out.solutions)
    started: dict[str, Solution] = {reference: out.solutions[reference]}
    placed = {reference: Placement(0.0, 0.0, 0.0, 0.0)}
    for photo in group[1:]:
        solution = out.solutions[photo]
        if out.solutions[reference].scaled and not solution.scaled:
            factor = start_scale(ends, ties, reference, photo)
            if factor is None:
                out.warn(
                    [photo],
                    f"Photo '{photo}' has no known size, and its ties to '{reference}' carry none "
                    "over: tie two levels or two points.",
                )
                continue
            solution = _rescaled(solution, factor)
            ends = {**ends, **_scaled_ends(ends, photo, factor)}
        started[photo] = solution
        own = [
            pair if pair[1].photo == photo else (pair[1], pair[0])
            for pair in pairs
            if {pair[0].photo, pair[1].photo} <= {*placed, photo}
            and photo in (pair[0].photo, pair[1].photo)
        ]
        placed[photo] = start_placement(ends, ties, own, placed, started, photo)
    if len(started) < 2:
        return
    mine = [tie for tie in ties if all(photo_of[end.face] in started for end in tie.at)]
    walls = [pair for pair in pairs if all(face.photo in started for face in pair)]
    problem, state, weight = _laid_out(list(started), started, placed, mine, walls, photo_of)
    names = " and ".join(f"'{photo}'" for photo in started)
    try:
        begin = near.states.get(tuple(started)) if near else None
        whole = _settled(problem, state, weight, begin)
    except GeometryError:
        out.warn(
            list(started),
            f"Photos {names} do not settle together, so each is measured by itself: say which of "
            "their faces are the same wall, and check their ties.",
        )
        return
    out.states[tuple(started)] = whole.state
    said = disagreement(problem, whole)
    if said:
        out.warn(
            list(started),
            f"Photos {names} disagree: {said} Each is measured by itself until that is put right.",
        )
        return
    _adopt(problem, whole, list(started), mine, out)


def _settled(
    problem: JointProblem, state: JointState, weight: Array, near: JointState | None
) -> Adjusted:
    if near is not None:
        try:
            return problem.solve(state.begun_at(near), weight, rough=True)
        except GeometryError:
            pass
    return problem.solve(state, weight)


def _scaled_ends(
    ends: Mapping[str, list[SeenEnd]], photo: str, factor: float
) -> dict[str, list[SeenEnd]]:
    return {
        tie: [
            replace(end, point_mm=end.point_mm * factor) if end.photo == photo else end
            for end in of_tie
        ]
        for tie, of_tie in ends.items()
    }


def _rescaled(solution: Solution, factor: float) -> Solution:
    """Free the scale of a photo without known sizes, started `factor` times larger."""
    state = solution.unknowns
    reach = (solution.photo.id, "log_reach")
    fixed = {name: value for name, value in state.fixed.items() if name != reach}
    freed = multiplied(state.relaid((*state.names, reach), fixed), factor)
    weight = np.append(solution.adjusted.prior_weight, 0.0)
    return replace(solution, adjusted=replace(solution.adjusted, state=freed, prior_weight=weight))


def _laid_out(
    photos: list[str],
    started: Mapping[str, Solution],
    placed: Mapping[str, Placement],
    ties: Sequence[Tie],
    pairs: Sequence[tuple[Face, Face]],
    photo_of: Mapping[str, str],
) -> tuple[JointProblem, JointState, Array]:
    sheets, entered = [], {}
    for photo in photos:
        sheet, index = with_tie_picks(started[photo].sheet, photo, ties, photo_of)
        sheets.append(sheet)
        entered.update(index)
    number = {photo: at for at, photo in enumerate(photos)}
    places = [placed[photo] for photo in photos[1:]]
    extra = [float(n) for p in places for n in (p.turn_rad, p.x_mm, p.y_mm, p.z_mm)]
    names = same_walls(face for pair in pairs for face in pair)
    joined = []
    for tie in ties:
        ends = tuple(
            End(number[photo_of[end.face]], end.face, entered[tie.id, at])
            for at, end in enumerate(tie.at)
        )
        along = len({names.get(end.face, (end.face,))[0] for end in tie.at}) == 1
        unknown = len(extra) if tie.kind == "space" else -1
        joined.append(JoinedTie(tie.id, tie.kind, ends, along, unknown))
        if tie.kind == "space":
            extra += _start_point(tie, photo_of, started, placed)
    walls = tuple(
        SameWall((number[one.photo], one.id), (number[other.photo], other.id))
        for one, other in pairs
    )
    solutions = tuple(started[photo] for photo in photos)
    problem = JointProblem(solutions, tuple(sheets), tuple(joined), walls)
    values = np.array(extra)
    state = JointState(tuple(s.unknowns for s in solutions), values, values.copy())
    u_extra = [U_WIDE_RAD, U_WIDE_MM, U_WIDE_MM, U_WIDE_MM] * len(places)
    u_extra += [U_WIDE_MM] * (len(values) - len(u_extra))
    own = [solution.adjusted.prior_weight for solution in solutions]
    return problem, state, np.concatenate([*own, 1.0 / np.array(u_extra) ** 2])


def _start_point(
    tie: Tie,
    photo_of: Mapping[str, str],
    started: Mapping[str, Solution],
    placed: Mapping[str, Placement],
) -> list[float]:
    """Where the rays of a point in space come nearest to each other, on its first face."""
    normal, right = np.zeros((3, 3)), np.zeros(3)
    for end in tie.at:
        photo = photo_of[end.face]
        camera, pose = started[photo].camera_and_pose
        ray = ray_from_photo_px(camera, pose, end.at.x, end.at.y)
        place = placed[photo]
        centre = np.array([float(value_of(n)) for n in place.to_reference(pose.centre_mm)])
        turned = Placement(place.turn_rad, 0.0, 0.0, 0.0).to_reference(ray)
        d = np.array([float(value_of(n)) for n in turned])
        across = np.eye(3) - np.outer(d, d) / (d @ d)
        normal += across
        right += across @ centre
    at = np.linalg.lstsq(normal, right, rcond=None)[0]
    first = tie.at[0].face
    photo = photo_of[first]
    here = placed[photo].from_reference((float(at[0]), float(at[1]), float(at[2])))
    wall = started[photo].surface(first)
    if not isinstance(wall, Plane):
        raise TypeError(f"face {first} is not a wall")
    gap = np.array(
        [float(h) - float(value_of(o)) for h, o in zip(here, wall.origin_mm, strict=True)]
    )
    along, up, out = (
        np.array([float(value_of(n)) for n in v]) for v in (wall.along, wall.up, wall.outward)
    )
    return [float(gap @ along), float(gap @ up), float(-gap @ out)]


def _adopt(
    problem: JointProblem,
    whole: Adjusted,
    photos: list[str],
    ties: Sequence[Tie],
    out: Tied,
) -> None:
    state: JointState = whole.state
    starts, base = state.starts, state.starts[-1]
    u_extra = whole.misfit * np.sqrt(np.maximum(np.diag(whole.cov_unknowns)[base:], 0.0))
    for number, photo in enumerate(photos):
        out.solutions[photo] = problem.solution(whole, number)
        at = 4 * (number - 1)
        values = state.extra[at : at + 4] if number else np.zeros(4)
        u = u_extra[at : at + 4] if number else np.zeros(4)
        # a photo that is tied by levels alone has no place in plan
        if u[0] < MOST_TURN_RAD and max(u[1], u[3]) < MOST_SHIFT_MM:
            turn, x, y, z = (float(n) for n in values)
            out.placements[photo] = (photos[0], Placement(turn, x, y, z))
    by_face = {face: n for n, part in enumerate(state.parts) for face in part.shapes}
    for tie, joined in zip(ties, problem.ties, strict=True):
        if joined.unknown < 0:
            continue
        at = base + joined.unknown
        along, up, back = (float(n) for n in state.extra[joined.unknown : joined.unknown + 3])
        cov = whole.cov_unknowns[at : at + 3] * whole.misfit**2
        own = by_face[tie.at[0].face]
        out.points[tie.id] = SpacePoint(
            tie.at[0].face,
            along,
            up,
            back,
            cov[:, at : at + 3],
            cov[:, starts[own] : starts[own + 1]],
        )
