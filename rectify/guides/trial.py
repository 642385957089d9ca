"""Lines found in a photo put to the test: which agree with the rest, and whether they help.

Lines enter the adjustment as guides beside the user's picks. Those that the rest
contradicts are dropped. What is left must pass two trials: lines that were held back must
fit better than before, or as well as their ± says; and the user's own picks must not come
out worse than chance lets them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtri

from rectify.adjust import solve_photo
from rectify.guides.joining import PhotoLine, line_residuals_px
from rectify.guides.line_camera import PLUMB, U_OFF_TRUE_RAD, LineCamera
from rectify.solution import PhotoFacts, Solution
from shared.errors import GeometryError
from shared.jets import Array, value_of
from shared.survey import Face, Guide, LevelGuide, Pick, PlumbGuide

#: How far off a line is, is told by its sum of squares beside the one that chance exceeds so
#: rarely; a line further off than `MOST_OFF` is none. Held-out lines are typically no further
#: off than `TYPICAL_OFF`.
RARELY, MOST_OFF, TYPICAL_OFF = 0.001, 1.0, 0.5

#: Edges of one storey were set out and have settled together: so many lines of a direction
#: lean on their own, the rest with them (judgement).
INDEPENDENT_LEANS = 3.0

#: Rounds of dropping lines, and the share that may go in each.
ROUNDS, DROPPED_AT_ONCE = 5, 0.25

#: Share of one half of the lines that the other half may contradict; those are dropped.
MOST_WRONG = 0.4

#: Fewer lines than this in all are not worth a trial.
FEWEST_LINES = 4

#: The user's picks may come out this many times worse than their ± where nothing else checked
#: them (clicks are rougher than their makers think), and where they checked each other.
ROUGH_CLICKS, CHECKED_CLICKS = 4.0, 2.0

#: From so many more conditions than needed on, picks are taken to check each other.
CHECKED_FROM = 4

#: Chance of dropping sound lines for what the picks say.
CHANCE = 0.001


@dataclass(frozen=True, slots=True)
class Placed:
    """Where lines of each direction belong: the face that holds them as guides.

    Parameters
    ----------
    main : str
        The main wall; plumb lines go there too.
    wings : tuple of str
        Faces with headings of their own, in the order of directions after the first two.
    """

    main: str
    wings: tuple[str, ...]

    def face(self, direction: int) -> str:
        """Face that holds lines of a direction."""
        return self.main if direction < 2 else self.wings[direction - 2]


def lean_rad(lines: Sequence[PhotoLine], direction: int) -> float:
    """How far each line of a direction may lean, that all together say no more than they know."""
    count = sum(line.direction == direction for line in lines)
    return U_OFF_TRUE_RAD * math.sqrt(max(1.0, count / INDEPENDENT_LEANS))


def guide_of(line: PhotoLine, u_lean_rad: float) -> PlumbGuide | LevelGuide:
    """Write a line as a guide that is marked as found."""
    u_lean_deg = round(math.degrees(u_lean_rad), 3)
    picks = tuple(
        Pick(x=round(float(x), 2), y=round(float(y), 2), u_px=max(round(line.u_px, 2), 0.01))
        for x, y in line.points_px
    )
    if line.direction == PLUMB:
        return PlumbGuide(kind="plumb", at=picks, found=True, u_lean_deg=u_lean_deg)
    return LevelGuide(kind="level", at=picks, found=True, u_lean_deg=u_lean_deg)


def guides_by_face(lines: Sequence[PhotoLine], placed: Placed) -> dict[str, tuple[Guide, ...]]:
    """Write lines as guides of the faces they lie on."""
    out: dict[str, tuple[Guide, ...]] = {}
    for line in lines:
        face = placed.face(line.direction)
        out[face] = (*out.get(face, ()), guide_of(line, lean_rad(lines, line.direction)))
    return out


def with_guides(faces: Sequence[Face], lines: Sequence[PhotoLine], placed: Placed) -> list[Face]:
    """Faces with lines added to them as guides."""
    mine = guides_by_face(lines, placed)
    return [
        face.model_copy(update={"guides": face.guides + mine.get(face.id, ())}) for face in faces
    ]


def line_camera(solution: Solution, placed: Placed) -> LineCamera:
    """Take a solution as far as straight lines go."""
    state = solution.unknowns
    numbers = list(state.values)
    camera, pose = solution.camera_and_pose
    zoom2 = (float(camera.focal_px) / state.bend_focal_px) ** 2
    headings = [float(value_of(state.number(w, "heading", numbers))) for w in placed.wings]
    return LineCamera(
        np.array(
            [
                math.log(float(camera.focal_px)),
                *(float(part) for part in camera.principal_px),
                float(camera.k1) / zoom2,
                float(camera.k2) / zoom2**2,
            ]
        ),
        np.array(pose.rotation, dtype=float),
        tuple(headings),
        state.bend_focal_px,
    )


def line_off(camera: LineCamera, line: PhotoLine) -> float:
    """How far off its direction and out of straight a line is, 1 at `RARELY`; inf past the lens.

    Its points miss by their own ± and, along with each other, by its lean.
    """
    off = line_residuals_px(camera, line)
    place = np.hypot(*(line.points_px - line.points_px[0]).T)
    place = place - place.mean()
    var_px2 = line.u_px**2
    lean2 = U_OFF_TRUE_RAD**2 / (var_px2 + U_OFF_TRUE_RAD**2 * float(place @ place))
    squares = (float(off @ off) - lean2 * float(place @ off) ** 2) / var_px2
    limit = float(chdtri(len(off) - 1, RARELY))
    return squares / limit if math.isfinite(squares) else math.inf


def lines_off(solution: Solution, lines: Sequence[PhotoLine], placed: Placed) -> Array:
    """`line_off` of each line by a solution, shape (n,)."""
    camera = line_camera(solution, placed)
    return np.array([line_off(camera, line) for line in lines])


def lines_rms_px(solution: Solution, lines: Sequence[PhotoLine], placed: Placed) -> float:
    """Root mean square distance of the lines' points from true lines, in pixels."""
    camera = line_camera(solution, placed)
    off = np.concatenate([line_residuals_px(camera, line) for line in lines])
    off = off[np.isfinite(off)]
    return float(np.sqrt(np.mean(off**2))) if len(off) else 0.0


