"""What fixes a drawn strip of masonry, and how strips are drawn at random."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

BONDS = ("stretcher", "english", "flemish", "header", "garden-wall")
KINDS = (*BONDS, "ashlar", "diminishing", "rubble")  # and "plain": no joints at all
REGULAR_KINDS = (*BONDS, "ashlar")


@dataclass(frozen=True, slots=True)
class StripSpec:
    """Everything that fixes a strip; lengths are in courses unless they say otherwise."""

    seed: int
    kind: str = "stretcher"
    n_courses: int = 20
    px_per_course: float = 16.0
    width_px: int = 200
    gauge_mm: float = 75.0
    joint_fraction: float = 0.13
    height_scatter: float = 0.015  # sd of a course height, as a part of the gauge
    pitch_drift: float = 0.0  # gauge grows by this part from bottom to top
    edge_scatter: float = 0.015  # sd of one unit's bed edge, in courses
    wobble: float = 0.01  # sd of the slow unevenness of a bed, in courses
    margin_below: float = 1.0
    margin_above: float = 1.0
    pick_error_below: float = 0.0  # in the smaller of the two courses beside the joint
    pick_error_above: float = 0.0
    brick_tone: float = 120.0
    contrast: float = 40.0  # |mean joint - mean unit| in grey levels
    joint_tone: str = "lighter"  # lighter, darker, repointed (changes half-way), mixed (mid tone)
    brick_scatter: float = 12.0  # sd of a unit's tone
    header_tone: float = 0.0  # added to headers: burnt ends
    joint_scatter: float = 4.0  # sd of a joint's tone
    joint_relief: float = 0.0  # dark above, light below within the joint, grey levels
    texture: float = 4.0  # grain of the units, grey levels
    hue_scatter: float = 0.05  # sd of a unit's red against blue, in log units
    colour: bool = True
    palette: int = 0
    tilt_rad: float = 0.0
    shading_v: float = 0.0  # log-brightness change over the height
    shading_u: float = 0.0
    shadow: str = "none"  # none, level, raking, upright, wires
    shadow_depth: float = 0.5
    cover: str = "none"  # none, windows, ivy, pipe
    cover_part: float = 0.5
    blur_px: float = 0.5
    noise: float = 2.0
    jpeg_quality: int = 90


def draw_strip_spec(seed: int, **fixed: Any) -> StripSpec:
    """Draw a strip over the whole range of walls and photographs; `fixed` overrides."""
    rng = np.random.default_rng(seed)
    kind = str(rng.choice(KINDS, p=[0.2, 0.13, 0.13, 0.07, 0.08, 0.11, 0.08, 0.2]))
    kind = str(fixed.get("kind", kind))
    n_courses = int(np.round(np.exp(rng.uniform(np.log(4), np.log(70.99)))))
    n_courses = int(fixed.get("n_courses", min(n_courses, 70)))
    px = float(np.exp(rng.uniform(np.log(2.0), np.log(60.0))))
    px = float(fixed.get("px_per_course", px))
    stone = kind in ("ashlar", "diminishing", "rubble")
    uneven = kind == "rubble"
    bottom, top = (rng.uniform(0.0, 2.5, 2)) * (rng.random(2) > 0.12)
    pick_errors = (
        rng.uniform(-1 / 3, 1 / 3, 2)
        if rng.random() < 0.2
        else np.clip(rng.normal(0.0, 0.12, 2), -1 / 3, 1 / 3)
    )
    contrast = float(np.exp(rng.uniform(np.log(12.0), np.log(90.0))))
    tone = float(rng.uniform(70, 180))
    joint_tone = str(
        rng.choice(["lighter", "darker", "repointed", "mixed"], p=[0.47, 0.43, 0.06, 0.04])
    )
    scatter = contrast * float(np.exp(rng.uniform(np.log(0.08), np.log(0.7))))
    if joint_tone == "mixed":
        contrast, scatter = 3.0, float(rng.uniform(18, 35))
    spec = StripSpec(
        seed=seed,
        kind=kind,
        n_courses=n_courses,
        px_per_course=px,
        width_px=int(max(rng.uniform(90, 320), px * rng.uniform(5.0, 14.0))),
        gauge_mm=float(rng.uniform(150, 400) if stone else rng.uniform(50, 125)),
        joint_fraction=float(rng.uniform(0.08, 0.2)),
        height_scatter=float(rng.uniform(0.003, 0.03)),
        pitch_drift=float(rng.normal(0.0, 0.01)),
        edge_scatter=float(rng.uniform(0.003, 0.03)) * (1.5 if uneven else 1.0),
        wobble=float(rng.uniform(0.0, 0.02)) * (2.0 if uneven else 1.0),
        margin_below=float(bottom),
        margin_above=float(top),
        pick_error_below=float(pick_errors[0]),
        pick_error_above=float(pick_errors[1]),
        brick_tone=tone,
        contrast=contrast,
        joint_tone=joint_tone,
        brick_scatter=scatter,
        header_tone=float(rng.choice([0.0, -1.0, 1.0], p=[0.6, 0.3, 0.1]))
        * float(rng.uniform(0.1, 0.6))
        * contrast,
        joint_scatter=contrast * float(rng.uniform(0.02, 0.25)),
        joint_relief=float(rng.choice([0.0, 1.0])) * float(rng.uniform(0.0, 0.6)) * contrast,
        texture=float(np.exp(rng.uniform(np.log(1.0), np.log(12.0)))),
        hue_scatter=float(rng.uniform(0.02, 0.15)),
        colour=bool(rng.random() < 0.65),
        palette=int(rng.integers(3, 5) if stone else rng.integers(0, 3)),
        tilt_rad=float(np.radians(rng.uniform(-0.3, 0.3))),
        shading_v=float(rng.normal(0.0, 0.25)),
        shading_u=float(rng.normal(0.0, 0.2)),
        shadow=str(
            rng.choice(
                ["none", "level", "raking", "upright", "wires"], p=[0.5, 0.17, 0.17, 0.1, 0.06]
            )
        ),
        shadow_depth=float(rng.uniform(0.35, 0.8)),
        cover=str(rng.choice(["none", "windows", "ivy", "pipe"], p=[0.72, 0.12, 0.1, 0.06])),
        cover_part=float(rng.uniform(0.15, 0.5)),
        blur_px=float(rng.uniform(0.3, 0.8) + px * rng.uniform(0.0, 0.08)),
        noise=float(np.exp(rng.uniform(np.log(0.7), np.log(9.0)))),
        jpeg_quality=int(rng.integers(45, 97)),
    )
    return replace(spec, **fixed)
