"""A picture on a sheet, under everything that is drawn there.

Frame: millimetres of paper, (0, 0) at the lower left corner of the sheet, y up.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from measure.elevation.path_geometry import Box


@dataclass(frozen=True, slots=True, eq=False)
class SheetPicture:
    """Pixels at their place.

    Attributes
    ----------
    box : Box
        What they cover.
    rgba : ndarray of uint8, shape (height, width, 4)
        Row 0 at the top; transparent where nothing is to be printed.
    """

    box: Box
    rgba: NDArray[np.uint8] = field(repr=False)

    def __post_init__(self) -> None:
        if self.rgba.ndim != 3 or self.rgba.shape[2] != 4 or self.rgba.dtype != np.uint8:
            raise ValueError(f"rgba: (height, width, 4) of uint8, got {self.rgba.shape}")