def agreeing_lines(
    photo: PhotoFacts, faces: Sequence[Face], lines: Sequence[PhotoLine], placed: Placed
) -> tuple[list[PhotoLine], Solution | None]:
    """Drop the lines that the rest contradicts, the worst first, and solve with what is left.

    Returns
    -------
    lines, solution
        No solution where too few lines are left or they settle to no camera.
    """
    kept, near = list(lines), None
    for _ in range(ROUNDS):
        if len(kept) < FEWEST_LINES:
            break
        try:
            solution = _solved(photo, with_guides(faces, kept, placed), near)
        except GeometryError:
            break
        off = lines_off(solution, kept, placed)
        wrong = np.flatnonzero(off > MOST_OFF)
        if len(wrong) == 0 and near is None:
            return kept, solution
        # solved once more as anyone would who has the guides before all is well
        near = solution if len(wrong) else None
        most = max(1, math.ceil(DROPPED_AT_ONCE * len(kept)))
        worst = set(wrong[np.argsort(-off[wrong])][:most].tolist())
        kept = [line for i, line in enumerate(kept) if i not in worst]
    return [], None


def _solved(photo: PhotoFacts, faces: Sequence[Face], near: Solution | None) -> Solution:
    """Solve, from a solution nearby and with what it believes of the lens if there is one."""
    if near is None:
        return solve_photo(photo, faces)
    return solve_photo(photo, faces, prior=near.prior, near=near)


