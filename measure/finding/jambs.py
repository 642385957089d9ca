"""Pairs of upright runs with a sill below and perhaps a lintel above: candidates."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from measure.finding.around import Around, Surroundings, thick
from measure.finding.edges import EdgeMaps, Runs
from measure.finding.picture import BoxMeans, Floats, WallPicture

Array = npt.NDArray[np.float64]

#: Narrowest and widest opening looked for, and the lowest.
NARROW_MM, WIDE_MM, LOW_MM = 380.0, 4200.0, 380.0

#: Both jambs are there over this part of the shorter run at least.
LEAST_OVERLAP = 0.55

#: Marks of a jamb may lie so far to either side of it.
JAMB_MM = 30.0

#: Part of a sill or a lintel that must show as an edge.
LEAST_ACROSS = 0.5

#: How far sill and lintel may lie from where the jambs end.
END_MM = 190.0

#: An opening is this much unlike wall inside; and there is this much wall beside it.
LEAST_INSIDE, LEAST_BESIDE = 0.35, 0.2

#: Or its sides are so like each other, and so unlike what is within (units of CIE L*a*b*).
MOST_UNALIKE, LEAST_APART = 12.0, 4.0

#: Part of the weaker jamb that must show as an edge.
LEAST_JAMB = 0.45

#: Candidates that differ by less are one.
TWINS_MM = 40.0

#: So many candidates are looked at closely with their middles in one place, and in all.
PLACE_MM, A_PLACE, MOST_CANDIDATES = 450.0, 8, 850

#: Weights of `outline_evidence` and the lintel, fitted as those of `measure.finding.clearness`.
PROMISE = {
    "constant": -4.88,
    "jambs": 1.01,
    "sill": 2.46,
    "inside": 2.04,
    "beside": 0.75,
    "inside and beside": -0.03,
    "uneven": -0.02,
    "unalike": -0.73,
    "apart": 0.90,
    "runs on": -4.10,
    "near": 1.49,
    "rim": 0.42,
    "step": 0.31,
    "wide": 0.88,
    "wide squared": -0.80,
    "slim": 1.80,
    "slim squared": -0.98,
    "lintel": 0.46,
}

#: What an arch that may be there counts for before it is looked for, as part of a lintel.
MAYBE_ARCHED = 0.9

#: So many pairs are looked at, and so many of them closed below and above.
MOST_PAIRS, MOST_CLOSED = 60_000, 3_000


@dataclass(frozen=True, slots=True, eq=False)
class Candidates(Around):
    """Rectangles, each a row of the arrays, in pixels of the picture (lines between pixels).

    With what lies within and around each.

    Attributes
    ----------
    box : ndarray, shape (n, 4)
        Left, top, right, bottom. The top is where the jambs end or a lintel begins.
    jambs, sill, lintel : ndarray, shape (n,)
        Part of each that shows as an edge; of the jambs the weaker.
    """

    box: Array
    jambs: Array
    sill: Array
    lintel: Array

    def joined(self, other: Candidates) -> Candidates:
        """These and others."""
        return Candidates(
            *(
                np.concatenate([getattr(self, field.name), getattr(other, field.name)])
                for field in fields(Candidates)
            )
        )

    def take(self, which: npt.NDArray[np.generic]) -> Candidates:
        """Some rows."""
        return Candidates(*(getattr(self, field.name)[which] for field in fields(Candidates)))


class Meter:
    """Measures rectangles of one picture: their sides, and what lies within and around them."""

    def __init__(self, picture: WallPicture, edges: EdgeMaps, like_wall: Floats) -> None:
        self.around = Surroundings(picture, edges, like_wall)
        self._across = BoxMeans(thick(edges.on_level, 1))
        self._jamb = BoxMeans(thick(edges.on_upright.T, picture.px(JAMB_MM, 1)).T)

    def jambs(self, box: Array) -> Array:
        """Part of the weaker jamb that shows as an edge."""
        left, top, right, low = box.T
        both = (self._jamb(x, top, x + 1, low) for x in (left, right))
        return np.nan_to_num(np.minimum(*both))

    def across(self, box: Array, rows: Array) -> Array:
        """Part of a row of each box that shows as an edge."""
        return np.nan_to_num(self._across(box[:, 0] + 2, rows, box[:, 2] - 2, rows + 1))

    def measure(self, box: Array, arched: Array) -> Candidates:
        """Measure boxes; `arched`, shape (n,), is 1 where a head may spring from the top."""
        seen = self.around.look(box)
        return Candidates(
            box=box,
            jambs=self.jambs(box),
            sill=self.across(box, box[:, 3]),
            # where the jambs end an arch may spring, and its edge is elsewhere
            lintel=np.maximum(self.across(box, box[:, 1]), MAYBE_ARCHED * arched),
            **{field.name: getattr(seen, field.name) for field in fields(Around)},
        )


def find_candidates(picture: WallPicture, edges: EdgeMaps, runs: Runs, meter: Meter) -> Candidates:
    """Pair up runs, and close each pair below and above; without those that cannot be."""
    left, right = _pairs(picture, runs)
    end, least = picture.px(END_MM, 6), picture.px(LOW_MM, 12)
    boxes: list[tuple[float, float, float, float, float]] = []
    x0, x1 = runs.x[left].astype(float), runs.x[right].astype(float)
    first = np.maximum(runs.top[left], runs.top[right]).astype(float)
    last = np.minimum(runs.low[left], runs.low[right]).astype(float)
    # one look before the long search
    whole = meter.measure(np.column_stack([x0, first, x1, last]), np.zeros(len(left)))
    keep = np.flatnonzero(_may_be(whole, 0.7))
    if len(keep) > MOST_CLOSED:
        worth = promise(whole.take(keep), picture.mm_per_px)
        keep = keep[np.argsort(-worth)[:MOST_CLOSED]]
    profiles = _Profiles(edges)
    for i in keep:
        a, b = int(x0[i]), int(x1[i])
        rows = profiles.peaks(a, b)
        ends = {int(runs.low[left[i]]), int(runs.low[right[i]])}
        lows = _nearest(rows, int(first[i]) + least, max(ends) + end, int(last[i]), end)
        starts = {int(runs.top[left[i]]), int(runs.top[right[i]])}
        for low in lows:
            tops = _nearest(rows, min(starts) - end, low - least, int(first[i]), end)
            boxes += [(a, top, b, low, 0.0) for top in tops if low - top >= least]
            if low - int(first[i]) >= least:
                boxes.append((a, int(first[i]), b, low, 1.0))
    table = np.unique(np.array(boxes, dtype=float).reshape(-1, 5), axis=0)
    box, arched = table[:, :4], table[:, 4]
    shows = meter.jambs(box) >= LEAST_JAMB
    shows &= meter.across(box, box[:, 3]) >= LEAST_ACROSS
    found = meter.measure(box[shows], arched[shows])
    return found.take(np.flatnonzero(_may_be(found, 1.0)))


def _may_be(seen: Around, strict: float) -> npt.NDArray[np.bool_]:
    """Whether what lies within and around may be an opening in its wall."""
    in_wall = (seen.inside >= strict * LEAST_INSIDE) & (seen.beside >= strict * LEAST_BESIDE)
    return in_wall | (
        (seen.unalike <= MOST_UNALIKE / strict) & (seen.apart >= strict * LEAST_APART)
    )


def best_in_each_place(picture: WallPicture, found: Candidates) -> Candidates:
    """Of near twins the better; in each place, the best few."""
    order = np.argsort(-promise(found, picture.mm_per_px))
    cell = np.round(found.box[order] / picture.px(TWINS_MM, 3)).astype(int)
    _, first = np.unique(cell, axis=0, return_index=True)
    found = found.take(order[np.sort(first)])
    middle = 0.5 * (found.box[:, :2] + found.box[:, 2:]) / picture.px(PLACE_MM)
    left: Counter[tuple[int, ...]] = Counter()
    chosen = []
    for i, at in enumerate(map(tuple, np.round(middle).astype(int).tolist())):
        left[at] += 1
        if left[at] <= A_PLACE:
            chosen.append(i)
    return found.take(np.array(chosen[:MOST_CANDIDATES], dtype=int))


def promise(found: Candidates, mm_per_px: float) -> Array:
    """How much each looks like an opening before its head is looked for; see `clearness`."""
    terms = {**outline_evidence(found, found.box, mm_per_px), "lintel": found.lintel}
    return weigh(terms, PROMISE)


def weigh(terms: dict[str, Array], weights: dict[str, float]) -> Array:
    """Sum of terms by their weights, and the constant."""
    return np.asarray(weights["constant"] + sum(weights[name] * terms[name] for name in terms))


def outline_evidence(found: Candidates, box: Array, mm_per_px: float) -> dict[str, Array]:
    """Terms of evidence that need no head, each of shape (n,)."""
    wide, high = np.maximum((box[:, 2:] - box[:, :2]).T, 1.0)
    inside, beside = np.clip(found.inside, 0.0, 1.0), np.clip(found.beside, 0.0, 1.0)
    log_wide, log_slim = np.log(wide * mm_per_px / 1000.0), np.log(high / wide)
    return {
        "jambs": found.jambs,
        "sill": found.sill,
        "inside": inside,
        "beside": beside,
        "inside and beside": inside * beside,
        "uneven": found.uneven,
        "unalike": np.sqrt(np.minimum(found.unalike, 30.0) / 10.0),
        "apart": np.sqrt(np.minimum(found.apart, 30.0) / 10.0),
        "runs on": found.runs_on,
        "near": np.clip(found.near, 0.0, 1.0),
        "rim": np.clip(found.rim, 0.0, 1.0),
        "step": found.step,
        "wide": log_wide,
        "wide squared": log_wide**2,
        "slim": log_slim,
        "slim squared": log_slim**2,
    }


def _pairs(picture: WallPicture, runs: Runs) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    wide = runs.x[None, :] - runs.x[:, None]
    both = np.minimum(runs.low[None], runs.low[:, None]) - np.maximum(
        runs.top[None], runs.top[:, None]
    )
    length = runs.low - runs.top
    shorter = np.minimum(length[None], length[:, None])
    fit = (wide >= picture.px(NARROW_MM, 10)) & (wide <= picture.px(WIDE_MM))
    fit &= (both >= LEAST_OVERLAP * shorter) & (both >= picture.px(LOW_MM, 10) * 0.7)
    left, right = np.nonzero(fit)
    if len(left) > MOST_PAIRS:
        clear = np.minimum(runs.strength[left], runs.strength[right])
        best = np.argsort(-clear)[:MOST_PAIRS]
        left, right = left[best], right[best]
    return left, right


class _Profiles:
    """Rows at which a level edge runs from column to column."""

    def __init__(self, edges: EdgeMaps) -> None:
        marks = thick(edges.on_level, 1).astype(np.int32)
        self._sums = np.concatenate(
            [np.zeros((1, marks.shape[0]), np.int32), np.cumsum(marks.T, axis=0, dtype=np.int32)]
        )
        self._known: dict[tuple[int, int], list[tuple[int, float]]] = {}

    def peaks(self, left: int, right: int) -> list[tuple[int, float]]:
        """Rows where more of an edge shows than in their neighbours, and how much of it does."""
        if (left, right) not in self._known:
            inner = (left + 2, right - 2)
            shown = (self._sums[inner[1]] - self._sums[inner[0]]) / (inner[1] - inner[0])
            middle = shown[1:-1]
            peak = (middle >= shown[:-2]) & (middle > shown[2:]) & (middle >= LEAST_ACROSS)
            rows = np.flatnonzero(peak) + 1
            self._known[left, right] = list(zip(rows.tolist(), shown[rows].tolist(), strict=True))
        return self._known[left, right]


def _nearest(
    rows: list[tuple[int, float]], start: int, stop: int, expected: int, end: int
) -> list[int]:
    """Of rows between two, those near where the jambs end, and the clearest others."""
    within = [one for one in rows if start <= one[0] < stop]
    near = [one for one in within if abs(one[0] - expected) <= end]
    far = [one for one in within if abs(one[0] - expected) > end and one[1] > 0.8]
    best = sorted(near, key=lambda one: -one[1])[:3] + sorted(far, key=lambda one: -one[1])[:2]
    return [row for row, _ in best]
