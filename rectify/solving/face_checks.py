"""What no building can be, found before or after a photo is solved: one sentence each."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from rectify.solving.observations import Sheet
from rectify.starts.tower import bearing_rad, outlines_of
from shared.errors import DegenerateError, FieldError, UnderdeterminedError
from shared.jets import Array
from shared.survey import Face, OpeningMeasure, RoundSurface, WallSurface

#: A hinge that leans more than this is another line, not a badly picked one (judgement).
MOST_LEAN_DEG = 12.0

#: A size known no better than this part of itself is not known.
OPEN_PART = 0.5

#: A pitch known no better than this is not known.
MOST_OPEN_PITCH_DEG = 15.0


def check_tower_is_told(face: Face) -> None:
    """Refuse a tower of which too little is known to place it.

    Raises
    ------
    UnderdeterminedError, FieldError

    Notes
    -----
    A tower beside a wall has three unknowns: axis (two) and radius. Each outline, each line
    where it meets a wall, each given number and each known size on it, or a course curve,
    settles one. On its own it is seen from straight before it, so its two outlines place it.
    """
    surface = face.surface
    if not isinstance(surface, RoundSurface):
        return
    edges = len(outlines_of(surface))
    meets = (surface.meets_wall is not None) + (surface.also_meets is not None)
    if surface.meets_wall is not None and surface.beside is None:
        raise FieldError(
            f"Tower '{face.id}' meets a wall, and no wall is named.",
            hint="Say which wall it stands beside.",
            details={"face": face.id},
        )
    if edges == 0 and meets < 2:
        raise UnderdeterminedError(
            f"Tower '{face.id}' has no outline.",
            hint="Pick two points or more along its left or right outline, or, where none is to "
            "be seen, both lines where it meets the wall.",
            details={"face": face.id},
            unobservable=("radius",),
        )
    given = (surface.radius_mm is not None) + (surface.axis_set_back_mm is not None)
    sized = bool(face.references)
    curved = face.frame is not None or any(guide.kind != "plumb" for guide in face.guides)
    curved = curved or any(isinstance(measure, OpeningMeasure) for measure in face.measures)
    facts = edges + meets + given + sized + curved
    if facts < (2 if surface.beside is None and not meets else 3):
        raise UnderdeterminedError(
            f"Tower '{face.id}' has nothing to tell its size by.",
            hint="Give its radius, how far its axis lies behind the wall, or a known size or "
            "courses of known gauge on it.",
            details={"face": face.id},
            unobservable=("radius",),
        )
    radius, back = surface.radius_mm, surface.axis_set_back_mm
    if radius is not None and back is not None and meets and abs(back) >= radius:
        raise FieldError(
            f"Tower '{face.id}' is said to meet the wall, but with a radius of {radius:g} mm and "
            f"its axis {abs(back):g} mm from the wall's face it never reaches it.",
            hint="Check the radius and the set-back of the axis.",
            details={"face": face.id},
        )


def check_outlines_close(face: Face, sheet: Sheet, rays: Array) -> None:
    """Refuse outlines that are swapped, cross, or lean more than the tower is wide.

    Raises
    ------
    DegenerateError
    """
    if not isinstance(face.surface, RoundSurface):
        return
    edges = outlines_of(face.surface)
    if len(edges) < 2:
        return
    left, right = (
        [bearing_rad(rays[sheet.pick_index[pick.x, pick.y]]) for pick in picks]
        for picks, _, _ in edges
    )
    if max(left) < min(right):
        return
    swapped = np.mean(left) >= np.mean(right)
    raise DegenerateError(
        f"The outlines of tower '{face.id}' do not close round it: "
        + (
            "its left outline lies right of its right one."
            if swapped
            else "they cross, so one of them follows another edge."
        ),
        hint="Pick the left edge as the photo shows it as the left outline, the right one as the "
        "right.",
        details={"face": face.id},
    )


def check_hinge_is_plumb(face: str, parent: str, u_mm: Array, v_mm: Array) -> None:
    """Refuse a hinge whose picks lean on the wall it is on.

    Raises
    ------
    DegenerateError
    """
    run, rise = _extents(u_mm, v_mm)
    lean_deg = math.degrees(math.atan2(run, rise))
    if lean_deg > MOST_LEAN_DEG:
        raise DegenerateError(
            f"The hinge of face '{face}' leans by {lean_deg:.0f}°, but a hinge is the plumb line "
            f"where it meets '{parent}'.",
            hint="Pick two points one above the other along that corner.",
            details={"face": face},
        )


def check_eaves_are_level(face: str, u_mm: Array, v_mm: Array) -> None:
    """Refuse eaves whose picks run up or down along their wall.

    Raises
    ------
    DegenerateError
    """
    run, rise = _extents(u_mm, v_mm)
    lean_deg = math.degrees(math.atan2(rise, run))
    if lean_deg > MOST_LEAN_DEG:
        raise DegenerateError(
            f"The eaves of roof '{face}' run up by {lean_deg:.0f}°, but eaves are level.",
            hint="Pick two points along the lower edge of the slope.",
            details={"face": face},
        )


def _extents(u_mm: Array, v_mm: Array) -> tuple[float, float]:
    """How far the picks that lie on the wall reach along it and up it."""
    finite = np.isfinite(u_mm) & np.isfinite(v_mm)
    if finite.sum() < 2:
        return 0.0, 0.0
    return float(np.ptp(u_mm[finite])), float(np.ptp(v_mm[finite]))


def check_roof_rests_on_a_wall(roof: Face, wall: Face) -> None:
    """Refuse a roof slope over a tower or over another slope.

    Raises
    ------
    FieldError
    """
    if not isinstance(wall.surface, WallSurface):
        raise FieldError(
            f"The eaves of roof '{roof.id}' are picked on '{wall.id}', which is no plumb wall.",
            hint="Name the wall that its eaves run along.",
            details={"face": roof.id},
        )


def check_parallel_is_told(face: Face, is_main: bool, parent: Face | None) -> None:
    """Refuse a wall parallel to another of which nothing says how far from it it lies.

    Raises
    ------
    UnderdeterminedError, FieldError
    """
    surface = face.surface
    if is_main or not isinstance(surface, WallSurface):
        return
    if parent is not None and not isinstance(parent.surface, WallSurface):
        raise FieldError(
            f"Face '{face.id}' is said to be parallel to '{parent.id}', which is no plumb wall.",
            hint="Name the wall that it stands before or behind.",
            details={"face": face.id},
        )
    if surface.set_back_mm is None and not surface.returns and not face.references:
        other = f"'{parent.id}'" if parent is not None else "the first wall of its photo"
        raise UnderdeterminedError(
            f"Face '{face.id}' is parallel to {other}, and nothing says how far from it.",
            hint="Give its set-back (negative where it stands forward), a known size on it, or "
            "an edge that runs straight back from the one to the other; or hinge it, if it "
            "stands at an angle.",
            details={"face": face.id},
            unobservable=("set_back",),
        )


def check_size_is_known(face: str, what: str, value: float, u: float, hint: str) -> None:
    """Refuse a size of a face that the picks leave open.

    Raises
    ------
    UnderdeterminedError
    """
    if math.isfinite(value) and math.isfinite(u) and value > 0.0 and u <= OPEN_PART * value:
        return
    raise UnderdeterminedError(
        f"The picks of '{face}' leave {what} open.",
        hint=hint,
        details={"face": face},
    )


def check_pitch_is_known(face: str, pitch_rad: float, u_rad: float) -> None:
    """Refuse a roof whose pitch the picks leave open.

    Raises
    ------
    UnderdeterminedError
    """
    if 0.0 < pitch_rad < math.pi / 2 and u_rad <= math.radians(MOST_OPEN_PITCH_DEG):
        return
    raise UnderdeterminedError(
        f"The picks of roof '{face}' leave its pitch open.",
        hint="Give its pitch, or pick a verge well to one side of where the photo was taken from.",
        details={"face": face},
    )


def check_stays_on_one_side(face: str, parent: str, u_mm: Array, u_sigma_mm: Array) -> None:
    """Refuse a wing that is picked on both sides of its hinge: it would cross the other wall.

    Raises
    ------
    DegenerateError
    """
    low, high = int(np.argmin(u_mm)), int(np.argmax(u_mm))
    clear = 4.0 * u_sigma_mm + 0.02 * np.ptp(u_mm)
    if u_mm[low] < -clear[low] and u_mm[high] > clear[high]:
        raise DegenerateError(
            f"Face '{face}' crosses '{parent}': it is picked {-u_mm[low]:.0f} mm on one side of "
            f"its hinge and {u_mm[high]:.0f} mm on the other.",
            hint="Check that the hinge is picked where the two faces meet, and the frame on the "
            "face that it belongs to.",
            details={"face": face},
        )


def check_no_ring(leant_on: Mapping[str, Sequence[str]]) -> list[str]:
    """Order faces so that each comes after those it leans on.

    Raises
    ------
    FieldError
        If they lean on each other in a ring.
    """
    done: list[str] = []
    left = dict(leant_on)
    while left:
        ready = [face for face, others in left.items() if not set(others) & left.keys()]
        if not ready:
            names = " and ".join(f"'{name}'" for name in list(left)[:3])
            raise FieldError(
                f"Faces {names} are each placed by the other, so none of them stands.",
                hint="Let one of them be a plain wall with a frame.",
                details={"face": next(iter(left))},
            )
        done += ready
        for face in ready:
            del left[face]
    return done
