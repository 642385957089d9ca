"""Many invented cases through the real pipeline: errors, and errors over their ±."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from measure.accuracy.invented import (
    HEIGHT_PX,
    WIDTH_PX,
    Circumstances,
    InventedCase,
    draw_case,
)
from measure.evaluate import measure_face
from measure.propagate import Effort
from measure.results import FaceResult
from rectify.adjust import solve_photo
from rectify.solution import PhotoFacts
from shared.errors import StoreyrodError
from shared.jets import Array
from shared.survey import Face, Survey

#: The circumstances of the report, by what is special about them.
OBLIQUITIES = ((0.0, 15.0), (15.0, 30.0), (30.0, 45.0), (45.0, 60.0))
USUAL = (0.0, 45.0)
CELLS: Mapping[str, Circumstances] = {
    **{
        f"seen at {low:.0f} to {high:.0f}°": Circumstances((low, high)) for low, high in OBLIQUITIES
    },
    "looking up 0 to 5°": Circumstances(USUAL, tilt_deg=(0.0, 5.0)),
    "looking up 5 to 15°": Circumstances(USUAL, tilt_deg=(5.0, 15.0)),
    "looking up 15 to 25°": Circumstances(USUAL, tilt_deg=(15.0, 25.0)),
    "one vanishing point": Circumstances((0.0, 0.5), tilt_deg=(0.0, 0.5), roll_deg=0.1),
    "two vanishing points": Circumstances((20.0, 45.0), tilt_deg=(0.0, 0.5), roll_deg=0.1),
    "lens of 13 to 20 mm": Circumstances(USUAL, focal_35mm=(13.0, 20.0)),
    "lens of 20 to 35 mm": Circumstances(USUAL, focal_35mm=(20.0, 35.0)),
    "lens of 35 to 85 mm": Circumstances(USUAL, focal_35mm=(35.0, 85.0)),
    "lens that bends, k1 of 0.06": Circumstances(USUAL, k1=0.06, focal_35mm=(20.0, 35.0)),
    "lens's middle off by 2.1 % of the diagonal": Circumstances(USUAL, middle_off=0.021),
    "frame round two openings": Circumstances(USUAL, frame_openings=2),
    "picks good to 0.3 px": Circumstances(USUAL, u_px=0.3),
    "picks good to 3 px": Circumstances(USUAL, u_px=3.0),
    "cropped": Circumstances(USUAL, cropped=True),
    **{
        f"no lens stated, at {low:.0f} to {high:.0f}°": Circumstances(
            (low, high), focal_known=False
        )
        for low, high in OBLIQUITIES
    },
    "no lens stated, one vanishing point": Circumstances(
        (0.0, 0.5), focal_known=False, tilt_deg=(0.0, 0.5), roll_deg=0.1
    ),
}

#: Where mistakes are made.
SOUND = Circumstances((15.0, 30.0))

#: Of a model that the sizes are told for; it changes none of them.
DENOMINATOR = 148.0
EFFORTS: tuple[Effort, Effort] = ("whole", "straight")

#: Changes a case into one with a mistake in it.
Mistake = Callable[[InventedCase], InventedCase]


_BY_ROW = ("error_mm", "u_mm", "u_straight_mm", "true_mm", "is_width", "case", "beyond_frame")


@dataclass(frozen=True, slots=True)
class Trials:
    """What many cases gave, one row for each opening's width and height.

    Parameters
    ----------
    circumstances : Circumstances
    error_mm, u_mm, true_mm : ndarray, shape (n,)
    u_straight_mm : ndarray, shape (n,)
        ± to first order alone.
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
    u_straight_mm: Array
    true_mm: Array
    is_width: NDArray[np.bool_]
    case: Array
    beyond_frame: Array
    refused: int

    @property
    def standardised(self) -> Array:
        """Errors over their ±."""
        return self.error_mm / self.u_mm

    def part(self, which: NDArray[np.bool_]) -> Trials:
        """Some of the rows."""
        return replace(self, **{name: getattr(self, name)[which] for name in _BY_ROW})

    def share_within(self, times: float) -> float:
        """Share of errors within so many times their ±."""
        return float(np.mean(np.abs(self.standardised) <= times))

    def share_within_straight(self, times: float) -> float:
        """The same with the ± to first order alone."""
        return float(np.mean(np.abs(self.error_mm) <= times * self.u_straight_mm))

    @property
    def share_sampled(self) -> float:
        """Share of sizes whose ± sampling widened by more than a twentieth."""
        return float(np.mean(self.u_mm > 1.05 * self.u_straight_mm))

    def relative_quantile(self, share: float) -> float:
        """Relative error that a share of sizes stays below."""
        return float(np.quantile(np.abs(self.error_mm) / self.true_mm, share))


def joined(trials: Sequence[Trials]) -> Trials:
    """All rows of several, under the circumstances of the first."""
    rows: dict[str, Any] = {
        name: np.concatenate([getattr(one, name) for one in trials]) for name in _BY_ROW
    }
    return replace(trials[0], **rows, refused=sum(one.refused for one in trials))


_Row = tuple[float, float, float, float, bool, int, float]


def measure_case(
    case: InventedCase, names: Sequence[str] | None = None
) -> tuple[FaceResult, FaceResult]:
    """Measure one case as a user's survey would be, and once more to first order alone.

    All openings hold the camera; only those named are told.
    """
    survey = Survey.model_validate(
        {
            "photos": [{"id": "street", "file": "street.jpg", "cropped": case.cropped}],
            "faces": [case.face],
        }
    )
    facts = PhotoFacts("street", WIDTH_PX, HEIGHT_PX, case.focal_35mm, case.cropped)
    solution = solve_photo(facts, survey.faces)
    face = survey.faces[0]
    if names is not None:
        asked = tuple(measure for measure in face.measures if measure.id in names)
        face = face.model_copy(update={"measures": asked})
    whole, straight = (
        measure_face(survey, face, solution, DENOMINATOR, effort=effort) for effort in EFFORTS
    )
    return whole, straight


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
    rows: list[_Row] = []
    refused = 0
    for number in range(count):
        case = draw_case(circumstances, rng)
        names = list(case.openings_mm)
        chosen = [names[int(rng.integers(len(names)))]] if one_opening else names
        try:
            results = measure_case(mistake(case) if mistake else case, chosen)
        except StoreyrodError:
            refused += 1
            continue
        for name in chosen:
            rows += _rows(case, results, name, number)
        if progress:
            progress((number + 1) / count)
    table = np.array(rows, dtype=float).reshape(-1, 7)
    error, u, u_straight, true, is_width, of_case, beyond = table.T
    is_width, of_case = is_width.astype(bool), of_case.astype(int)
    return Trials(circumstances, error, u, u_straight, true, is_width, of_case, beyond, refused)


def _rows(
    case: InventedCase, results: tuple[FaceResult, FaceResult], name: str, number: int
) -> Iterator[_Row]:
    whole, straight = (result.measures[name] for result in results)
    u0, v0, u1, v1 = case.openings_mm[name]
    f0, g0, f1, g1 = case.frame_mm
    half = np.hypot(f1 - f0, g1 - g0) / 2.0
    beyond = float(np.hypot((u0 + u1 - f0 - f1) / 2.0, (v0 + v1 - g0 - g1) / 2.0) / half)
    for key, true in (("width_mm", u1 - u0), ("height_mm", v1 - v0)):
        error, wide = whole.size(key) - true, key == "width_mm"
        yield error, whole.u_of(key), straight.u_of(key), true, wide, number, beyond


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
