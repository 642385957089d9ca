"""Several photos of one building in one adjustment, tied by what is the same in them.

Each photo is solved alone first. Then all conditions of all photos, and those of the ties, are
solved together: one camera for each photo, one placement of each photo in the frame of the
first, and the points in space. Where the ties contradict the photos, the photos stay as they
are, and a sentence says what does not fit.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np
from scipy import sparse

from rectify.placements import U_FLAT_MM, U_FLAT_RAD, Placement
from rectify.solution import Solution
from rectify.solving.adjusted import Adjusted, Conditions
from rectify.solving.least_squares import solve_conditions
from rectify.solving.observations import Role, Sheet
from rectify.solving.sheet_conditions import Linearise, linearised
from rectify.solving.unknowns import Unknowns
from rectify.ties.conditions import JoinedTie, SameWall, TieRows
from rectify.ties.part_adjusted import part_of
from shared.jets import Array, Jet
from shared.survey import Tie

#: Placements and points in space are held by nothing but the ties; these keep one that the
#: ties leave open from wandering (millimetres, radians).
U_WIDE_MM, U_WIDE_RAD = 1e6, 3.0

#: Up to this many conditions a dense matrix is quicker than a sparse one.
SMALL = 240


@dataclass(frozen=True)
class JointState:
    """All photos' unknowns, then placements (turn, x, y, z each), then points (u, v, back)."""

    parts: tuple[Unknowns, ...]
    extra: Array
    extra_prior: Array

    @cached_property
    def starts(self) -> list[int]:
        """Where each photo's unknowns start; last, where `extra` does."""
        counts = np.cumsum([0, *(len(part.names) for part in self.parts)])
        return [int(count) for count in counts]

    def unknown(self, at: int, count: int) -> Jet:
        """One of `extra` as a jet over `count` variables, all unknowns first."""
        unit = np.zeros(count)
        unit[self.starts[-1] + at] = 1.0
        return Jet(self.extra[at], unit)

    def placements(self, count: int) -> list[Placement]:
        """Where each photo stands in the frame of the first, as jets over `count` variables."""
        out = [Placement(0.0, 0.0, 0.0, 0.0)]
        for photo in range(len(self.parts) - 1):
            turn, x, y, z = (self.unknown(4 * photo + i, count) for i in range(4))
            out.append(Placement(turn, x, y, z))
        return out

    def stepped(self, step: Array) -> JointState:
        """Step away."""
        at, parts = 0, []
        for part in self.parts:
            parts.append(part.stepped(step[at : at + len(part.names)]))
            at += len(part.names)
        return replace(self, parts=tuple(parts), extra=self.extra + step[at:])

    def begun_at(self, near: JointState) -> JointState:
        """The same problem begun where another came to rest, if that is laid out alike."""
        if len(near.extra) != len(self.extra):
            return self
        pairs = list(zip(self.parts, near.parts, strict=True))
        if any(own.names != at.names or own.shapes != at.shapes for own, at in pairs):
            return self
        parts = tuple(replace(at, prior=own.prior, fixed=own.fixed) for own, at in pairs)
        return replace(self, parts=parts, extra=near.extra)

    def distance_from_prior(self) -> Array:
        """Values minus prior values."""
        own = [part.distance_from_prior() for part in self.parts]
        return np.concatenate([*own, self.extra - self.extra_prior])


