"""Warnings beside results: what is usable but should be known."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely

from measure.results import MeasureResult
from rectify.diagnosis import find_suspects, weak_points
from rectify.solution import Charted, Solution
from shared.errors import FieldError
from shared.number_text import format_number
from shared.reference_sizes import find_reference_size
from shared.survey import Face, LengthReference, Measure, OpeningMeasure, OutlineMeasure

#: What a knife cuts to on card (common practice, no source).
KNIFE_MM = 0.2

#: A usual depth from wall face to glass (common practice, no source).
USUAL_REVEAL_MM = 100.0


#: A lens that shifts picks near the rim by more than this part of their distance from the
#: middle, beyond doubt, was straightened by nobody: phones leave a fifth of it (judgement).
#: The rim is where the square of that distance is `RIM` of the corner's.
BENT_LENS, SURELY, RIM = 0.015, 2.5, 0.5

#: Ends of a leaf this close to those of an opening are the opening's (full size; the frame
#: between them is 20 mm and more: common practice, no source).
SAME_EDGE_MM = 12.0


def doubts_of_photo(solution: Solution, faces: Sequence[Face]) -> tuple[str, ...]:
    """Suspect picks first, then what is weak, then what is often mistaken."""
    suspects = [suspect.sentence for suspect in find_suspects(solution)[:5]]
    leaves = [sentence for face in faces for sentence in _leaves_picked_as_openings(solution, face)]
    return tuple(suspects + weak_points(solution) + _bent_lens(solution) + leaves)


def _bent_lens(solution: Solution) -> list[str]:
    photo, state = solution.photo.id, solution.unknowns
    half_px = 0.5 * math.hypot(solution.photo.width_px, solution.photo.height_px)
    rim = RIM * (half_px / state.bend_focal_px) ** 2
    powers = {"bend_1": rim, "bend_2": rim**2}
    free = [what for what in powers if (photo, what) in state.names]
    at = [state.index(photo, what) for what in free]
    # the two terms are known together far better than each
    push = np.array([powers[what] for what in free])
    bend = abs(float(push @ state.values[at]))
    u_bend = math.sqrt(float(push @ solution.adjusted.cov_unknowns[np.ix_(at, at)] @ push))
    # the second term is free only where a lens free to bend explains the picks better
    if bend < BENT_LENS or ("bend_2" not in free and bend < SURELY * u_bend):
        return []
    bend_px = bend * math.sqrt(rim) * state.bend_focal_px
    return [
        f"The lens bends straight edges, by {format_number(bend_px, 0)} px towards the corners of "
        "the photo. It is allowed for as far as guides of three and more picks show it: lay some "
        "along long straight edges near the rim, or photograph with the camera's ordinary lens."
    ]


def _leaves_picked_as_openings(solution: Solution, face: Face) -> list[str]:
    """Say where a size of a door's leaf runs from edge to edge of a measured opening."""
    openings = [
        measure
        for measure in face.measures
        if isinstance(measure, OpeningMeasure)
        and "leaf" not in f"{measure.id} {measure.label}".lower()
    ]
    leaves = [r for r in face.references if isinstance(r, LengthReference) and _is_leaf(r)]
    if not openings or not leaves or not solution.scaled:
        return []
    said = []
    for leaf in leaves:
        ends = solution.charted(face.id, leaf.at, leaf.set_back_mm).chart_mm
        axis = int(np.argmax(np.abs(ends[1] - ends[0])))
        low, high = np.sort(ends[:, axis])
        for opening in openings:
            corners = solution.charted(face.id, opening.at, opening.set_back_mm).chart_mm
            along, across = np.sort(corners[:, axis]), np.sort(corners[:, 1 - axis])
            edges = along[:2].mean(), along[2:].mean()
            beside = across[0] - 100.0 <= ends[:, 1 - axis].mean() <= across[3] + 100.0
            if beside and abs(low - edges[0]) + abs(high - edges[1]) < 2.0 * SAME_EDGE_MM:
                name = f" '{leaf.label}'" if leaf.label else ""
                said.append(
                    f"The known size{name} of face '{face.id}' is that of a door's leaf, but it "
                    f"was picked from edge to edge of '{opening.id}': if that is the opening in "
                    "the wall, it is 40 to 110 mm larger and all sizes come out too small, so "
                    "pick the leaf itself."
                )
                break
    return said


def _is_leaf(reference: LengthReference) -> bool:
    if reference.size is None:
        return "leaf" in reference.label.lower().split()
    try:
        return find_reference_size(reference.size).part == "leaf"
    except FieldError:
        return False


def doubts_of_measure(
    measure: Measure,
    result: MeasureResult,
    charted: Charted,
    rows: Sequence[int],
    denominator: float,
) -> list[str]:
    """Say what should be known of one measure."""
    out: list[str] = []
    if isinstance(measure, OpeningMeasure) and measure.at_glass and measure.set_back_mm == 0.0:
        distance_mm = _distance_mm(charted, rows)
        share = USUAL_REVEAL_MM / (distance_mm + USUAL_REVEAL_MM)
        low = share * result.size("width_mm")
        out.append(
            f"Picked at the glass with no set-back: glass {USUAL_REVEAL_MM:.0f} mm behind the wall "
            f"would make it {low:.0f} mm wider than this. Give its set-back."
        )
    if isinstance(measure, OutlineMeasure) and not _is_simple(result):
        out.append(
            "The outline crosses itself, so its area means nothing: pick its corners in their "
            "order round the wall."
        )
    u_model = [
        u / denominator
        for key, u in result.u.items()
        if key in ("width_mm", "height_mm", "length_mm") and isinstance(u, float)
    ]
    if u_model and max(u_model) > KNIFE_MM:
        out.append(
            f"Only to ±{max(u_model):.2f} mm on the model, more than a knife's {KNIFE_MM:g} mm: "
            "pick it zoomed in, and hold the wall by a wider frame."
        )
    return out


def _is_simple(result: MeasureResult) -> bool:
    ring = shapely.remove_repeated_points(shapely.LinearRing(result.points_mm))
    return bool(ring.is_simple)


def _distance_mm(charted: Charted, rows: Sequence[int]) -> float:
    """Distance of the camera from the face, square to it, near the picks."""
    surface = charted.solution.surface(charted.faces[rows[0]])
    _, pose = charted.solution.camera_and_pose
    u, v = np.mean(charted.chart_mm[list(rows)], axis=0)
    here = surface.building_mm_from_chart(float(u), float(v))
    behind = surface.building_mm_from_chart(float(u), float(v), 1.0)
    normal = [float(a) - float(b) for a, b in zip(here, behind, strict=True)]
    gap = [float(c) - float(h) for c, h in zip(pose.centre_mm, here, strict=True)]
    return abs(math.fsum(n * g for n, g in zip(normal, gap, strict=True)))
