"""Straightened strips of masonry, drawn from nothing, with every joint known.

A strip is described by a `StripSpec` (see `strip_spec`) and rendered by `make_strip`. The wall is
laid out course by course and unit by unit at several times the final resolution, bent by a small
tilt and by the unevenness of the work, lit, shadowed, blurred, given noise and
put through JPEG. Nothing here knows how the reader works.

Frame: `u` to the right, `v` up, millimetres; `v = 0` is the lower edge of the
strip, `v = height` its upper edge (row 0). The truth of a bed joint is the mean height of its
centre line over the width of the strip, as drawn.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from tests.support.strip_photo import photograph, smooth_field
from tests.support.strip_spec import StripSpec


@dataclass(frozen=True, slots=True)
class Strip:
    """A rendered strip and its truth."""

    spec: StripSpec
    image: NDArray[np.uint8]
    mm_per_px: float
    joints_mm: NDArray[np.float64]  # every bed joint in the strip, from below
    first_joint: int  # index of the joint of the lower pick
    last_joint: int
    v_bottom_mm: float
    v_top_mm: float

    @property
    def count(self) -> int:
        """Whole courses between the picks."""
        return self.last_joint - self.first_joint

    @property
    def joints_between_mm(self) -> NDArray[np.float64]:
        """Joints from the lower pick's to the upper pick's, both included."""
        return self.joints_mm[self.first_joint : self.last_joint + 1]

    @property
    def least_course_px(self) -> float:
        """Height of the lowest course between the picked joints, in pixels."""
        return float(np.diff(self.joints_between_mm).min() / self.mm_per_px)

    @property
    def top_row(self) -> float:
        """Row of the upper pick."""
        return float(self.image.shape[0] - self.v_top_mm / self.mm_per_px)

    @property
    def bottom_row(self) -> float:
        """Row of the lower pick."""
        return float(self.image.shape[0] - self.v_bottom_mm / self.mm_per_px)

    @property
    def gauge_mm(self) -> float:
        """Mean course between the two picked joints."""
        ends = self.joints_between_mm[[0, -1]]
        return float((ends[1] - ends[0]) / self.count)


def make_strip(spec: StripSpec) -> Strip:
    """Render a strip; the same spec always gives the same picture."""
    rng = np.random.default_rng([spec.seed, 7])
    heights = _draw_course_heights(spec, rng)
    below = int(np.ceil(spec.margin_below))
    first, last = below + 1, below + 1 + spec.n_courses
    fine = max(2, int(np.ceil(40.0 / spec.px_per_course)))
    fine_x = max(1, min(fine, 6))
    scale = spec.px_per_course * fine  # fine rows in one unit of height
    beds = np.concatenate([[0.0], np.cumsum(heights)]) * scale  # nominal joint centres, upward
    layers, centres = _lay_wall(spec, beds, fine_x, scale, rng)
    low = centres[first] - spec.margin_below * heights[first - 1] * scale
    high = centres[last] + spec.margin_above * heights[last] * scale
    height_px = max(4, int(np.ceil((high - low) / fine)))
    layers = [_bend(layer, spec, low, height_px, fine, fine_x, scale) for layer in layers]
    mm_per_px = spec.gauge_mm / spec.px_per_course
    image = photograph(layers, spec, rng)
    joints_px = (centres - low) / fine
    inside = (joints_px > -1e-9) & (joints_px < height_px + 1e-9)
    offset = int(np.argmax(inside))
    small = np.minimum(np.diff(centres, prepend=-np.inf), np.diff(centres, append=np.inf)) / fine
    picks = [
        joints_px[first] + spec.pick_error_below * small[first],
        joints_px[last] + spec.pick_error_above * small[last],
    ]
    bottom, top = np.clip(picks, 0.0, height_px)
    return Strip(
        spec=spec,
        image=image,
        mm_per_px=mm_per_px,
        joints_mm=joints_px[inside] * mm_per_px,
        first_joint=first - offset,
        last_joint=last - offset,
        v_bottom_mm=float(bottom * mm_per_px),
        v_top_mm=float(top * mm_per_px),
    )


def _draw_course_heights(spec: StripSpec, rng: np.random.Generator) -> NDArray[np.float64]:
    """Heights of all courses in units of the gauge, with three spare at each end."""
    n = spec.n_courses + int(np.ceil(spec.margin_below)) + int(np.ceil(spec.margin_above)) + 4
    place = np.linspace(-0.5, 0.5, n)
    if spec.kind == "rubble":
        heights = np.exp(rng.uniform(-0.5, 0.5, n) * np.log(2.5))
    elif spec.kind == "diminishing":
        heights = np.exp(-place * np.log(rng.uniform(1.3, 2.2)))
    else:
        heights = 1.0 + spec.pitch_drift * place
    heights = heights * np.clip(1.0 + spec.height_scatter * rng.standard_normal(n), 0.8, 1.2)
    inner = heights[2 : 2 + spec.n_courses]
    scaled: NDArray[np.float64] = heights / inner.mean()
    return scaled


def _draw_unit_ends(
    spec: StripSpec, row: int, height: float, width: float, rng: np.random.Generator
) -> list[tuple[float, float, bool]]:
    """Units of one course as (left, right, is_header), in gauges, joint centre to joint centre."""
    if spec.kind == "rubble":
        at, units = -3.0 * rng.random(), []
        while at < width:
            length = height * rng.uniform(0.9, 2.8)
            units.append((at, at + length, False))
            at += length
        return units
    if spec.kind in ("ashlar", "diminishing"):
        at, units = -2.0 * rng.random(), []
        while at < width:
            length = rng.uniform(1.4, 2.4)
            units.append((at, at + length, False))
            at += length
        return units
    header = {
        "stretcher": False,
        "header": True,
        "english": row % 2 == 1,
        "garden-wall": row % 4 == 3,
        "flemish": False,
        "plain": False,
    }[spec.kind]
    length = 1.5 if header else 3.0
    if spec.kind == "flemish":
        at = -4.5 + (2.25 if row % 2 else 0.0)
    else:
        at = -3.0 + (0.75 if header else 1.5 * (row % 2))
    units, k = [], 0
    while at < width:
        short = header or (spec.kind == "flemish" and k % 2 == 1)
        step = (1.5 if short else 3.0) if spec.kind == "flemish" else length
        units.append((at, at + step, short))
        at += step
        k += 1
    return units


def _lay_wall(
    spec: StripSpec, beds: NDArray[np.float64], fine_x: int, scale: float, rng: np.random.Generator
) -> tuple[list[NDArray[np.float32]], NDArray[np.float64]]:
    """Draw mortar and units, row 0 lowest, and give the true joint centres in fine rows.

    The layers are the tone, the part of mortar (0 or 1) and the hue of each unit.
    """
    width = spec.width_px * fine_x
    rows = int(np.ceil(beds[-1]))
    scale_x = spec.px_per_course * fine_x
    half = 0.5 * spec.joint_fraction * scale
    sign = {"lighter": 1.0, "darker": -1.0, "repointed": 1.0, "mixed": 1.0}[spec.joint_tone]
    n = len(beds)
    signs = np.full(n, sign)
    if spec.joint_tone == "repointed":
        signs[int(n * rng.uniform(0.3, 0.7)) :] *= -1.0
        signs *= rng.choice([-1.0, 1.0])
    joint_tones = spec.brick_tone + signs * spec.contrast
    joint_tones = joint_tones + spec.joint_scatter * rng.standard_normal(n)
    tones = np.empty((rows, width), np.float32)
    is_joint = np.ones((rows, width), np.float32)
    hue = np.zeros((rows, width), np.float32)
    edges = np.round(0.5 * (beds[1:] + beds[:-1])).astype(int)
    start = 0
    for k in range(n):  # each bed joint, and the perpends half-way into the courses beside it
        stop = edges[k] if k < n - 1 else rows
        y = (np.arange(start, stop) - beds[k]) / max(half, 1.0)
        relief = spec.joint_relief * np.clip(-y, -1, 1) * (np.abs(y) < 1.3)
        tones[start:stop] = (joint_tones[k] + relief)[:, None]
        start = stop
    wall_width = width / scale_x
    top_edges = np.zeros((n, width))
    low_edges = np.zeros((n, width))
    perp = 0.5 * min(spec.joint_fraction, 0.13) * scale_x
    slack = spec.edge_scatter * scale
    for row in range(n - 1):
        height = (beds[row + 1] - beds[row]) / scale
        for left, right, header in _draw_unit_ends(spec, row, height, wall_width, rng):
            x0, x1 = round(left * scale_x + perp), round(right * scale_x - perp)
            y0 = round(beds[row] + half + slack * rng.standard_normal())
            y1 = round(beds[row + 1] - half + slack * rng.standard_normal())
            y0, y1 = max(y0, 0), max(min(y1, rows), y0 + 1)
            low_edges[row, max(0, int(left * scale_x)) : max(0, int(right * scale_x))] = y0
            top_edges[row, max(0, int(left * scale_x)) : max(0, int(right * scale_x))] = y1
            if x1 <= 0 or x0 >= width:
                continue
            tone = spec.brick_tone + spec.brick_scatter * float(
                np.clip(rng.standard_normal(), -2.5, 2.5)
            )
            tone += spec.header_tone * (header and spec.kind != "header")
            tones[y0:y1, max(x0, 0) : x1] = tone
            is_joint[y0:y1, max(x0, 0) : x1] = 0.0
            hue[y0:y1, max(x0, 0) : x1] = spec.hue_scatter * rng.standard_normal()
    if spec.kind == "plain":
        tones[:], is_joint[:], hue[:] = spec.brick_tone, 0.0, 0.0
    low_edges = np.where(low_edges > 0, low_edges, np.nan)
    top_edges = np.where(top_edges > 0, top_edges, np.nan)
    centres = beds.copy()
    for k in range(1, n - 1):
        middle = 0.5 * (low_edges[k] + top_edges[k - 1])
        centres[k] = np.nanmean(middle)
    return [tones, is_joint, hue], centres


def _bend(
    fine_rows: NDArray[np.float32],
    spec: StripSpec,
    low: float,
    height_px: int,
    fine: int,
    fine_x: int,
    scale: float,
) -> NDArray[np.float32]:
    """Cut the window, tilt and unsettle the beds, average down to final pixels, row 0 on top."""
    rng = np.random.default_rng([spec.seed, 11])
    rows, width = height_px * fine, spec.width_px * fine_x
    lift = np.tan(spec.tilt_rad) * (np.arange(width) + 0.5 - width / 2) * fine / fine_x
    cells = (max(2, int(rows / scale / 2)), max(2, int(width / (4 * spec.px_per_course * fine_x))))
    wave = smooth_field((rows, width), cells, rng) * np.float32(spec.wobble * scale)
    wave = wave - wave.mean(axis=1, keepdims=True)
    # a pixel of the window at height y shows the wall at height y - lift - wave
    up = (rows - 1 - np.arange(rows, dtype=np.float32))[:, None] + np.float32(low)
    map_y = np.ascontiguousarray(up - lift[None, :].astype(np.float32) - wave, np.float32)
    map_x = np.broadcast_to(np.arange(width, dtype=np.float32), (rows, width)).copy()
    bent = cv2.remap(fine_rows, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
    small = cv2.resize(bent, (spec.width_px, height_px), interpolation=cv2.INTER_AREA)
    return np.asarray(small, np.float32)