@dataclass(frozen=True)
class JointProblem:
    """What is solved together.

    Parameters
    ----------
    solutions : tuple of Solution
        Of each photo alone; the first is the reference.
    sheets : tuple of Sheet
        Their observations, with the picks of the ties entered.
    ties : tuple of JoinedTie
    walls : tuple of SameWall
    """

    solutions: tuple[Solution, ...]
    sheets: tuple[Sheet, ...]
    ties: tuple[JoinedTie, ...]
    walls: tuple[SameWall, ...]

    @cached_property
    def _linearised(self) -> tuple[Linearise, ...]:
        return tuple(linearised(sheet) for sheet in self.sheets)

    @property
    def observation_slices(self) -> list[slice]:
        """Where each photo's observations stand; those of the walls come last."""
        ends = np.cumsum([0, *(len(sheet.observed) for sheet in self.sheets)])
        return [slice(int(a), int(b)) for a, b in pairwise(ends)]

    @property
    def observed(self) -> Array:
        """All observations."""
        flat = np.zeros(2 * len(self.walls))
        return np.concatenate([*(sheet.observed for sheet in self.sheets), flat])

    @property
    def u_observed(self) -> Array:
        """Their ±."""
        flat = np.tile([U_FLAT_RAD, U_FLAT_MM], len(self.walls))
        return np.concatenate([*(sheet.u_observed for sheet in self.sheets), flat])

    def linearise(self, state: JointState, observations: Array) -> Conditions:
        """Conditions of all photos and all ties."""
        parts: list[Conditions] = []
        for linearise, own, at in zip(
            self._linearised, state.parts, self.observation_slices, strict=True
        ):
            parts.append(linearise(own, observations[at]))
        ties = self._tie_conditions(state, observations)
        count = state.starts[-1] + len(state.extra)
        blocks, at_unknown = [], 0
        for part in parts:
            width = part.jac_unknowns.shape[1]
            block = np.zeros((len(part.value), count))
            block[:, at_unknown : at_unknown + width] = part.jac_unknowns
            blocks.append(block)
            at_unknown += width
        rest = len(observations) - sum(p.jac_observations.shape[1] for p in parts)
        pictured = sparse.block_diag(
            [*(sparse.csr_array(p.jac_observations) for p in parts), sparse.csr_array((0, rest))]
        )
        jac_observations = sparse.vstack([pictured, sparse.csr_array(ties.jac_observations)])
        value = np.concatenate([*(part.value for part in parts), ties.value])
        small = len(value) <= SMALL
        return Conditions(
            value=value,
            jac_unknowns=np.concatenate([*blocks, ties.jac_unknowns]),
            jac_observations=jac_observations.toarray() if small else jac_observations.tocsr(),
        )

    def _tie_conditions(self, state: JointState, observations: Array) -> Conditions:
        slices = self.observation_slices
        picks = [
            observations[at][: 2 * len(sheet.picks_px)].reshape(-1, 2)
            for at, sheet in zip(slices, self.sheets, strict=True)
        ]
        size = state.starts[-1] + len(state.extra)
        ends = [end for tie in self.ties for end in tie.ends]
        wide = size + 2 * len(ends)
        rows = TieRows(state.parts, state.starts, state.placements(wide), picks, size, ends)
        jets: list[Jet] = []
        first = 0
        for tie in self.ties:
            here = list(range(first, first + len(tie.ends)))
            first += len(tie.ends)
            jets += _rows_of_tie(tie, here, rows, lambda at: state.unknown(at, wide))
        scalars: list[tuple[int, int]] = []
        for number, wall in enumerate(self.walls):
            scalars += [(len(jets) + i, 2 * number + i) for i in (0, 1)]
            jets += _rows_of_wall(wall, rows)
        gradient = np.stack([jet.gradient for jet in jets]) if jets else np.zeros((0, wide))
        value = np.array([float(jet.value) for jet in jets])
        jac = np.zeros((len(jets), len(observations)))
        for at, end in enumerate(ends):
            column = slices[end.photo].start + 2 * end.pick
            jac[:, column : column + 2] += gradient[:, size + 2 * at : size + 2 * at + 2]
        for row, scalar in scalars:
            column = len(observations) - 2 * len(self.walls) + scalar
            value[row] -= observations[column]
            jac[row, column] = -1.0
        return Conditions(value, gradient[:, :size], jac)

    def solve(self, start: JointState, prior_weight: Array, *, rough: bool = False) -> Adjusted:
        """Solve all together; `rough` as in `rectify.solving.least_squares`."""
        return solve_conditions(
            self.linearise, start, self.observed, self.u_observed, prior_weight, rough=rough
        )

    def part(self, whole: Adjusted, number: int) -> Adjusted:
        """One photo's share."""
        state: JointState = whole.state
        start = sum(len(part.names) for part in state.parts[:number])
        own = state.parts[number]
        at = self.observation_slices[number]
        conditions = self._linearised[number](own, whole.adjusted[at])
        return part_of(whole, own, conditions, slice(start, start + len(own.names)), at)

    def solution(self, whole: Adjusted, number: int) -> Solution:
        """One photo as all photos together have it."""

        def solve(start: Unknowns, prior_weight: Array) -> Adjusted:
            state: JointState = whole.state
            parts = [*state.parts]
            parts[number] = start
            weight = whole.prior_weight.copy()
            at = sum(len(part.names) for part in state.parts[:number])
            weight[at : at + len(prior_weight)] = prior_weight
            again = self.solve(replace(state, parts=tuple(parts)), weight)
            return self.part(again, number)

        return replace(
            self.solutions[number],
            sheet=self.sheets[number],
            adjusted=self.part(whole, number),
            solve=solve,
        )


def _rows_of_tie(
    tie: JoinedTie, here: Sequence[int], rows: TieRows, unknown: Callable[[int], Jet]
) -> list[Jet]:
    if tie.kind == "space":
        numbers = [unknown(tie.unknown + i) for i in range(3)]
        point = rows.chart_point(tie.ends[0].photo, tie.ends[0].face, numbers)
        return [miss for end in here for miss in rows.misses(end, point)]
    first, *others = (rows.point(end) for end in here)
    out: list[Jet] = []
    for other in others:
        dx, dy, dz = (other[i] - first[i] for i in range(3))
        if tie.kind in ("level", "point"):
            out.append(dy)
        if tie.kind in ("plumb", "point"):
            if tie.along_wall:
                x, z, _ = rows.wall(tie.ends[0].photo, tie.ends[0].face)
                out.append(dx * x + dz * z)
            else:
                out += [dx, dz]
    return out


def _rows_of_wall(wall: SameWall, rows: TieRows) -> list[Jet]:
    x, z, origin = rows.wall(*wall.first)
    x2, z2, origin2 = rows.wall(*wall.second)
    away = (origin2[2] - origin[2]) * x - (origin2[0] - origin[0]) * z
    return [x * z2 - z * x2, away]


def with_tie_picks(
    sheet: Sheet, photo: str, ties: Sequence[Tie], photo_of: Mapping[str, str]
) -> tuple[Sheet, dict[tuple[str, int], int]]:
    """Copy a sheet and enter the picks of the ties; also which pick each end is."""
    copy = replace(
        sheet,
        pick_index=dict(sheet.pick_index),
        picks_px=list(sheet.picks_px),
        u_px=list(sheet.u_px),
        roles=[list(roles) for roles in sheet.roles],
        sizes=list(sheet.sizes),
        sights=dict(sheet.sights),
    )
    entered: dict[tuple[str, int], int] = {}
    for tie in ties:
        for number, end in enumerate(tie.at):
            if photo_of[end.face] == photo:
                role = Role(end.face, f"the tie '{tie.id}'", "")
                entered[tie.id, number] = copy.pick(end.at, role)
    return copy, entered
