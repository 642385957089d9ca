"""Candidates looked at closely: with their heads and traits."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
import numpy.typing as npt

from measure.finding.edges import EdgeMaps
from measure.finding.heads import SHAPES, FineEdges, Heads, find_heads
from measure.finding.jambs import Candidates, Meter
from measure.finding.picture import Floats, WallPicture
from measure.finding.traits import TraitFinder, Traits

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Pool:
    """n candidates.

    Attributes
    ----------
    found : Candidates
        Their boxes end where the jambs do.
    heads : Heads
    traits : Traits
        Of the boxes with heads.
    box : ndarray, shape (n, 4)
        With the head: left, top, right, bottom.
    first : int
        So many of them were there before others joined, which came for what these are.
    """

    found: Candidates
    heads: Heads
    traits: Traits
    box: Array
    first: int

    def joined(self, other: Pool) -> Pool:
        """These and others."""
        return Pool(
            self.found.joined(other.found),
            self.heads.joined(other.heads),
            Traits(
                *(
                    np.concatenate(
                        [getattr(self.traits, one.name), getattr(other.traits, one.name)]
                    )
                    for one in fields(Traits)
                )
            ),
            np.concatenate([self.box, other.box]),
            self.first,
        )


class Looker:
    """Looks at candidates of one picture closely."""

    def __init__(self, picture: WallPicture, edges: EdgeMaps, like_wall: Floats) -> None:
        self.picture = picture
        self.fine = FineEdges(picture)
        self.meter = Meter(picture, edges, like_wall)
        self._traits = TraitFinder(picture, edges, like_wall)

    def look(self, found: Candidates) -> Pool:
        """Look at each candidate."""
        heads = find_heads(self.picture, self.fine, found.box)
        box = whole_boxes(found, heads)
        return Pool(found, heads, self._traits.look(box), box, len(box))


def whole_boxes(found: Candidates, heads: Heads) -> Array:
    """Boxes with their heads."""
    rises = np.array([shape[1] for shape in SHAPES])[heads.shape]
    box = found.box.copy()
    box[:, 1] = heads.springing - rises * (box[:, 2] - box[:, 0])
    return box
