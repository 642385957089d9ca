"""A small synthetic street photo with a survey of it, for command and workflow tests."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from tests.support.scenes import SceneCamera, picks, rectangle

CAMERA = SceneCamera(
    focal_px=750.0,
    width_px=1000,
    height_px=750,
    yaw_deg=-18.0,
    pitch_deg=6.0,
    centre_mm=(3500.0, 1600.0, 11000.0),
)


def street_survey() -> dict[str, Any]:
    """A survey whose picks are exact; widths 1200, heights 1800, door leaf 2032."""
    wall = CAMERA.project_wall

    def opening(id_: str, u: float, v: float, **more: Any) -> dict[str, Any]:
        at = picks(wall(rectangle(u, v, u + 1200, v + 1800)))
        return {"id": id_, "kind": "opening", "label": id_.upper(), "at": at, **more}

    measures = [
        opening("w1", -3000, 3300),
        opening("w2", -600, 3300),
        opening("w3", 1800, 3300),
        {
            "id": "d1",
            "kind": "distance",
            "at": picks(wall(np.array([[-3000.0, 3000.0], [3000.0, 3000.0]]))),
        },
        {
            "id": "h1",
            "kind": "level",
            "label": "string",
            "at": picks(wall(np.array([[0.0, 2900.0]]))),
        },
        {
            "id": "c1",
            "kind": "courses",
            "count": 12,
            "at": picks(wall(np.array([[-2000.0, 0.0], [-2000.0, 900.0]]))),
        },
        {
            "id": "o1",
            "kind": "outline",
            "at": picks(wall(rectangle(-3600, 0, 3600, 5600))),
        },
    ]
    return {
        "format": "storeyrod survey",
        "version": 1,
        "title": "Pennywhistle gatehouse",
        "model_scale": "1:148",
        "photos": [
            {"id": "street", "file": "street.png", "focal_35mm": 750 * 43.2666153 / 1250},
        ],
        "faces": [
            {
                "id": "front",
                "label": "Street front",
                "photo": "street",
                "frame": picks(wall(rectangle(-3000, 600, 3000, 5100))),
                "references": [
                    {
                        "kind": "length",
                        "label": "door leaf",
                        "at": picks(wall(np.array([[0.0, 100.0], [0.0, 2132.0]]))),
                        "length_mm": 2032,
                        "u_mm": 3,
                    },
                    {
                        "kind": "length",
                        "label": "shop front",
                        "at": picks(wall(np.array([[-2500.0, 700.0], [2500.0, 700.0]]))),
                        "length_mm": 5000,
                        "u_mm": 5,
                    },
                ],
                "measures": measures,
            }
        ],
    }


def write_street(folder: Path, change: dict[str, Any] | None = None) -> Path:
    """Write photo and survey into a folder and return the survey's path.

    `change` replaces keys of the survey's only face.
    """
    survey = copy.deepcopy(street_survey())
    if change:
        survey["faces"][0].update(change)
    folder.mkdir(parents=True, exist_ok=True)
    y, x = np.mgrid[0 : CAMERA.height_px, 0 : CAMERA.width_px]
    tone = (128 + 60 * np.sin(x / 7.0) * np.sin(y / 5.0)).astype(np.uint8)
    Image.fromarray(np.stack([tone, tone, tone // 2], axis=-1)).save(folder / "street.png")
    path = folder / "street.survey.json"
    path.write_text(json.dumps(survey), "utf-8")
    return path
