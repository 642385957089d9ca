"""Scores, and one candidate for each place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from measure.finding.clearness import clearness
from measure.finding.heads import SHAPES, FineEdges, HeadKind, Heads, find_heads
from measure.finding.jambs import Candidates, best_in_each_place
from measure.finding.picture import BoxMeans, WallPicture

Array = npt.NDArray[np.float64]

#: An opening less clear is not offered.
LEAST_LOGIT = 1.5

#: Of candidates within a dressing the larger is taken, unless it shows so much less.
LARGER = 0.3

#: Band between an opening and the outer edge of its stone dressing; less is a frame.
DRESSING_MM = (105.0, 290.0)

#: A shutter standing open is so wide beside its opening; and no pane is as wide as this.
SHUTTER, PANE_MM = (0.36, 0.64), 600.0

#: An opening is at least this part of itself with its dressing.
DRESSED = 0.58

#: Openings of a row or a column agree within this; each like one makes a candidate so much
#: clearer, in its logit.
LIKE_MM, IN_A_ROW, IN_A_COLUMN = 45.0, 1.0, 0.5

#: An opening gives way to one within its dressing that is so much less clear, in its logit.
GIVES_WAY = 1.5

#: So many candidates like one found are looked at again, and so often is chosen anew.
MOST_LIKE, LOOKS = 250, 2


@dataclass(frozen=True, slots=True)
class Found:
    """One opening in a picture, in pixels (lines between pixels).

    Attributes
    ----------
    left, right, sill, springing, top : float
        Columns and rows; rows count down.
    head : HeadKind
    score : float
        0 to 1.
    """

    left: float
    right: float
    sill: float
    springing: float
    top: float
    head: HeadKind
    score: float

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom."""
        return self.left, self.top, self.right, self.sill


def choose(
    picture: WallPicture, fine: FineEdges, every: Candidates, others: Sequence[Found] = ()
) -> list[Found]:
    """Take one candidate for each place, the best first; none where there are `others`.

    Parameters
    ----------
    picture : WallPicture
    fine : FineEdges
    every : Candidates
    others : sequence of Found
    """
    if not len(every.box):
        return []
    found = best_in_each_place(picture, every)
    heads = find_heads(picture, fine, found.box)
    known = _choose_once(picture, fine, every, found, heads, others, ())
    # now knowing what a first look found, look again: openings come in rows of like ones
    more = every.take(np.flatnonzero(_like_any(picture, every, known))[:MOST_LIKE])
    found, heads = found.joined(more), heads.joined(find_heads(picture, fine, more.box))
    for _ in range(LOOKS):
        known = _choose_once(picture, fine, every, found, heads, others, known)
    return known


def _choose_once(
    picture: WallPicture,
    fine: FineEdges,
    every: Candidates,
    found: Candidates,
    heads: Heads,
    others: Sequence[Found],
    known: Sequence[Found],
) -> list[Found]:
    """Choose among candidates; those like one that is `known` stand a better chance."""
    box = whole_boxes(found, heads)
    like = _likes(picture, box, known)
    logit = clearness(found, heads, box, picture.mm_per_px) + like
    taken = _take(box, logit, [np.array(one.box) for one in others])
    # the outer edge of dressing or shutters gives way to the opening within
    colours = [BoxMeans(picture.lab[..., c]) for c in range(3)]
    out: list[Found] = []
    for i in taken:
        inner = _inner(picture, colours, every, box[i])
        if inner is not None:
            within = every.take(np.array([inner]))
            its = find_heads(picture, fine, within.box)
            its_box = whole_boxes(within, its)
            as_many = _likes(picture, its_box, known)[0] >= like[i]
            clear = clearness(within, its, its_box, picture.mm_per_px)[0] + like[i]
            if as_many and clear > logit[i] - GIVES_WAY:
                out.append(_found(within, its, 0, _score(logit[i])))
                continue
        out.append(_found(found, heads, i, _score(logit[i])))
    return out


def _score(logit: float) -> float:
    return float(1.0 / (1.0 + np.exp(-logit)))


def _like_any(
    picture: WallPicture, every: Candidates, first: Sequence[Found]
) -> npt.NDArray[np.bool_]:
    """Which candidates have sill and width of something found elsewhere, and end near its head."""
    box, near = every.box, picture.px(LIKE_MM, 3)
    out = np.zeros(len(box), bool)
    for one in first:
        like = np.abs(box[:, 3] - one.sill) <= near
        like &= np.abs(box[:, 2] - box[:, 0] - (one.right - one.left)) <= near
        like &= (box[:, 1] >= one.top - near) & (box[:, 1] <= one.springing + 2 * near)
        out |= like & ((box[:, 0] > one.right) | (box[:, 2] < one.left))
    return out


