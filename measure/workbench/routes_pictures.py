"""Routes of the two sheets: windows of the photo and of the wall, cross-hair, snapping, ± map."""

from __future__ import annotations

from typing import Annotated, Any

import cv2
import numpy as np
from fastapi import APIRouter, Path, Query
from fastapi.responses import Response

from measure.workbench.answers import Answer
from measure.workbench.payloads import Carrying, OfFace, Snapping
from measure.workbench.photo_shelf import check_window_size, photo_window
from measure.workbench.routes_survey import Opened
from measure.workbench.screen_jpeg import DRAG_QUALITY, JPEG_QUALITY, jpeg_bytes
from measure.workbench.shelf import OpenSurvey
from measure.workbench.telling import clean_json
from rectify.projection import chart_mm_from_photo_px, photo_px_from_chart_mm
from rectify.snap import snap_corner
from rectify.straighten import straighten
from rectify.window import Window
from shared.errors import DegenerateError, FileError
from shared.survey import Pick

router = APIRouter(prefix="/api/surveys/{key}", tags=["pictures"])
Finite = Annotated[float, Query(allow_inf_nan=False, gt=-1e9, lt=1e9)]
Above = Annotated[float, Query(allow_inf_nan=False, gt=0, lt=1e9)]
Side = Annotated[int, Query(ge=1, le=8192)]
Id = Annotated[str, Path(min_length=1, max_length=80)]
Stamp = Annotated[str, Query(min_length=1, max_length=40)]

#: Spots of the ± map across the longer side of what is shown.
MAP_SPOTS = 7


class StampError(FileError):
    """The answer asked about is no longer kept."""

    code = "stamp"


@router.get("/photos/{photo}/view", response_class=Response)
def show_photo(
    opened: Opened,
    photo: Id,
    x: Finite,
    y: Finite,
    width: Above,
    height: Above,
    out_width: Side,
    out_height: Side,
) -> Response:
    """A part of a photo, in photo pixels, at the size of the screen, as JPEG."""
    survey, _ = opened.read()
    decoded = opened.decoded(survey, photo)
    pixels = photo_window(decoded.pyramid, (x, y, width, height), (out_width, out_height))
    quality = 95 if width <= out_width else JPEG_QUALITY
    return _jpeg(jpeg_bytes(pixels, quality), lasting=True)


@router.get("/walls/{face}/view", response_class=Response)
def show_wall(
    opened: Opened,
    face: Id,
    stamp: Stamp,
    u: Finite,
    v: Finite,
    width_mm: Above,
    height_mm: Above,
    out_width: Side,
    out_height: Side,
    paper: Annotated[str, Query(pattern="^[0-9a-fA-F]{6}$")] = "d3d0c7",
) -> Response:
    """A part of a straightened face, lower left corner at (u, v) millimetres, as JPEG.

    What the photo does not show is filled with the colour of the paper given. For results made
    while a pick was dragged the picture is plainer: one copy of the photo is read for all of it,
    and it is compressed more; see `rectify.straighten.straighten`.
    """
    answer = answer_of(opened, stamp)
    solution = answer.solution_of(face)
    check_window_size((out_width, out_height))
    decoded = opened.decoded(answer.survey, solution.photo.id)
    window = Window(u, v, u + width_mm, v + height_mm, out_width, out_height)
    quick = answer.quick
    made = straighten(
        decoded.photo.pixels,
        solution.view(face),
        window,
        one_level=quick,
        pyramid=decoded.pyramid,
    )
    if not made.visible.all():
        colour = [int(paper[i : i + 2], 16) for i in (0, 2, 4)]
        # black is what the photo does not show; its own colour is black plus the paper's
        cv2.add(made.rgb, (*colour, 0), dst=made.rgb, mask=cv2.bitwise_not(made.visible))
    return _jpeg(jpeg_bytes(made.rgb, DRAG_QUALITY if quick else JPEG_QUALITY), lasting=False)


