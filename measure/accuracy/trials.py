"""Many invented cases through the real pipeline: errors, and errors over their ±."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from measure.accuracy.invented import (
    HEIGHT_PX,
    WIDTH_PX,
    Circumstances,
    InventedCase,
    draw_case,
)
from measure.evaluate import evaluate
from measure.results import Results
from rectify.solution import PhotoFacts
from shared.errors import StoreyrodError
from shared.jets import Array
from shared.survey import Face, Survey

#: The circumstances of the report: obliquity, and whether the focal length is known.
CELLS = tuple(
    Circumstances(bounds, focal_known=known)
    for known in (True, False)
    for bounds in ((0.0, 15.0), (15.0, 30.0), (30.0, 45.0), (45.0, 60.0))
)

#: Changes a case into one with a mistake in it.
Mistake = Callable[[InventedCase], InventedCase]


@dataclass(frozen=True, slots=True)
class Trials:
    """What many cases gave, one row for each opening's width and height.

    Parameters
    ----------
    circumstances : Circumstances
    error_mm, u_mm, true_mm : ndarray, shape (n,)
    is_width : ndarray of bool, shape (n,)
    case : ndarray of int, shape (n,)
        Which case each row is of: rows of one case hang together.
    beyond_frame : ndarray, shape (n,)
        How far from the middle of the frame, in half diagonals of it.
    refused : int
        Cases that the program would not answer.
    """

    circumstances: Circumstances
    error_mm: Array
    u_mm: Array
    true_mm: Array
    is_width: Array
    case: Array
    beyond_frame: Array
    refused: int

    @property
    def standardised(self) -> Array:
        """Errors over their ±."""
        return self.error_mm / self.u_mm

    def share_within(self, times: float) -> float:
        """Share of errors within so many times their ±."""
        return float(np.mean(np.abs(self.standardised) <= times))

    def relative_quantile(self, share: float) -> float:
        """Relative error that a share of sizes stays below."""
        return float(np.quantile(np.abs(self.error_mm) / self.true_mm, share))


def measure_case(case: InventedCase) -> Results:
    """Measure one case as a user's survey would be."""
    survey = Survey.model_validate(
        {
            "photos": [{"id": "street", "file": "street.jpg"}],
            "faces": [case.face],
        }
    )
    facts = PhotoFacts("street", WIDTH_PX, HEIGHT_PX, case.focal_35mm)
    return evaluate(survey, {"street": facts})


def run_trials(
    circumstances: Circumstances,
    count: int,
    seed: int,
    *,
    mistake: Mistake | None = None,
    one_opening: bool = False,
    progress: Callable[[float], None] | None = None,
) -> Trials:
    """Draw and measure cases.

    Parameters
    ----------
    circumstances : Circumstances
    count : int
    seed : int
        The same seed gives the same figures.
    mistake : callable, optional
        Made in each case before it is measured.
    one_opening : bool
        Keep one opening of each case, so that rows are independent.
    progress : callable, optional
    """
    rng = np.random.default_rng(seed)
    rows: list[tuple[float, float, float, bool, int, float]] = []
    refused = 0
    for number in range(count):
        case = draw_case(circumstances, rng)
        try:
            results = measure_case(mistake(case) if mistake else case)
        except StoreyrodError:
            refused += 1
            continue
        names = list(case.openings_mm)
        chosen = [names[int(rng.integers(len(names)))]] if one_opening else names
        for name in chosen:
            rows += _rows(case, results, name, number)
        if progress:
            progress((number + 1) / count)
    table = np.array(rows, dtype=float).reshape(-1, 6)
    error, u, true, is_width, of_case, beyond = table.T
    is_width, of_case = is_width.astype(bool), of_case.astype(int)
    return Trials(circumstances, error, u, true, is_width, of_case, beyond, refused)


def _rows(
    case: InventedCase, results: Results, name: str, number: int
) -> Iterator[tuple[float, float, float, bool, int, float]]:
    measure = results.faces["front"].measures[name]
    u0, v0, u1, v1 = case.openings_mm[name]
    f0, g0, f1, g1 = case.frame_mm
    half = np.hypot(f1 - f0, g1 - g0) / 2.0
    beyond = np.hypot((u0 + u1 - f0 - f1) / 2.0, (v0 + v1 - g0 - g1) / 2.0) / half
    for key, true in (("width_mm", u1 - u0), ("height_mm", v1 - v0)):
        error = measure.size(key) - true
        yield error, measure.u_of(key), true, key == "width_mm", number, float(beyond)


def with_wrong_focal(case: InventedCase) -> InventedCase:
    """State a focal length a tenth too long."""
    stated = None if case.focal_35mm is None else case.focal_35mm * 1.1
    return replace(case, focal_35mm=stated)


def with_wrong_door(case: InventedCase) -> InventedCase:
    """Take the door opening, 50 mm higher than its leaf, for the leaf."""
    face = dict(case.face)
    reference = dict(face["references"][0])
    reference["length_mm"] = reference["length_mm"] + 50.0
    return replace(case, face={**face, "references": [reference]})


def glass_for_wall(case: InventedCase, behind_mm: float = 100.0) -> InventedCase:
    """Pick all openings at glass 100 mm behind the wall, without saying so."""
    face = Face.model_validate(case.face)
    measures = []
    for measure in face.measures:
        u0, v0, u1, v1 = case.openings_mm[measure.id]
        corners = np.array([[u0, v1], [u1, v1], [u1, v0], [u0, v0]])
        shift = case.camera.photo_px(corners, behind_mm) - case.camera.photo_px(corners)
        at = [
            [pick.x + float(dx), pick.y + float(dy), pick.u_px]
            for pick, (dx, dy) in zip(measure.at, shift, strict=True)
        ]
        measures.append({"id": measure.id, "kind": "opening", "at": at})
    return replace(case, face={**case.face, "measures": measures})


MISTAKES: Sequence[tuple[str, Mistake]] = (
    ("focal length stated a tenth too long", with_wrong_focal),
    ("door opening taken for the leaf, 50 mm", with_wrong_door),
    ("glass 100 mm behind picked as wall", glass_for_wall),
)
