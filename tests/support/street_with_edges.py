"""A wide-angle street photo with a survey of four rough clicks, written into a folder."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
from PIL import Image

from tests.support.line_photos import Street, draw_street, rough, wide_camera
from tests.support.scenes import SceneCamera, picks, rectangle
from tests.support.surveyed import focal_35mm

SEED = 80
FAR = rectangle(-5200.0, 5200.0, -4000.0, 7000.0)


def write_wide_street(folder: Path, width_px: int = 900) -> tuple[Path, SceneCamera]:
    """Write photo and survey; the far window is picked exactly, the rest roughly."""
    rng = np.random.default_rng(SEED)
    camera = wide_camera(rng, width_px)
    folder.mkdir(parents=True, exist_ok=True)
    Image.fromarray(draw_street(Street(camera, seed=SEED))).save(folder / "wide.png")
    door = np.array([[600.0, 0.0], [600.0, 2200.0]])
    far = camera.project_wall(FAR)
    survey = {
        "format": "storeyrod survey",
        "version": 1,
        "title": "Pennywhistle malt store",
        "photos": [{"id": "street", "file": "wide.png", "focal_35mm": float(focal_35mm(camera))}],
        "faces": [
            {
                "id": "front",
                "photo": "street",
                "frame": rough(rectangle(-3200.0, 3000.0, 600.0, 4800.0), camera, rng, 1.5),
                "references": [
                    {
                        "kind": "length",
                        "at": rough(door, camera, rng, 1.0),
                        "length_mm": 2200.0,
                        "u_mm": 5.0,
                    }
                ],
                "guides": [
                    {
                        "kind": "plumb",
                        "at": rough(np.array([[-6000.0, 500.0], [-6000.0, 6500.0]]), camera, rng),
                    }
                ],
                "measures": [{"id": "far", "kind": "distance", "at": picks(far[:2])}],
            }
        ],
    }
    path = folder / "wide.survey.json"
    path.write_text(json.dumps(survey), "utf-8")
    return path, camera
