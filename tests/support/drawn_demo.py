"""The demo's faces in numbers, photographed again and again by cameras drawn by chance.

The building is the demo's, the truth that of its sizes; focal length, principal point and
lens are drawn from what the program believes of a camera with EXIF, the known sizes from
their own ±, the picks from theirs: only then can a stated ± be held to account.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from fixtures.pennywhistle.cameras import CAMERAS, Camera, focal_px_from_35mm
from fixtures.pennywhistle.picks import FacePicks
from fixtures.pennywhistle.records import with_pixels
from measure.evaluate import evaluate
from measure.results import Results
from rectify.solution import PhotoFacts
from rectify.solving.observations import OUT_OF_TRUE
from shared.survey import Survey

U_LOG_FOCAL, U_K1 = 0.03, 0.01


@dataclass
class DrawnDemo:
    """Faces of one photo of the demo, to be measured in many trials.

    Parameters
    ----------
    faces : list of FacePicks
    u_px : float
        How far the picks miss in each direction, and what they say of it.
    seed : int
    """

    faces: list[FacePicks]
    u_px: float
    seed: int = 0
    own_camera: bool = False

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng(self.seed)
        self.camera = CAMERAS[self.faces[0].item["photo"]]

    @property
    def facts(self) -> PhotoFacts:
        camera = self.camera
        return PhotoFacts(camera.id, camera.width_px, camera.height_px, camera.focal_35mm)

    def believed_camera(self) -> Camera:
        """The demo's stand and turn, with the lens as EXIF says it."""
        c = self.camera
        focal = focal_px_from_35mm(c.focal_35mm, c.width_px, c.height_px)
        middle = (c.width_px / 2, c.height_px / 2)
        return replace(c, focal_px=focal, principal_px=middle, k1=0.0, k2=0.0)

    def drawn_camera(self) -> Camera:
        """A camera as it may be, for all that is believed beforehand."""
        c, draw = self.believed_camera(), self.rng.standard_normal
        shift = 0.015 * np.hypot(c.width_px, c.height_px) * draw(2)
        return replace(
            c,
            focal_px=c.focal_px * float(np.exp(U_LOG_FOCAL * draw())),
            principal_px=(c.principal_px[0] + shift[0], c.principal_px[1] + shift[1]),
            k1=U_K1 * float(draw()),
        )

    def _picked(self, node: Any, camera: Camera, u_px: float | None = None) -> Any:
        u = self.u_px if u_px is None else u_px

        def to_px(point: Any) -> list[float]:
            x, y = camera.photo_px(point) + u * self.rng.standard_normal(2)
            return [float(x), float(y), self.u_px]

        return with_pixels(node, to_px)

    def survey(self) -> Survey:
        """A survey of the faces as one trial gives it."""
        camera = self.camera if self.own_camera else self.drawn_camera()
        drawn = []
        for face in self.faces:
            item = self._picked({**face.item, "measures": []}, camera)
            for measure in face.item["measures"]:
                u = self.u_px
                if measure["kind"] == "opening":
                    seen = np.array([camera.photo_px(p) for p in measure["at"]])
                    u = np.hypot(u, OUT_OF_TRUE * np.hypot(*np.ptp(seen, axis=0)))
                item["measures"].append(self._picked(measure, camera, float(u)))
            for reference in item["references"]:
                u_key, key = ("u_mm", "length_mm")
                if reference["kind"] == "courses":
                    u_key, key = ("u_gauge_mm", "gauge_mm")
                    reference[key] = true_gauge_mm(reference, face)
                reference[key] += reference[u_key] * float(self.rng.standard_normal())
            drawn.append(item)
        return Survey.model_validate(
            {"photos": [{"id": self.camera.id, "file": "x.jpg"}], "faces": drawn}
        )

    def measured(self) -> tuple[Survey, Results]:
        """One trial through the whole program."""
        survey = self.survey()
        return survey, evaluate(survey, {self.camera.id: self.facts})


def true_gauge_mm(reference: dict[str, Any], face: FacePicks) -> float:
    """Gauge between the very joints that a reference of courses is picked at."""
    for other in face.item["references"]:
        if other["kind"] == "courses" and other["count"] == reference["count"]:
            return float(np.linalg.norm(np.subtract(*other["at"]))) / other["count"]
    raise ValueError("no such reference")


def sizes_of_trial(
    results: Results, face: str, truth: dict[str, Any]
) -> dict[str, tuple[float, float, float]]:
    """Error, ± and truth of each size of a face whose truth is known."""
    out: dict[str, tuple[float, float, float]] = {}
    for name, measure in results.faces[face].measures.items():
        for key, true in truth[name].items():
            size = measure.sizes.get(key)
            if isinstance(true, float) and isinstance(size, float) and key in measure.u:
                out[f"{name} {key}"] = (size - true, measure.u_of(key), true)
    return out
