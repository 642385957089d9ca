"""The demo's walls with every opening picked, and the picks seeded anew.

Projects by its own plain numpy from fixtures/demo/truth.json.
"""

from __future__ import annotations

import copy
import json
import math
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from measure.evaluate import evaluate
from measure.results import Results
from rectify.solution import PhotoFacts
from shared.survey import Survey

TRUTH = Path(__file__).parents[2] / "fixtures" / "demo" / "truth.json"
HINGE_DEG = 118.0


@cache
def demo_truth() -> dict[str, Any]:
    return json.loads(TRUTH.read_text("utf-8"))


def project(photo: str, points_mm: np.ndarray) -> np.ndarray:
    """Pixels of building points in one of the demo's photos."""
    camera = demo_truth()["photos"][photo]
    rotation = np.array(camera["cam_from_building"])
    x = (np.asarray(points_mm, dtype=float) - camera["camera_centre_mm"]) @ rotation.T
    ab = x[..., :2] / x[..., 2:]
    s = np.sum(ab**2, axis=-1, keepdims=True)
    lens = 1 + camera["k1"] * s + camera["k2"] * s * s
    return np.array(camera["principal_px"]) + camera["focal_px"] * lens * ab


def building_point(wall: str, u: float, v: float) -> list[float]:
    if wall == "front":
        return [u, v, 0.0]
    turn = math.radians(180.0 - HINGE_DEG)
    return [u * math.cos(turn), v, -u * math.sin(turn)]


def openings_of(wall: str) -> list[dict[str, Any]]:
    return demo_truth()["surfaces"][wall]["openings"]


def _head_points(each: dict[str, Any]) -> list[tuple[float, float]]:
    middle = (each["u0_mm"] + each["u1_mm"]) / 2
    return [(middle, each["v1_mm"])] if each["head"] != "flat" else []


def _round_points(each: dict[str, Any]) -> list[tuple[float, float]]:
    u, v = (each["u0_mm"] + each["u1_mm"]) / 2, (each["v0_mm"] + each["v1_mm"]) / 2
    r = (each["u1_mm"] - each["u0_mm"]) / 2
    return [
        (u + r * math.cos(a), v + r * math.sin(a)) for a in np.radians([135.0, 45.0, -45.0, -135.0])
    ]


def wall_survey(
    face_id: str, *, seed: int | None, sigma_px: float = 1.0, sizes_too: bool = False
) -> Survey:
    """One wall of the demo with its own frame, guides and references, and every opening.

    `seed` None gives exact picks. Levels and the outline are those of the demo. With
    `sizes_too` the known sizes are drawn within their ± as well.
    """
    truth = demo_truth()
    every = copy.deepcopy(truth["exact_picks"])
    face = every[face_id]
    names = [face_id]
    hinge = face["surface"].get("hinge")
    if hinge:
        names.insert(0, hinge["face"])
    photo = face["photo"]
    camera = truth["photos"][photo]
    size = np.array([camera["width_px"], camera["height_px"]])
    wall = "wing" if face_id.startswith("wing") else "front"
    measures: list[dict[str, Any]] = []
    for each in openings_of(wall):
        u0, u1, v0 = each["u0_mm"], each["u1_mm"], each["v0_mm"]
        top = each["springing_mm"]
        corners = [(u0, top), (u1, top), (u1, v0), (u0, v0)]
        points = corners + _head_points(each)
        if each["head"] == "round":
            points = _round_points(each)
        px = project(photo, np.array([building_point(wall, u, v) for u, v in points]))
        if (px < 2).any() or (px > size - 2).any():
            continue
        picks = px.tolist()
        measures.append(
            {"id": each["id"], "kind": "opening", "at": picks[:4], "head": each["head"],
             "head_at": picks[4:]}
        )  # fmt: skip
    kinds = ("level", "outline", "spacing")
    measures += [one for one in face["measures"] if one["kind"] in kinds]
    faces = [every[name] for name in names]
    for one in faces:
        one["measures"] = measures if one["id"] == face_id else []
    document = {
        "title": truth["title"],
        "photos": [{"id": photo, "file": f"{photo}.jpg"}],
        "faces": faces,
    }
    if seed is not None:
        rng = np.random.default_rng(seed)
        document["faces"] = _shaken(document["faces"], rng, sigma_px)
        for known in (one for face in document["faces"] for one in face["references"]):
            if sizes_too and known["kind"] == "length":
                known["length_mm"] += float(rng.normal(0.0, known["u_mm"]))
            elif sizes_too:
                known["gauge_mm"] += float(rng.normal(0.0, known["u_gauge_mm"]))
    return Survey.model_validate(document)


def _shaken(node: Any, rng: np.random.Generator, sigma_px: float) -> Any:
    """Copy with noise on every pick: a list of two numbers."""
    if isinstance(node, dict):
        return {key: _shaken(value, rng, sigma_px) for key, value in node.items()}
    if isinstance(node, list):
        if len(node) == 2 and all(isinstance(n, float) for n in node):
            return [n + float(rng.normal(0.0, sigma_px)) for n in node]
        return [_shaken(value, rng, sigma_px) for value in node]
    return node


def demo_facts(survey: Survey) -> dict[str, PhotoFacts]:
    truth = demo_truth()["photos"]
    return {
        photo.id: PhotoFacts(
            photo.id,
            truth[photo.id]["width_px"],
            truth[photo.id]["height_px"],
            truth[photo.id]["focal_35mm_exif"],
        )
        for photo in survey.photos
    }


def measured_wall(
    face_id: str, seed: int | None, sigma_px: float = 1.0, *, sizes_too: bool = False
) -> tuple[Survey, Results]:
    survey = wall_survey(face_id, seed=seed, sigma_px=sigma_px, sizes_too=sizes_too)
    return survey, evaluate(survey, demo_facts(survey))
