"""A first place for a round tower: by trying many beside a wall, by its outlines on its own."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rectify.solving.observations import Sheet
from rectify.starts.first_guess import line_direction
from rectify.surfaces import Round
from shared.errors import UnderdeterminedError
from shared.jets import Array, value_of
from shared.survey import Face, Pick, RoundSurface

#: Radii tried, as parts of the camera's distance; set-backs of the axis tried, as parts of the
#: radius where the tower meets the wall (near 1 for one that is let into it), else as parts of
#: the distance.
RADII = np.geomspace(0.01, 0.8, 70)
BACKS_AT_THE_WALL = np.concatenate([np.linspace(-0.95, 0.95, 39), [0.97, 0.985, 0.995]])
BACKS_APART = np.linspace(-0.35, 0.6, 42)

#: Half angles tried of a tower on its own that shows one outline.
HALF_ANGLES = np.geomspace(0.01, 1.3, 120)


@dataclass(frozen=True, slots=True)
class MeetingPoints:
    """Points of walls that a tower passes through, in plan: building x and z, shape (k,)."""

    x: Array
    z: Array


def outlines_of(surface: RoundSurface) -> list[tuple[tuple[Pick, ...], float, str]]:
    """Outlines that are picked: their picks, their side, and what they are called."""
    both = [
        (surface.left_edge, -1.0, "the left outline"),
        (surface.right_edge, 1.0, "the right outline"),
    ]
    return [(picks, side, item) for picks, side, item in both if picks is not None]


def place_tower(
    face: str,
    surface: RoundSurface,
    sheet: Sheet,
    rays: Array,
    distance: float,
    meets: MeetingPoints,
    *,
    in_mm: bool,
) -> tuple[float, float, float]:
    """Axis x, axis set-back and radius that go best with all that is picked of a tower.

    Parameters
    ----------
    face : str
    surface : RoundSurface
    sheet : Sheet
    rays : ndarray, shape (n, 3)
        Of all picks, in the building frame.
    distance : float
        Of the camera from the main wall.
    meets : MeetingPoints
        Where it meets walls.
    in_mm : bool
        Whether that is in millimetres, so that known sizes may be used.

    Notes
    -----
    For each radius and set-back one outline gives the axis, or where none is seen the middle
    between the lines where it meets walls; the rest choose. Two circles touch the same two rays
    and pass through the same point of the wall: the one that the camera sees there is meant,
    the other lies behind that point.
    """
    edges = [
        (rays[[sheet.pick_index[pick.x, pick.y] for pick in picks]], side)
        for picks, side, _ in outlines_of(surface)
    ]
    radius_mm = surface.radius_mm if in_mm else None
    back_mm = surface.axis_set_back_mm if in_mm else None
    radii = distance * RADII if radius_mm is None else np.array([radius_mm])
    r = np.repeat(radii[None, :], len(BACKS_APART), axis=0)
    apart = np.repeat((distance * BACKS_APART)[:, None], len(radii), axis=1)
    back = BACKS_AT_THE_WALL[:, None] * r if len(meets.x) else apart
    if back_mm is not None:
        back = np.full_like(r, back_mm)
    if edges:
        edge, side = edges[0]
        x = np.mean([_axis_x(ray, side, back, r, distance) for ray in edge], axis=0)
    else:
        x = np.full_like(r, 0.5 * (meets.x.min() + meets.x.max()))
    tower, eye = Round(x, -back, r), (0.0, 0.0, distance)
    # where several places fit alike, the one nearest to the wall
    misfit = 1e-4 * back**2
    with np.errstate(all="ignore"):
        for edge, side in edges[1:]:
            for ray in edge:
                misfit = misfit + tower.clearance_mm(eye, tuple(ray), side) ** 2
        for at_x, at_z in zip(meets.x, meets.z, strict=True):
            misfit = misfit + (np.hypot(at_x - x, at_z + back) - r) ** 2
            seen = (at_x - x) * -x + (at_z + back) * (distance + back) >= 0.9 * r**2
            misfit = np.where(seen, misfit, misfit + distance**2)
        misfit = misfit + _uneven_levels(face, tower, sheet, rays, distance)
        for name, first, second, set_back_mm, weight, known_mm in sheet.lengths:
            if name == face and in_mm:
                ends = [tower.chart_mm_from_ray(eye, tuple(rays[i]), set_back_mm)
                        for i in (first, second)]  # fmt: skip
                du, dv = (value_of(ends[1][axis]) - value_of(ends[0][axis]) for axis in (0, 1))
                length = np.hypot(weight[0] * du, weight[1] * dv)
                # in proportion, and as much as a tower: a size fixes how far away it stands
                misfit = misfit + (distance * (length / known_mm - 1.0)) ** 2
    misfit = np.where(np.isfinite(misfit), misfit, np.inf)
    i, j = np.unravel_index(int(np.argmin(misfit)), misfit.shape)
    return float(x[i, j]), float(back[i, j]), float(r[i, j])


def _uneven_levels(face: str, tower: Round, sheet: Sheet, rays: Array, distance: float) -> Array:
    """How unlevel the tower's level lines come out on each of many towers, squared and summed."""
    total = np.zeros(np.shape(tower.radius_mm))
    for line in sheet.lines:
        if line.face == face and line.direction == "level" and len(line.picks) > 2:
            v = np.stack(
                [
                    value_of(tower.chart_mm_from_ray((0.0, 0.0, distance), tuple(rays[at]))[1])
                    for at in line.picks
                ]
            )
            total = total + len(v) * np.var(v, axis=0)
    return total


