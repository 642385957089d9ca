"""Invented fronts of 20 to 200 openings, drawn by chance, with true differences among them.

Storeys differ in height and in the form of their heads; a bay in the middle is wider; some
openings differ from their neighbours in one size by 15 to 400 mm.
Everything is picked in an invented photo and goes through the real solver.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from measure.elevation.agreement import MOST_APART
from measure.elevation.face_numbers import make_quantities
from measure.elevation.pools import make_pools
from measure.elevation.tidy import Tidied, tidy, tidy_face
from measure.evaluate import evaluate
from rectify.solution import PhotoFacts
from shared.survey import Survey
from tests.support.scenes import SceneCamera, picks, rectangle

#: Share of the openings that differ from their neighbours in one size.
DIFFERS = 0.12

HEADS = ("flat", "flat", "segmental", "semicircular", "pointed")
NAMES = ("窓", "окно", "παράθυρο", "חלון", "نافذة", "fenêtre-à-meneaux", "Ladeluke")
LONG = "loading-door-over-the-cart-entrance-beside-the-kiln-as-rebuilt-after-the-great-fire"[:70]

#: (left, right, sill, springing, head)
Sizes = tuple[float, float, float, float, float]


@dataclass(frozen=True)
class Front:
    """A front as picked, and the truth.

    Attributes
    ----------
    survey : Survey
        One face, "front".
    facts : dict
        Of its photo, "street".
    truth : dict
        Of each opening, on the chart.
    """

    survey: Survey
    facts: dict[str, PhotoFacts]
    truth: dict[str, Sizes]


def varied_front(
    seed: int,
    *,
    openings: tuple[int, int] = (20, 200),
    u_px: float = 1.0,
    differs: float = DIFFERS,
    odd_names: bool = False,
    drawing: dict[str, Any] | None = None,
    scale: str = "1:148",
) -> Front:
    """Draw a front, photograph it, pick it; a share of `differs` differs in one size."""
    rng = np.random.default_rng(seed)
    wanted = int(np.exp(rng.uniform(*np.log(openings))))
    storeys = int(rng.integers(2, max(3, min(7, wanted // 4)) + 1))
    columns = max(2, round(wanted / storeys))
    truth, heads, width, height = _built(rng, storeys, columns, differs)
    names = _names(rng, list(truth), odd_names)
    camera = _camera(rng, width, height)

    def at(points: Any) -> list[list[float]]:
        px = camera.project_wall(np.asarray(points, dtype=float))
        return picks(px + rng.normal(0.0, u_px, px.shape))

    measures: list[dict[str, Any]] = []
    for id_, (left, right, sill, springing, head) in truth.items():
        one = {"id": names[id_], "kind": "opening", "head": heads[id_]}
        one["at"] = at(rectangle(left, sill, right, springing))
        if head > springing:
            one["head_at"] = at([[(left + right) / 2.0, head]])
        if odd_names:
            one["label"] = names[id_]
        measures.append(one)
    eaves, apex = height, height + rng.uniform(0.15, 0.4) * width
    ring = [(0, 0), (width, 0), (width, eaves), (width / 2, apex), (0, eaves)]
    ring = ring if apex < 1.3 * eaves else [(0, 0), (width, 0), (width, eaves), (0, eaves)]
    measures.append({"id": "o1", "kind": "outline", "at": at(ring)})
    measures.append(
        {"id": "h1", "kind": "level", "label": "Ζ eaves 軒", "at": at([[100.0, eaves]])}
    )
    length, u_length = 0.6 * width, 0.002 * width
    first, last = min(each[0] for each in truth.values()), max(each[1] for each in truth.values())
    face = {
        "id": "front",
        "label": "Street front" if not odd_names else "Straßenseite · 通りの正面 · " + 6 * "lange ",
        "photo": "street",
        "frame": at(rectangle(first, 900.0, last, 0.9 * eaves)),
        "references": [
            {
                "kind": "length",
                "at": at([[0.1 * width, 400.0], [0.7 * width, 400.0]]),
                "length_mm": length + float(rng.normal(0.0, u_length)),
                "u_mm": u_length,
            }
        ],
        "measures": measures,
        "drawing": drawing,
    }
    title = "Pennywhistle Maltings" if not odd_names else "Pennywhistle-Mälzerei 麦芽工場 " * 3
    survey = Survey.model_validate(
        {
            "title": title[:200],
            "model_scale": scale,
            "photos": [{"id": "street", "file": "s.jpg"}],
            "faces": [face],
        }
    )
    focal_35mm = camera.focal_px * 43.2666153 / np.hypot(camera.width_px, camera.height_px)
    facts = {"street": PhotoFacts("street", camera.width_px, camera.height_px, focal_35mm)}
    return Front(survey, facts, {names[id_]: sizes for id_, sizes in truth.items()})


def _built(
    rng: np.random.Generator, storeys: int, columns: int, differs: float
) -> tuple[dict[str, Sizes], dict[str, str], float, float]:
    """Sizes and heads of the openings, width and height of the wall."""
    bay, wide = rng.uniform(1700.0, 3000.0), rng.uniform(1.0, 1.5)
    centres = [700.0 + bay * (n + 0.5) for n in range(columns)]
    if rng.random() < 0.5:
        half = columns // 2
        centres = [u + (wide - 1.0) * bay * (n >= half) for n, u in enumerate(centres)]
    truth: dict[str, Sizes] = {}
    heads: dict[str, str] = {}
    floor = 900.0
    for storey in range(storeys):
        kind = str(rng.choice(HEADS))
        width = rng.uniform(0.35, 0.6) * bay
        tall = rng.uniform(1000.0, 2000.0)
        rises = {"flat": 0.0, "segmental": 0.15, "semicircular": 0.5, "pointed": 0.8}
        for column, centre in enumerate(centres):
            id_ = f"w{storey}-{column}"
            size = np.array([width, tall, 0.0, 0.0])  # width, to springing, sill up, centre along
            if rng.random() < differs:
                by = rng.choice([-1.0, 1.0]) * np.exp(rng.uniform(np.log(15.0), np.log(400.0)))
                size[rng.integers(0, 4)] += by
            half = max(size[0], 300.0) / 2.0
            sill, u = floor + size[2], centre + float(np.clip(size[3], -200.0, 200.0))
            springing = sill + max(size[1], 400.0)
            rise = rises[kind] * 2.0 * half
            truth[id_] = (u - half, u + half, sill, springing, springing + rise)
            heads[id_] = kind
        floor += tall + rises[kind] * width + rng.uniform(900.0, 1500.0)
    wall = centres[-1] + bay / 2.0 + 700.0
    return truth, heads, wall, floor


def _names(rng: np.random.Generator, ids: list[str], odd: bool) -> dict[str, str]:
    if not odd:
        return {id_: id_ for id_ in ids}
    made = {id_: f"{rng.choice(NAMES)}-{number}" for number, id_ in enumerate(ids)}
    made[ids[0]] = LONG
    return made


def _camera(rng: np.random.Generator, width: float, height: float) -> SceneCamera:
    """A camera that has the whole wall in its picture."""
    wide = 1.0 if width > 1.3 * height else 0.75
    size = (6000, 4500) if wide == 1.0 else (4500, 6000)
    while True:
        far = rng.uniform(0.9, 1.6) * max(width, height)
        aside = rng.uniform(-0.3, 0.3) * width
        centre = (width / 2.0 + aside, 1600.0, far)
        camera = SceneCamera(
            focal_px=float(rng.uniform(3200.0, 5200.0)),
            width_px=size[0],
            height_px=size[1],
            yaw_deg=float(-np.degrees(np.arctan2(aside, far)) + rng.normal(0.0, 2.0)),
            pitch_deg=float(np.degrees(np.arctan2(0.45 * height - 1600.0, far))),
            roll_deg=float(rng.normal(0.0, 1.0)),
            centre_mm=centre,
        )
        seen = camera.project_wall(rectangle(-100.0, -100.0, width + 100.0, 1.35 * height))
        if (seen > 0).all() and (seen < np.array(size)).all():
            return camera


@dataclass(frozen=True)
class Outcome:
    """A front lined up, beside its truth.

    Attributes
    ----------
    front : Front
    tidied : Tidied
    first : Tidied or None
        The first round, in which the groups were found.
    """

    front: Front
    tidied: Tidied
    first: Tidied | None = None

    def lost(self, from_u: float, to_u: float = np.inf) -> np.ndarray:
        """True differences of so many ±, and how many of them are gone."""
        true = true_numbers(self.tidied, self.front.truth)
        return differences_lost(self.tidied, true, from_u, to_u)

    def joined_too_far(self) -> int:
        """Pairs made one though they are measured more than 3 of their ± apart.

        By the ± of the round in which they were found: it is taken anew where they are one, and
        there a pair may lie a little over 3.
        """
        assert self.first is not None
        values = self.first.measured.values
        return int(differences_lost(self.first, values, MOST_APART, np.inf)[1])


def line_up(front: Front) -> Outcome:
    """Measure a front and line it up."""
    results = evaluate(front.survey, front.facts)
    face = front.survey.faces[0]
    solution = results.photos["street"].solution
    result = results.faces["front"]
    first = tidy(make_quantities(front.survey, face, solution, result))
    return Outcome(front, tidy_face(front.survey, face, solution, result), first)


def error_left(outcomes: list[Outcome], *, but_for_scale: bool = False) -> float:
    """The rms error of opening sizes after lining up, over that before.

    Each error counts in ± as measured, so that every front weighs alike: whether the two
    factors that the photo gives to all widths and all heights came out well by chance decides a
    single front. With `but_for_scale` both factors are taken out.
    """
    squares = np.zeros(2)
    for each in outcomes:
        numbers, truth = each.tidied.measured, each.front.truth
        found = np.array(size_errors(each.tidied, truth))
        sizes = np.array(
            [(right - left, head - sill) for left, right, sill, _, head in truth.values()]
        )
        u = [
            (numbers.u_of_difference(o.right, o.left), numbers.u_of_difference(o.head, o.sill))
            for o in numbers.openings
        ]
        if but_for_scale:
            found -= np.sum(found * sizes, 1, keepdims=True) / np.sum(sizes**2, 0) * sizes
        squares += np.mean((found / np.array(u)) ** 2, axis=(1, 2))
    return float(np.sqrt(squares[1] / squares[0]))


def size_errors(tidied: Tidied, truth: dict[str, Sizes]) -> tuple[np.ndarray, np.ndarray]:
    """Errors of widths and heights, as measured and as drawn; shape (n, 2) each."""
    found = []
    for numbers in (tidied.measured, tidied.numbers):
        v = numbers.values
        rows = []
        for each in numbers.openings:
            left, right, sill, _, head = truth[each.id]
            off = v[each.right] - v[each.left] - (right - left)
            rows.append((off, v[each.head] - v[each.sill] - (head - sill)))
        found.append(rows)
    return np.array(found[0]), np.array(found[1])


def true_numbers(tidied: Tidied, truth: dict[str, Sizes]) -> np.ndarray:
    """The true value of every number of a face, NaN where it belongs to no opening."""
    true = np.full(len(tidied.measured.values), np.nan)
    for each in tidied.measured.openings:
        columns = (each.left, each.right, each.sill, each.springing, each.head)
        for column, value in zip(columns, truth[each.id], strict=True):
            true[column] = value
    return true


def differences_lost(tidied: Tidied, true: np.ndarray, from_u: float, to_u: float) -> np.ndarray:
    """How many pairs are truly this many ± of their difference apart, and how many are made one.

    Parameters
    ----------
    tidied : Tidied
    true : ndarray
        Of every number of the face, NaN where nothing is known; the measured ones themselves
        tell what differs as measured.
    from_u, to_u : float

    Returns
    -------
    ndarray, shape (2,)
        All such pairs, and those of them that are drawn alike: in one group, or made one by
        other sizes that are.
    """
    found = np.zeros(2, dtype=int)
    for pool in make_pools(tidied.measured):
        if not pool.members:
            continue
        rows = pool.rows.toarray()
        known = (rows[:, np.isnan(true)] == 0).all(axis=1)
        values = np.where(known, rows @ np.nan_to_num(true), np.nan)
        cov = rows @ tidied.measured.cov @ rows.T
        variances = np.diagonal(cov)[:, None] + np.diagonal(cov)[None, :] - 2.0 * cov
        apart = np.abs(values[:, None] - values[None, :])
        # what is the same by itself has no ± of its difference, and no pair of it counts
        in_u = apart / np.sqrt(np.where(variances > 1e-9, variances, np.nan))
        far = np.triu((in_u > from_u) & (in_u <= to_u), 1)
        drawn = rows @ tidied.numbers.values
        # a ten-thousandth of a millimetre: what rounding leaves of sizes that are made one
        alike = np.abs(drawn[:, None] - drawn[None, :]) < 1e-4
        found += (far.sum(), (far & alike).sum())
    return found
