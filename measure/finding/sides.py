"""Each side of an opening to a part of a pixel, with its ±, on the straightened picture."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from measure.finding.choose import Found
from measure.finding.heads import SHAPES, head_points
from measure.finding.picture import WallPicture

Array = npt.NDArray[np.float64]

#: A side is looked for so far to either side of where it was found, in pixels.
REACH_PX = 3.0

#: What the scatter along a side does not tell: the picture's pixels are coarse.
MODEL_U_PX = 0.3

#: Arris, reveal and frame make several edges side by side, sill and dressing more, and which of
#: them is meant a picture seldom says; a head has shadows too. One standard uncertainty of that,
#: from the errors on invented fronts of seeds 0 to 8 (tests/support/invented_fronts.py).
WHICH_SIDE_MM, WHICH_HEAD_MM = 28.0, 50.0

#: Places along a side share pixels: so many of them are worth one.
SHARED = 4.0


@dataclass(frozen=True, slots=True)
class Side:
    """Where one side lies, in pixels of the picture (lines between pixels), and its ±."""

    at: float
    u_px: float


@dataclass(frozen=True, slots=True)
class Sides:
    """All sides of an opening.

    Attributes
    ----------
    left, right, sill, springing, top : Side
        Columns and rows. A flat head springs at its top.
    """

    left: Side
    right: Side
    sill: Side
    springing: Side
    top: Side


class SideFinder:
    """Finds sides in one picture."""

    def __init__(self, picture: WallPicture) -> None:
        smooth = cv2.GaussianBlur(picture.lab, (0, 0), 1.0)
        self._dx = cv2.filter2D(smooth, -1, np.array([[-0.5, 0.0, 0.5]]))
        self._dy = cv2.filter2D(smooth, -1, np.array([[-0.5], [0.0], [0.5]]))
        self._which_px = WHICH_SIDE_MM / picture.mm_per_px
        self._which_head_px = WHICH_HEAD_MM / picture.mm_per_px

    def find(self, found: Found) -> Sides:
        """Place the sides of an opening."""
        wide, high = found.right - found.left, found.sill - found.springing
        if found.head == "round":
            return self._round(found)
        rows = np.arange(found.springing + 0.1 * high, found.sill - 0.06 * high, 1.0)
        left = self._upright(found.left, rows)
        right = self._upright(found.right, rows)
        columns = np.arange(found.left + 0.1 * wide, found.right - 0.1 * wide, 1.0)
        sill = self._level(found.sill, columns)
        if found.head == "flat":
            top = self._head(self._level(found.top, columns))
            return Sides(left, right, sill, top, top)
        crown = columns[np.abs(columns - 0.5 * (found.left + found.right)) < 0.2 * wide]
        rise = found.springing - found.top
        unit, _ = head_points(found.head, rise / wide)
        depth = np.interp(
            (crown - found.left) / wide, *_sorted(unit[:, 0], (unit[:, 1] + rise / wide) * wide)
        )
        top = self._head(self._level(found.top, crown, depth))
        # how far a head rises was tried in steps
        steps = np.diff([shape[1] for shape in SHAPES if shape[0] == found.head])
        u_rise = 0.5 * float(np.max(steps, initial=0.0)) * wide
        if found.head == "semicircular":
            springing = Side(top.at + 0.5 * wide, float(np.hypot(top.u_px, 0.5 * left.u_px)))
        else:
            u_spring = float(np.hypot(max(u_rise, 1.0), self._which_head_px))
            springing = Side(top.at + rise, u_spring)
        return Sides(left, right, sill, springing, top)

    def _head(self, side: Side) -> Side:
        """A side whose place is less sure because it is a head."""
        return Side(side.at, float(np.hypot(side.u_px, self._which_head_px)))

    def _round(self, found: Found) -> Sides:
        x, y = 0.5 * (found.left + found.right), 0.5 * (found.top + found.sill)
        third = np.arange(-0.25, 0.26, 0.05) * (found.right - found.left)
        radius = 0.5 * (found.right - found.left)
        sag = radius - np.sqrt(radius**2 - third**2)
        left = self._upright(found.left, y + third, sag)
        right = self._upright(found.right, y + third, -sag)
        top = self._level(found.top, x + third, sag)
        sill = self._level(found.sill, x + third, -sag)
        return Sides(left, right, sill, Side(0.5 * (top.at + sill.at), top.u_px), top)

    def _upright(self, x: float, rows: Array, bend: Array | float = 0.0) -> Side:
        offsets = np.arange(-REACH_PX, REACH_PX + 0.1, 0.5)
        columns = x + np.asarray(bend) + offsets[:, None] + 0.0 * rows
        steps = _steps(self._dx, columns, rows + 0.0 * columns)
        return _place(steps, offsets, x, self._which_px)

    def _level(self, y: float, columns: Array, bend: Array | float = 0.0) -> Side:
        offsets = np.arange(-REACH_PX, REACH_PX + 0.1, 0.5)
        rows = y + np.asarray(bend) + offsets[:, None] + 0.0 * columns
        steps = _steps(self._dy, columns + 0.0 * rows, rows)
        return _place(steps, offsets, y, self._which_px)


def _sorted(x: Array, y: Array) -> tuple[Array, Array]:
    order = np.argsort(x)
    return x[order], y[order]


def _steps(change: npt.NDArray[np.float32], x: Array, y: Array) -> Array:
    """Changes of colour at places (lines between pixels), shape (offsets, places, 3)."""
    read = cv2.remap(
        change,
        (x - 0.5).astype(np.float32),
        (y - 0.5).astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(read, float)


def _place(steps: Array, offsets: Array, at: float, which_px: float) -> Side:
    """Offset at which most places change most, as their median, and how they scatter."""
    if steps.shape[1] < 4:
        return Side(at, float(np.hypot(REACH_PX, which_px)))
    # one direction of colour for the whole side, so that texture does not vote
    mean = steps.mean(axis=1)
    strongest = mean[int(np.argmax(np.linalg.norm(mean, axis=1)))]
    along = strongest / max(float(np.linalg.norm(strongest)), 1e-9)
    change = np.clip(steps @ along, 0.0, None)
    weight = change**2 * (change > 0.5 * change.max(axis=0))
    total = weight.sum(axis=0)
    seen = total > 0.0
    if np.count_nonzero(seen) < 4:
        return Side(at, float(np.hypot(REACH_PX, which_px)))
    places = (weight * offsets[:, None]).sum(axis=0)[seen] / total[seen]
    middle = float(np.median(places))
    scatter = 1.4826 * float(np.median(np.abs(places - middle)))
    of_scatter = 1.2533 * scatter * np.sqrt(SHARED / len(places))
    return Side(at + middle, float(np.hypot(np.hypot(of_scatter, MODEL_U_PX), which_px)))
