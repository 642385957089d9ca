"""Round openings: places that are not wall, and round."""

from __future__ import annotations

import cv2
import numpy as np
import numpy.typing as npt

from measure.finding.choose import DRESSING_MM, Found
from measure.finding.heads import FineEdges
from measure.finding.picture import Floats, WallPicture

Array = npt.NDArray[np.float64]

#: Smallest and largest diameter.
SMALL_MM, LARGE_MM = 330.0, 2600.0

#: Thinner things than this are no place for an opening.
THIN_MM = 230.0

#: Part of the box round it that a disc fills is 0.785; with what else sticks out, so much.
FILLED = (0.62, 0.92)

#: Part of the rim that must show as an edge; and of the worst quarter of it, away from where a
#: square's sides would be taken for it.
LEAST_RIM, LEAST_QUARTER = 0.84, 0.6

#: A rim within another shows as well as it, but for this much.
NEARLY = 0.12

_TURN = np.linspace(0.0, 2.0 * np.pi, 41)[:-1]
_NORMALS: Array = np.column_stack([np.cos(_TURN), np.sin(_TURN)])

#: Directions of places on each quarter that no square shares with a circle.
_ASKEW = np.radians(np.arange(28.0, 63.0, 4.0) + 90.0 * np.arange(4)[:, None])
_ASKEW_NORMALS: Array = np.stack([np.cos(_ASKEW), np.sin(_ASKEW)], axis=-1)


def find_circles(picture: WallPicture, fine: FineEdges, like_wall: Floats) -> list[Found]:
    """Find round openings."""
    unlike = (like_wall < 0.5).astype(np.uint8)
    size = picture.px(THIN_MM, 3)
    solid = cv2.morphologyEx(
        unlike, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    )
    count, _, stats, _ = cv2.connectedComponentsWithStats(solid, connectivity=4)
    out = []
    for i in range(1, count):
        left, top, wide, high, area = (int(n) for n in stats[i])
        across = 0.5 * (wide + high)
        fits = picture.px(SMALL_MM) <= across <= picture.px(LARGE_MM)
        fits &= 0.72 < wide / high < 1.4 and FILLED[0] < area / (wide * high) < FILLED[1]
        middle = np.array([left + wide / 2, top + high / 2])
        if not fits:
            continue
        found = _rim(picture, fine, middle, across / 2)
        if found is not None:
            out.append(found)
    return out


def _rim(picture: WallPicture, fine: FineEdges, middle: Array, radius: float) -> Found | None:
    """Outermost rim that shows well; of a dressed opening the inner edge of the dressing."""
    steps = np.arange(-4.0, 4.1, 2.0)
    dx, dy = np.meshgrid(steps, steps)
    middles = middle + np.column_stack([dx.ravel(), dy.ravel()])
    radii = np.arange(0.45 * radius, 1.12 * radius + 1.0, 1.0)
    points = middles[:, None, None] + radii[None, :, None, None] * _NORMALS
    shown = fine.follows(points, np.broadcast_to(_NORMALS, points.shape))
    at = np.argmax(shown, axis=0)
    best = shown[at, np.arange(len(radii))]
    good = np.flatnonzero(best >= LEAST_RIM)
    if not len(good):
        return None
    peaks = [int(i) for i in good if best[i] >= best[max(i - 2, 0) : i + 3].max()]
    outer = peaks[-1]
    chosen = outer
    for i in peaks[:-1]:
        gap_mm = (radii[outer] - radii[i]) * picture.mm_per_px
        dressed = DRESSING_MM[0] <= gap_mm <= DRESSING_MM[1]
        if dressed and best[i] >= best[outer] - NEARLY:
            chosen = i
    x, y = middles[at[chosen]]
    r = float(radii[chosen])
    points = np.array([x, y]) + r * _ASKEW_NORMALS
    if fine.follows(points, _ASKEW_NORMALS).min() < LEAST_QUARTER:
        return None
    score = float(best[chosen])
    return Found(x - r, x + r, y + r, y, y - r, "round", score)
