"""Scores, and one candidate for each place."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from measure.finding.clearness import clearness, clearness_in_company, evidence
from measure.finding.company import Company, find_company, places_in_line
from measure.finding.heads import SHAPES, HeadKind
from measure.finding.jambs import Candidates, best_in_each_place
from measure.finding.picture import BoxMeans, WallPicture
from measure.finding.pool import Looker, Pool

Array = npt.NDArray[np.float64]

#: An opening less clear is not offered; one less clear by itself is no company for others.
LEAST_LOGIT, COMPANY_LOGIT = 0.5, 0.0

#: Of candidates within a dressing the larger is taken, unless it shows so much less.
LARGER = 0.3

#: Band between an opening and the outer edge of its stone dressing; less is a frame.
DRESSING_MM = (105.0, 290.0)

#: A shutter standing open is so wide beside its opening; and no pane is as wide as this.
SHUTTER, PANE_MM = (0.36, 0.64), 600.0

#: An opening is at least this part of itself with its dressing.
DRESSED = 0.58

#: Openings of a row agree within this.
LIKE_MM = 45.0

#: An opening gives way to one within its dressing that is so much less clear, in its logit.
GIVES_WAY = 1.5

#: So many candidates like one found are looked at again, so many places in line with them, and so
#: often is chosen anew.
MOST_LIKE, MOST_IN_LINE, LOOKS = 250, 250, 3


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


def choose(looker: Looker, every: Candidates, others: Sequence[Found] = ()) -> list[Found]:
    """Take one candidate for each place, the best first; none where there are `others`."""
    if not len(every.box):
        return []
    picture = looker.picture
    pool = gather(looker, every, others)
    alone = clearness(evidence(pool, picture.mm_per_px))
    logit = weigh_in_company(picture, pool, others)
    # the outer edge of dressing or shutters gives way to the opening within
    colours = [BoxMeans(picture.lab[..., c]) for c in range(3)]
    out: list[Found] = []
    for i in _take(pool.box, logit, LEAST_LOGIT, others):
        inner = _inner(picture, colours, every, pool.box[i])
        if inner is not None:
            within = looker.look(every.take(np.array([inner])))
            if clearness(evidence(within, picture.mm_per_px))[0] > alone[i] - GIVES_WAY:
                out.append(_found(within, 0, _score(logit[i])))
                continue
        out.append(_found(pool, i, _score(logit[i])))
    return with_heads_of_equals(picture, out)


def with_heads_of_equals(picture: WallPicture, found: Sequence[Found]) -> list[Found]:
    """Openings that each have the head that most of the equals in their row have."""
    near = picture.px(LIKE_MM, 3)
    out = []
    for one in found:
        row = [
            other
            for other in found
            if abs(other.sill - one.sill) <= near
            and abs(other.top - one.top) <= near
            and abs(other.right - other.left - one.right + one.left) <= 2 * near
        ]
        head, count = Counter(other.head for other in row).most_common(1)[0]
        if head != one.head and count > len(row) / 2 and "round" not in (head, one.head):
            rises = [other.springing - other.top for other in row if other.head == head]
            springing = one.top + float(np.median(rises))
            one = replace(one, head=head, springing=springing)
        out.append(one)
    return out


def weigh_in_company(picture: WallPicture, pool: Pool, others: Sequence[Found] = ()) -> Array:
    """Logit of being an opening for each candidate, knowing what would be chosen around it."""
    terms = evidence(pool, picture.mm_per_px)
    logit = clearness(terms)
    among = pool.first  # what came for the sake of others cannot vouch for them by itself
    for _ in range(LOOKS):
        company = company_of_chosen(picture, pool, logit[:among], others)
        logit = clearness_in_company(terms, company)
        among = len(logit)
    return logit


def gather(looker: Looker, every: Candidates, others: Sequence[Found] = ()) -> Pool:
    """Candidates to choose from: the best of each place, and those in line with clear ones.

    The latter are among the others if they are like one in its row, and wherever rows and columns
    of clear ones cross: there the faintest outline may be one.
    """
    picture = looker.picture
    pool = looker.look(best_in_each_place(picture, every))
    clear = clearness(evidence(pool, picture.mm_per_px))
    taken = _take(pool.box, clear, COMPANY_LOGIT, others)
    like = np.flatnonzero(_like_any(picture, every, [_found(pool, i, 1.0) for i in taken]))
    there = places_in_line(picture, pool.found.box[taken])[:MOST_IN_LINE]
    # where edges were found near such a place, they are meant
    off = np.abs(there[:, None] - every.box[None]).max(axis=-1)
    near = off.min(axis=1) <= picture.px(LIKE_MM, 3)
    more = every.take(np.union1d(like[:MOST_LIKE], off.argmin(axis=1)[near]))
    more = more.joined(looker.meter.measure(there[~near], np.zeros(np.count_nonzero(~near))))
    return pool.joined(looker.look(more))


def company_of_chosen(
    picture: WallPicture, pool: Pool, logit: Array, others: Sequence[Found] = ()
) -> Company:
    """Company to each candidate of those that would be chosen by their `logit`, shape (n or less,).

    Those without a logit are no company.
    """
    likely = np.zeros(len(pool.box))
    for i in _take(pool.box, logit, COMPANY_LOGIT, others):
        likely[i] = _score(logit[i])
    return find_company(picture, pool.box, likely, pool.traits.pattern)


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


def _take(box: Array, logit: Array, least: float, others: Sequence[Found]) -> list[int]:
    """The best candidates that keep clear of each other and of `others`."""
    full = [np.array(one.box) for one in others]
    taken: list[int] = []
    for i in np.argsort(-logit):
        if logit[i] < least:
            break
        if all(_overlap(box[i], one) < 0.25 for one in full):
            taken.append(int(i))
            full.append(box[i])
    return taken


def _found(pool: Pool, i: int, score: float) -> Found:
    left, top, right, low = pool.box[i].tolist()
    head = SHAPES[pool.heads.shape[i]][0]
    return Found(left, right, low, float(pool.heads.springing[i]), top, head, score)


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
