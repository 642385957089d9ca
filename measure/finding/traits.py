"""What else tells an opening: its whole outline, faint parts too, what lies above, what within.

Where a pale frame stands in a pale wall no edge outdoes the wall's texture by much; but a faint
edge along the whole of a side is no chance. And a pier between two windows has openings to its
sides, but above and below it the same wall goes on as within.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from measure.finding.around import thick
from measure.finding.edges import EdgeMaps
from measure.finding.picture import BoxMeans, Floats, WallPicture

Array = npt.NDArray[np.float64]

#: A step so many times the noise is a faint edge.
FAINT = 2.0

#: Strips above an opening: right above it, and above a lintel or an arch; and as far below.
ABOVE_MM, OVER_LINTEL_MM = (50.0, 150.0), (270.0, 390.0)

#: Steps greater than this say no more.
MOST_STEP = 15.0

#: An opening is looked at in so many columns and rows to compare it with others.
COLUMNS, ROWS = 8, 10


@dataclass(frozen=True, slots=True, eq=False)
class Traits:
    """Of n rectangles; each array of shape (n,) but the last.

    Attributes
    ----------
    faint : ndarray
        Part of its weakest side along which at least a faint edge runs.
    above : ndarray
        How like wall it is above.
    apart_above, apart_below : ndarray
        How far the colour within is from that above and below, in units of CIE L*a*b*; of two
        strips the one that is nearer.
    darker : ndarray
        By how much L* is less within than beside.
    busier : ndarray
        By how much the logarithm of the edges is greater within than beside.
    pattern : ndarray, shape (n, k)
        Where within it edges run, as vectors of length 1 about their mean.
    """

    faint: Array
    above: Array
    apart_above: Array
    apart_below: Array
    darker: Array
    busier: Array
    pattern: npt.NDArray[np.float32]


class TraitFinder:
    """Looks at rectangles of one picture."""

    def __init__(self, picture: WallPicture, edges: EdgeMaps, like_wall: Floats) -> None:
        self._px = picture.px
        self._wall = BoxMeans(like_wall)
        self._colours = [BoxMeans(picture.lab[..., c]) for c in range(3)]
        self._edges = [BoxMeans(np.minimum(m, MOST_STEP)) for m in (edges.upright, edges.level)]
        self._upright = BoxMeans(thick((edges.upright >= FAINT).T, 1).T)
        self._level = BoxMeans(thick(edges.level >= FAINT, 1))

    def look(self, box: Array) -> Traits:
        """Look at each box; left, top, right, bottom in a row, the head within it."""
        left, top, right, low = box.T
        dx, dy = 0.1 * (right - left), 0.1 * (low - top)
        x0, x1, y0, y1 = left + dx, right - dx, top + dy, low - dy
        sides = [
            self._upright(left, y0, left + 1, y1),
            self._upright(right, y0, right + 1, y1),
            self._level(x0, low, x1, low + 1),
        ]
        within = self._colour(x0, y0, x1, y1)
        strips_above, strips_below = [], []
        for near, far in (ABOVE_MM, OVER_LINTEL_MM):
            a, b = self._px(near, 2), self._px(far, 5)
            strips_above.append((x0, top - b, x1, top - a))
            strips_below.append((x0, low + a, x1, low + b))
        apart = [
            np.min(
                [np.linalg.norm(within - self._colour(*strip), axis=-1) for strip in strips], axis=0
            )
            for strips in (strips_above, strips_below)
        ]
        a, b = self._px(60.0, 3), self._px(260.0, 9)
        beside = [(left - b, y0, left - a, y1), (right + a, y0, right + b, y1)]
        light = np.mean([self._colour(*strip)[..., 0] for strip in beside], axis=0)
        busy = [
            np.nan_to_num(np.mean([edge(*strip) for edge in self._edges], axis=0)) + 0.3
            for strip in ((x0, y0, x1, y1), *beside)
        ]
        above = np.nan_to_num([self._wall(*strip) for strip in strips_above])
        return Traits(
            faint=np.nan_to_num(np.min(sides, axis=0)),
            above=np.asarray(np.max(above, axis=0)),
            apart_above=np.nan_to_num(apart[0]),
            apart_below=np.nan_to_num(apart[1]),
            darker=np.nan_to_num(light - within[..., 0]),
            busier=np.log(2.0 * busy[0] / (busy[1] + busy[2])),
            pattern=self._pattern(box),
        )

    def _colour(self, *strip: Array) -> Array:
        return np.stack([mean(*strip) for mean in self._colours], axis=-1)

    def _pattern(self, box: Array) -> npt.NDArray[np.float32]:
        left, top, right, low = box.T
        x = [left + (right - left) * i / COLUMNS for i in range(COLUMNS + 1)]
        y = [top + (low - top) * i / ROWS for i in range(ROWS + 1)]
        cells = [
            edge(x[i], y[j], x[i + 1], y[j + 1])
            for edge in self._edges
            for i in range(COLUMNS)
            for j in range(ROWS)
        ]
        pattern = np.sqrt(np.maximum(np.nan_to_num(np.stack(cells, axis=-1)), 0.0))
        pattern -= pattern.mean(axis=-1, keepdims=True)
        length = np.linalg.norm(pattern, axis=-1, keepdims=True)
        return np.asarray(pattern / np.maximum(length, 1e-6), np.float32)