def _axis_x(ray: Array, side: float, back: Array, r: Array, distance: float) -> Array:
    """Axis x of a tower that a ray touches."""
    along = np.hypot(ray[0], ray[2])
    return np.asarray(((-back - distance) * ray[0] + side * r * along) / ray[2])


def rotation_before_tower(face: Face, sheet: Sheet, rays_cam: Array) -> Array:
    """Turn of a camera that has nothing but a tower before it: plumb and the tower's middle.

    Parameters
    ----------
    face : Face
        The tower.
    sheet : Sheet
    rays_cam : ndarray, shape (n, 3)
        Of all picks, in the camera frame.

    Returns
    -------
    ndarray, shape (3, 3)
        ``cam_from_building``; the axis of the tower lies straight ahead in plan.

    Raises
    ------
    UnderdeterminedError
        If neither outline is picked.
    """
    surface = face.surface
    if not isinstance(surface, RoundSurface):
        raise TypeError(f"face {face.id} is not round")
    edges = outlines_of(surface)
    if not edges:
        raise UnderdeterminedError(
            f"Tower '{face.id}' has no outline.",
            hint="Pick two points or more along its left and its right outline.",
            details={"face": face.id},
            unobservable=("radius",),
        )
    index = [[sheet.pick_index[pick.x, pick.y] for pick in picks] for picks, _, _ in edges]
    plumb = [*index, *(list(at.picks) for at in sheet.lines
                       if at.face == face.id and at.direction == "plumb")]  # fmt: skip
    if len(plumb) > 1:
        up = line_direction(plumb, rays_cam)
    else:
        normal = np.cross(rays_cam[plumb[0][0]], rays_cam[plumb[0][-1]])
        normal /= np.linalg.norm(normal)
        up = np.array([0.0, -1.0, 0.0]) + normal[1] * normal
    up = up / np.linalg.norm(up)
    up = up if up[1] < 0 else -up
    middles = [np.mean(rays_cam[at], axis=0) for at in index]
    level = [middle - (middle @ up) * up for middle in middles]
    if len(level) == 2:
        ahead = np.sum([part / np.linalg.norm(part) for part in level], axis=0)
        return _facing(up, ahead)
    edge, side = level[0], edges[0][1]
    tried = [_facing(up, _turned(edge, up, -side * half)) for half in HALF_ANGLES]
    fits = [
        _misfit_alone(face.id, surface, sheet, rays_cam @ rotation, half)
        for rotation, half in zip(tried, HALF_ANGLES, strict=True)
    ]
    return tried[int(np.argmin(fits))]


def _facing(up: Array, ahead: Array) -> Array:
    """``cam_from_building`` of a camera that looks, in plan, straight at what lies ahead."""
    z = -ahead / np.linalg.norm(ahead)
    return np.column_stack([np.cross(up, z), up, z])


def _turned(level: Array, up: Array, angle: float) -> Array:
    """A level direction turned about the plumb, to the right for a positive angle."""
    right = np.cross(level, up)
    return np.asarray(np.cos(angle) * level + np.sin(angle) * right)


def _misfit_alone(
    face: str, surface: RoundSurface, sheet: Sheet, rays: Array, half: float
) -> float:
    """How badly a tower straight ahead, a unit away, goes with all but its one outline."""
    tower = Round(0.0, 0.0, np.array([np.sin(half)]))
    eye = (0.0, 0.0, 1.0)
    with np.errstate(all="ignore"):
        misfit = float(_uneven_levels(face, tower, sheet, rays, 1.0)[0])
        for name, first, second, set_back_mm, weight, known_mm in sheet.lengths:
            if name != face:
                continue
            scale = np.sin(half) / (surface.radius_mm or np.inf)
            ends = [
                tower.chart_mm_from_ray(eye, tuple(rays[i]), set_back_mm * scale)
                for i in (first, second)
            ]
            du, dv = (value_of(ends[1][i]) - value_of(ends[0][i]) for i in (0, 1))
            length = float(np.hypot(weight[0] * du, weight[1] * dv)[0])
            if surface.radius_mm is not None:
                misfit += (length / (scale * known_mm) - 1.0) ** 2
            elif not np.isfinite(length):
                misfit = np.inf
    return misfit if np.isfinite(misfit) else np.inf


def half_angle_rad(surface: RoundSurface, sheet: Sheet, rays: Array) -> float:
    """Half the plan angle that a tower straight ahead fills, from its outlines."""
    bearings = [
        float(np.mean([abs(bearing_rad(rays[sheet.pick_index[p.x, p.y]])) for p in picks]))
        for picks, _, _ in outlines_of(surface)
    ]
    return float(np.mean(bearings))


def bearing_rad(ray: Array) -> float:
    """Plan direction of a ray, from straight ahead towards the right."""
    return float(np.arctan2(ray[0], -ray[2]))