def _take(box: Array, logit: Array, full: list[Array]) -> list[int]:
    """The best candidates that keep clear of each other."""
    full = list(full)
    taken: list[int] = []
    for i in np.argsort(-logit):
        if logit[i] < LEAST_LOGIT:
            break
        if all(_overlap(box[i], one) < 0.25 for one in full):
            taken.append(int(i))
            full.append(box[i])
    return taken


def _likes(picture: WallPicture, box: Array, found: Sequence[Found]) -> Array:
    """What openings found elsewhere, of its size in its row or above or below it, add to a box."""
    row, column = np.zeros(len(box)), np.zeros(len(box))
    near = picture.px(LIKE_MM, 3)
    for one in found:
        left, top, right, low = one.box
        level = (np.abs(box[:, 1] - top) <= near) & (np.abs(box[:, 3] - low) <= near)
        level &= np.abs(box[:, 2] - box[:, 0] - (right - left)) <= near
        row += level & ((box[:, 0] > right) | (box[:, 2] < left))
        plumb = (np.abs(box[:, 0] - left) <= near) & (np.abs(box[:, 2] - right) <= near)
        column += plumb & ((box[:, 1] > low) | (box[:, 3] < top))
    alike = IN_A_ROW * np.minimum(row, 4.0) + IN_A_COLUMN * np.minimum(column, 3.0)
    return np.asarray(alike)


def whole_boxes(found: Candidates, heads: Heads) -> Array:
    """Boxes with their heads."""
    rises = np.array([shape[1] for shape in SHAPES])[heads.shape]
    box = found.box.copy()
    box[:, 1] = heads.springing - rises * (box[:, 2] - box[:, 0])
    return box


def _found(found: Candidates, heads: Heads, i: int, score: float) -> Found:
    left, top, right, low = whole_boxes(found, heads)[i].tolist()
    head = SHAPES[heads.shape[i]][0]
    return Found(left, right, low, float(heads.springing[i]), top, head, score)


def _overlap(one: Array, other: Array) -> float:
    """Shared area over the smaller of two boxes."""
    wide = min(one[2], other[2]) - max(one[0], other[0])
    high = min(one[3], other[3]) - max(one[1], other[1])
    if wide <= 0 or high <= 0:
        return 0.0
    areas = [(b[2] - b[0]) * (b[3] - b[1]) for b in (one, other)]
    return float(wide * high / min(areas))


def _inner(
    picture: WallPicture, colours: list[BoxMeans], every: Candidates, outer: Array
) -> int | None:
    """Best candidate within another whose sides are bands of dressing, or shutters."""
    o, box = outer, every.box
    left, top = box[:, 0] - o[0], box[:, 1] - o[1]
    right, low = o[2] - box[:, 2], o[3] - box[:, 3]
    wide = box[:, 2] - box[:, 0]
    gap = 0.5 * (left + right)
    even = np.abs(left - right) <= np.maximum(0.25 * gap, picture.px(35.0, 2))
    least, most = (picture.px(mm) for mm in DRESSING_MM)
    slack = picture.px(30.0, 2)
    inside = (low >= -slack) & (low <= 1.3 * most)
    dressed = (gap >= least) & (gap <= most) & (top >= -slack) & inside
    dressed &= (top <= 1.3 * most + 0.5 * wide) & (wide >= DRESSED * (o[2] - o[0]))
    leaf = [(g >= SHUTTER[0] * wide) & (g <= SHUTTER[1] * wide) for g in (left, right)]
    shut = leaf[0] & leaf[1] & even
    shut &= (np.abs(top) <= 3 * slack) & (np.abs(low) <= 3 * slack)
    shut &= wide >= picture.px(PANE_MM)
    worth = every.jambs * every.sill * (0.5 + 0.5 * every.lintel) * _size(box) ** LARGER
    for i in np.argsort(-np.where((even & dressed) | shut, worth, 0.0))[:12]:
        if not ((even[i] and dressed[i]) or shut[i]):
            break
        y0, y1 = box[i, 1], box[i, 3]
        bands = [
            (o[0] + 2, y0, box[i, 0] - 2, y1),
            (box[i, 2] + 2, y0, o[2] - 2, y1),
            (box[i, 0], y0, box[i, 2], y1),
        ]
        means = np.array([[colour(*band) for colour in colours] for band in bands])
        alike = float(np.linalg.norm(means[0] - means[1])) < 6.0
        if alike and float(np.linalg.norm(means[:2].mean(axis=0) - means[2])) > 8.0:
            return int(i)
    return None


def _size(box: Array) -> Array:
    return np.asarray((box[:, 2] - box[:, 0]) * (box[:, 3] - box[:, 1]))
