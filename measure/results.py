"""What measuring a survey gives, and how it is written as JSON.

The shape of the JSON is a contract: keys may be added, none may change its meaning.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from measure.space_points import LocatedPoint
from rectify.placements import Placement
from rectify.solution import Solution
from rectify.surfaces import Round
from shared.jets import Array

SizeValue = float | list[float]


@dataclass(frozen=True, slots=True)
class MeasureResult:
    """Sizes of one measure.

    Parameters
    ----------
    id, kind, label : str
    sizes : mapping of str to float or list of float
        Keys end in their unit.
    u : mapping of str to float or list of float
        Standard uncertainties under the same keys.
    points_mm : ndarray, shape (k, 2)
        Chart positions of the picks.
    warnings : tuple of str
    facts : mapping
        What is not a size: a count, whether it is sure.
    inputs : tuple of int
        Rows of the face's charted picks that the measure is made of.
    """

    id: str
    kind: str
    label: str
    sizes: Mapping[str, SizeValue]
    u: Mapping[str, SizeValue]
    points_mm: Array
    warnings: tuple[str, ...] = ()
    facts: Mapping[str, Any] = field(default_factory=dict)

    def size(self, key: str) -> float:
        """One size as a number."""
        value = self.sizes[key]
        if isinstance(value, list):
            raise TypeError(f"{key} of measure {self.id} is a list")
        return value

    def u_of(self, key: str) -> float:
        """Standard uncertainty of one size."""
        value = self.u[key]
        if isinstance(value, list):
            raise TypeError(f"{key} of measure {self.id} is a list")
        return value


@dataclass(frozen=True, slots=True)
class FaceResult:
    """One face measured.

    Parameters
    ----------
    id, photo : str
    datum_v_mm : float
        Chart height that levels count from.
    measures : mapping of id to MeasureResult
    problems : mapping of id to StoreyrodError
        Measures that the picture cannot give.
    """

    id: str
    photo: str
    datum_v_mm: float
    measures: Mapping[str, MeasureResult]
    problems: Mapping[str, Exception] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class PhotoResult:
    """One photo solved and what is to be said of it."""

    solution: Solution
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Results:
    """A whole survey measured.

    ``placements`` says for each photo that is tied to others in whose frame it is placed, and
    how; ``points`` are those that ties locate in space.
    """

    title: str
    model_scale: str
    denominator: float
    photos: Mapping[str, PhotoResult]
    faces: Mapping[str, FaceResult]
    placements: Mapping[str, tuple[str, Placement]] = field(default_factory=dict)
    points: Mapping[str, LocatedPoint] = field(default_factory=dict)

    def _repr_html_(self) -> str:
        """Show the sizes as a table in a notebook."""
        from measure.size_rows import html_of_sizes  # which reads results

        return html_of_sizes(self)


def json_from_results(results: Results) -> dict[str, Any]:
    """Results as plain JSON data, the output of ``storeyrod measure --json``."""
    out: dict[str, Any] = {
        "title": results.title,
        "model_scale": results.model_scale,
        "photos": {id_: _photo(photo) for id_, photo in results.photos.items()},
        "faces": {id_: _face(face, results) for id_, face in results.faces.items()},
    }
    if results.points:
        out["points"] = {id_: _point(point, results) for id_, point in results.points.items()}
    return out


def _point(point: LocatedPoint, results: Results) -> dict[str, Any]:
    out: dict[str, Any] = {"face": point.face, "label": point.label}
    for key in ("along_mm", "level_mm", "set_back_mm"):
        out[key] = getattr(point, key)
        out[f"u_{key}"] = getattr(point, f"u_{key}")
        out[f"model_{key}"] = out[key] / results.denominator
    return out


def _photo(photo: PhotoResult) -> dict[str, Any]:
    solution = photo.solution
    log_focal, u_log_focal = solution.value_and_u(solution.photo.id, "log_focal")
    k1, u_k1 = solution.value_and_u(solution.photo.id, "k1")
    focal_px = float(np.exp(log_focal))
    return {
        "focal_px": focal_px,
        "u_focal_px": focal_px * u_log_focal,
        "k1": k1,
        "u_k1": u_k1,
        "rms_px": solution.rms_px,
        "redundancy": solution.redundancy,
        "misfit": solution.adjusted.misfit,
        "warnings": list(photo.warnings),
    }


def _face(face: FaceResult, results: Results) -> dict[str, Any]:
    solution = results.photos[face.photo].solution
    out: dict[str, Any] = {}
    shape = solution.unknowns.shapes[face.id]
    if isinstance(solution.surface(face.id), Round):
        out["radius_mm"], out["u_radius_mm"] = solution.value_and_u(face.id, "radius")
        if shape.kind != "alone":
            back, u_back = solution.value_and_u(face.id, "axis_set_back")
            out["axis_set_back_mm"], out["u_axis_set_back_mm"] = back, u_back
    elif shape.kind == "hinged":
        heading, u_heading = solution.value_and_u(face.id, "heading")
        out["hinge_deg"] = float(np.degrees(heading))
        out["u_hinge_deg"] = float(np.degrees(u_heading))
    elif shape.kind == "roof":
        pitch, u_pitch = solution.value_and_u(face.id, "pitch")
        out["pitch_deg"] = float(np.degrees(pitch))
        out["u_pitch_deg"] = float(np.degrees(u_pitch))
    elif shape.kind == "parallel":
        out["set_back_mm"], out["u_set_back_mm"] = solution.value_and_u(face.id, "set_back")
    out["measures"] = {
        id_: json_from_measure(measure, results.denominator)
        for id_, measure in face.measures.items()
    }
    if face.problems:
        out["problems"] = {id_: str(problem) for id_, problem in face.problems.items()}
    return out


def json_from_measure(measure: MeasureResult, denominator: float) -> dict[str, Any]:
    """One measure as JSON: each size, its ``u_``, and its ``model_`` size when it is a length."""
    out: dict[str, Any] = {"kind": measure.kind, "label": measure.label, **measure.facts}
    for key, value in measure.sizes.items():
        out[key] = value
        out[f"u_{key}"] = measure.u[key]
        if key.endswith("_mm") and not isinstance(value, list):
            out[f"model_{key}"] = value / denominator
    out["warnings"] = list(measure.warnings)
    return out