@router.post("/map")
def carry_points(sent: Carrying, opened: Opened) -> dict[str, Any]:
    """Carry points from the photo to the wall (``to: chart``) or back; null where there is none."""
    solution = answer_of(opened, sent.stamp).solution_of(sent.face)
    view = solution.view(sent.face)
    points = np.array(sent.points, dtype=float).reshape(-1, 2)
    carry = chart_mm_from_photo_px if sent.to == "chart" else photo_px_from_chart_mm
    with np.errstate(all="ignore"):
        carried = carry(points, view)
    return {"points": [p.tolist() if np.isfinite(p).all() else None for p in carried]}


@router.post("/snap")
def snap_click(sent: Snapping, opened: Opened) -> dict[str, Any]:
    """Draw a rough click to the corner or edge it meant, with its own ±; null if there is none."""
    survey, _ = opened.read()
    decoded = opened.decoded(survey, sent.photo)
    pixels = decoded.photo.pixels
    x, y = sent.point
    if not (0 <= x <= pixels.shape[1] and 0 <= y <= pixels.shape[0]):
        return {"snapped": None}
    try:
        snap = snap_corner(pixels, sent.point, float(np.clip(sent.radius, 2.0, 30.0)))
    except DegenerateError:
        return {"snapped": None}
    if snap.kind != "corner":
        return {"snapped": None}
    return {
        "snapped": {
            "point": snap.point_photo_px.tolist(),
            "u_px": snap.u_px,
            "kind": snap.kind,
            "quality": snap.quality,
        }
    }


@router.post("/plus-minus")
def show_plus_minus(sent: OfFace, opened: Opened) -> dict[str, Any]:
    """How far a hand pick can be trusted at spots across the wall, from the frame's middle.

    At each spot the ± of its distance from the middle of what is picked, in millimetres.
    """
    answer = answer_of(opened, sent.stamp)
    solution = answer.solution_of(sent.face)
    told = answer.payload["page"]["faces"][sent.face]
    if not told["sized"]:
        return {"spots": []}
    u0, v0, u1, v1 = told["extent_mm"]
    step = max(u1 - u0, v1 - v0) / MAP_SPOTS
    us = np.arange(u0 + step / 2, u1, step)
    vs = np.arange(v0 + step / 2, v1, step)
    spots = np.array([(a, b) for b in vs for a in us])
    middle = np.array([[(u0 + u1) / 2, (v0 + v1) / 2]])
    px = photo_px_from_chart_mm(np.concatenate([middle, spots]), solution.view(sent.face))
    width, height = solution.photo.width_px, solution.photo.height_px
    inside = np.isfinite(px).all(axis=1) & (px >= 0).all(axis=1)
    inside &= (px[:, 0] <= width) & (px[:, 1] <= height)
    if not inside[0]:
        return {"spots": []}
    keep = np.flatnonzero(inside)
    charted = solution.charted(sent.face, [Pick(x=px[i, 0], y=px[i, 1]) for i in keep])
    rows = []
    for at in range(1, len(keep)):
        cov = charted.cov_chart([0, at])
        gap = charted.chart_mm[at] - charted.chart_mm[0]
        along = gap / max(float(np.hypot(*gap)), 1e-9)
        push = np.array([-along[0], -along[1], along[0], along[1]])
        u_mm = float(np.sqrt(max(float(push @ cov @ push), 0.0)))
        rows.append({"at": charted.chart_mm[at].tolist(), "u_mm": u_mm})
    spots_told: dict[str, Any] = clean_json({"spots": rows})
    return spots_told


def answer_of(opened: OpenSurvey, stamp: str) -> Answer:
    """Find the answer of a stamp.

    Raises
    ------
    StampError
        If it is no longer kept.
    """
    answer = opened.answerer.kept(stamp)
    if answer is None:
        raise StampError("These results are no longer at hand.", hint="Ask for them again.")
    return answer


def _jpeg(data: bytes, *, lasting: bool) -> Response:
    cache = "private, max-age=300" if lasting else "private, max-age=60"
    return Response(data, media_type="image/jpeg", headers={"cache-control": cache})