def borne_out(
    before: Solution,
    after: Solution,
    faces: Sequence[Face],
    lines: Sequence[PhotoLine],
    placed: Placed,
) -> tuple[list[PhotoLine], str]:
    """Let each half of the lines say where the other half should lie.

    `before` and `after` are solutions without and with all of them.

    Returns
    -------
    lines, doubt
        Those that the other half bears out; and why none of them should be used, empty where
        they may be.
    """
    halves = _halves(lines)
    was, now, tried = [], [], []
    for half, other in (halves, halves[::-1]):
        try:
            solution = _solved(before.photo, with_guides(faces, half, placed), after)
        except GeometryError:
            continue
        was.append(lines_off(before, other, placed))
        now.append(lines_off(solution, other, placed))
        tried.append((half, other))
    if not tried:
        return [], "half of them do not settle to one camera"
    best = int(np.argmin([np.median(off) for off in now]))
    _, other = tried[best]
    typical, wrong = float(np.median(now[best])), now[best] > MOST_OFF
    if typical > max(float(np.median(was[best])), TYPICAL_OFF) or np.mean(wrong) > MOST_WRONG:
        return [], "half of them do not bear out the other half"
    if len(tried) == 2 and not wrong.any():
        rest = 1 - best
        wrong_rest = now[rest] > MOST_OFF
        if np.mean(wrong_rest) > MOST_WRONG or np.median(now[rest]) > TYPICAL_OFF:
            return [], "half of them do not bear out the other half"
    bad = {id(line) for line, off in zip(other, wrong, strict=True) if off}
    return [line for line in lines if id(line) not in bad], ""


def _halves(lines: Sequence[PhotoLine]) -> tuple[list[PhotoLine], list[PhotoLine]]:
    """Part lines in two that both cover the photo; the two edges of a band go together."""
    halves: tuple[list[PhotoLine], list[PhotoLine]] = ([], [])
    for direction in sorted({line.direction for line in lines}):
        mine = [line for line in lines if line.direction == direction]
        axis = 0 if direction == PLUMB else 1
        mine.sort(key=lambda line: float(line.points_px[:, axis].mean()))
        for i, line in enumerate(mine):
            halves[(i // 2) % 2].append(line)
    return halves


def picks_worse(before: Solution, after: Solution) -> str:
    """Say that the user's own picks fit worse than chance allows; empty where they do not."""
    was, now = own_squares(before, before), own_squares(before, after)
    freedom = len(after.unknowns.names)
    checked = before.redundancy >= CHECKED_FROM
    factor = CHECKED_CLICKS * before.adjusted.misfit if checked else ROUGH_CLICKS
    openings = len(before.left_out) + max(1, len(before.sheet.openings) // 10)
    if now - was <= factor**2 * float(chdtri(freedom, CHANCE)) and len(after.left_out) <= openings:
        return ""
    return "Straight edges were found, but they contradict your own picks"


def own_squares(before: Solution, solution: Solution) -> float:
    """Sum of squared standardised residuals of the picks and sizes that both solutions use."""
    mine = _in_both(before, solution)
    count = len(solution.sheet.picks_px)
    # known sizes stand behind the picks, in the same order
    which = [2 * at + k for at in mine for k in (0, 1)]
    which += [2 * count + i for i in range(len(solution.sheet.sizes))]
    adjusted = solution.adjusted
    return float(np.sum((adjusted.residuals[which] / adjusted.u_observed[which]) ** 2))


def _in_both(before: Solution, solution: Solution) -> list[int]:
    """Picks of `before` that the other solution uses too: it may leave out other openings."""
    index = solution.sheet.pick_index
    return [index[pick] for pick in before.sheet.picks_px if pick in index]


def own_rms_px(before: Solution, solution: Solution) -> float:
    """Root mean square residual of the user's picks, each coordinate by itself."""
    mine = _in_both(before, solution)
    return float(np.sqrt(np.mean(solution.residuals_px[mine] ** 2)))
