"""Where the picks of a survey stand on the straightened wall, and the curves they make.

Everything is laid on the face itself (set-back 0), as the straightened picture is, so that a
mark stands on the thing it marks even where that lies behind the face.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np

from measure.elevation.openings import HeadKind, opening_path
from measure.elevation.path_geometry import ArcSegment, point_on_arc_mm, walk
from measure.results import FaceResult, MeasureResult
from rectify.diagnosis import Rival, Suspect
from rectify.projection import View, chart_mm_from_photo_px, photo_px_from_chart_mm
from rectify.solving.observations import reference_name
from shared.jets import Array
from shared.survey import (
    CoursesMeasure,
    Face,
    OpeningMeasure,
    Pick,
    RoofSurface,
    RoundSurface,
    Survey,
    Tie,
    WallSurface,
)

#: Steps that an arc is drawn with on the screen.
ARC_STEPS = 24

#: The view of a wall shows so much beyond what is picked, in parts of its size.
SHOWN_BEYOND = 0.18

#: A joint is drawn so far to either side, in parts of the height of all courses, and at least.
JOINT_SIDE, JOINT_SIDE_LEAST_MM = 0.06, 150.0

#: How far beyond the picks a wall can be looked at, in parts of their size.
LOOKED_BEYOND = 3.0


def paths_and_picks(face: Face, ties: Sequence[Tie] = ()) -> Iterator[tuple[str, Pick]]:
    """Every pick of a face with its path in the document, as the page writes it.

    Examples of paths: ``faces/@front/frame/#0``, ``faces/@front/measures/@w1/at/#3``.
    """
    start = f"faces/@{face.id}"
    for i, pick in enumerate(face.frame or ()):
        yield f"{start}/frame/#{i}", pick
    if face.datum is not None:
        yield f"{start}/datum", face.datum
    surface = face.surface
    if isinstance(surface, WallSurface) and surface.hinge:
        for i, pick in enumerate(surface.hinge.at):
            yield f"{start}/surface/hinge/at/#{i}", pick
    if isinstance(surface, WallSurface):
        for n, pair in enumerate(surface.returns):
            for i, pick in enumerate(pair):
                yield f"{start}/surface/returns/#{n}/#{i}", pick
    if isinstance(surface, RoofSurface):
        for i, pick in enumerate(surface.eaves.at):
            yield f"{start}/surface/eaves/at/#{i}", pick
    if isinstance(surface, RoundSurface):
        for i, pick in enumerate(surface.also_meets.at if surface.also_meets else ()):
            yield f"{start}/surface/also_meets/at/#{i}", pick
        for edge in ("left_edge", "right_edge", "meets_wall"):
            for i, pick in enumerate(getattr(surface, edge) or ()):
                yield f"{start}/surface/{edge}/#{i}", pick
    for n, guide in enumerate(face.guides):
        for i, pick in enumerate(guide.at):
            yield f"{start}/guides/#{n}/at/#{i}", pick
    for n, reference in enumerate(face.references):
        for i, pick in enumerate(reference.at):
            yield f"{start}/references/#{n}/at/#{i}", pick
    for measure in face.measures:
        for i, pick in enumerate(measure.at):
            yield f"{start}/measures/@{measure.id}/at/#{i}", pick
        if isinstance(measure, CoursesMeasure):
            for i, pick in enumerate(measure.joints):
                yield f"{start}/measures/@{measure.id}/joints/#{i}", pick
        if isinstance(measure, OpeningMeasure):
            for i, pick in enumerate(measure.head_at):
                yield f"{start}/measures/@{measure.id}/head_at/#{i}", pick
    for tie in ties:
        for i, end in enumerate(tie.at):
            if end.face == face.id:
                yield f"ties/@{tie.id}/at/#{i}/at", end.at


def picks_on_wall(face: Face, view: View, ties: Sequence[Tie] = ()) -> dict[str, list[float]]:
    """Chart place of every pick that meets the face, by path."""
    paths, picks = [], []
    for path, pick in paths_and_picks(face, ties):
        paths.append(path)
        picks.append((pick.x, pick.y))
    if not picks:
        return {}
    chart = chart_mm_from_photo_px(np.array(picks), view)
    return {
        path: [float(point[0]), float(point[1])]
        for path, point in zip(paths, chart, strict=True)
        if np.isfinite(point).all()
    }


def extent_of(picks_mm: Mapping[str, list[float]]) -> list[float] | None:
    """Window that shows all picks of a face: ``[u0, v0, u1, v1]``."""
    if len(picks_mm) < 2:
        return None
    points = np.array(list(picks_mm.values()))
    low, high = points.min(axis=0), points.max(axis=0)
    size = np.maximum(high - low, 0.25 * float((high - low).max()) + 1.0)
    middle = (low + high) / 2
    half = size * (0.5 + SHOWN_BEYOND)
    return [float(n) for n in (*(middle - half), *(middle + half))]


def limits_of(extent: list[float], view: View, width_px: int, height_px: int) -> list[float]:
    """Window beyond which the photo shows nothing of the face, or too slantingly to be of use."""
    u0, v0, u1, v1 = extent
    beyond = LOOKED_BEYOND * max(u1 - u0, v1 - v0)
    low = np.array([u0 - beyond, v0 - beyond])
    high = np.array([u1 + beyond, v1 + beyond])
    x, y = np.meshgrid(np.linspace(0, width_px, 25), np.linspace(0, height_px, 25))
    seen = chart_mm_from_photo_px(np.stack([x.ravel(), y.ravel()], axis=-1), view)
    seen = seen[np.isfinite(seen).all(axis=1)]
    if len(seen):
        near = np.clip(seen, low, high)
        low, high = near.min(axis=0), near.max(axis=0)
    low = np.minimum(low, extent[:2])
    high = np.maximum(high, extent[2:])
    return [float(n) for n in (*low, *high)]


def curves_of(face: Face, result: FaceResult, view: View) -> dict[str, dict[str, Any]]:
    """Outlines that picks alone do not give: arched heads and arcs, on wall and photo.

    Returns
    -------
    dict
        By path of the measure: ``mm`` on the wall, ``px`` in the photo.
    """
    curves: dict[str, dict[str, Any]] = {}
    for measure in face.measures:
        got = result.measures.get(measure.id)
        if got is None:
            continue
        line = _outline_mm(measure, got)
        if line is None:
            continue
        px = photo_px_from_chart_mm(line, view, measure.set_back_mm)
        mm = chart_mm_from_photo_px(px, view)
        if np.isfinite(px).all() and np.isfinite(mm).all():
            curves[f"faces/@{face.id}/measures/@{measure.id}"] = {
                "mm": mm.round(2).tolist(),
                "px": px.round(2).tolist(),
            }
    return curves


def joints_of(result: FaceResult, view: View) -> dict[str, dict[str, Any]]:
    """Bed joints of courses as short level lines, by the id of their measure.

    Returns
    -------
    dict
        ``mm`` on the wall and ``px`` in the photo, one line for each joint, upwards.
    """
    lines: dict[str, dict[str, Any]] = {}
    for id_, measure in result.measures.items():
        picks = measure.facts.get("joints_px")
        if not picks:
            continue
        at = chart_mm_from_photo_px(np.array(picks)[:, :2], view)
        if not np.isfinite(at).all():
            continue
        u, v = at.T
        side = max(JOINT_SIDE_LEAST_MM, JOINT_SIDE * float(np.ptp(v)))
        left, right = float(u.min()) - side, float(u.max()) + side
        mm = np.stack([np.stack([np.full(len(v), end), v], axis=-1) for end in (left, right)], 1)
        px = photo_px_from_chart_mm(mm.reshape(-1, 2), view).reshape(mm.shape)
        if np.isfinite(px).all():
            lines[id_] = {"mm": mm.round(2).tolist(), "px": px.round(2).tolist()}
    return lines


def _outline_mm(measure: object, got: MeasureResult) -> Array | None:
    if not isinstance(measure, OpeningMeasure) or measure.head == "flat":
        return None
    sizes = got.sizes
    try:
        width, height = float(got.size("width_mm")), float(got.size("height_mm"))
        left = float(got.size("left_mm"))
        # heights count from the datum; the chart place of the sill comes from the picks
        sill = _sill_v_mm(measure.head, got, height)
        rise = float(got.size("rise_mm")) if "rise_mm" in sizes else None
        path = opening_path(left, sill, width, height, measure.head, rise)
    except (KeyError, ValueError, TypeError):
        return None
    points = [path.start_mm]
    for start, segment in walk(path.start_mm, path.segments):
        if isinstance(segment, ArcSegment):
            turns = np.linspace(0.0, segment.sweep_rad, ARC_STEPS + 1)[1:]
            points += [point_on_arc_mm(start, segment, float(turn)) for turn in turns]
        else:
            points.append(segment.to_mm)
    return np.array(points)


def _sill_v_mm(head: HeadKind, got: MeasureResult, height: float) -> float:
    v = got.points_mm[:, 1]
    if head == "round":
        return float((v.min() + v.max()) / 2 - height / 2)
    return float(np.sort(v[:4])[:2].mean())


def suspect_path(survey: Survey, suspect: Suspect | Rival) -> str:
    """Path in the document of what a suspect names."""
    face = next((face for face in survey.faces if face.id == suspect.face), None)
    if face is None:
        return ""
    if suspect.pick_px is not None:
        for path, pick in paths_and_picks(face):
            near = math.isclose(pick.x, suspect.pick_px[0]) and math.isclose(
                pick.y, suspect.pick_px[1]
            )
            if near:
                return path
    for i, reference in enumerate(face.references):
        if reference_name(reference, i) == suspect.item:
            return f"faces/@{face.id}/references/#{i}"
    return f"faces/@{face.id}"
