"""Picks laid on a face many times over, drawn within the ± of picks and camera.

The route beside first order: for picks near the horizon of a face, and for photos
whose focal length the picks leave open, where the sizes bend within their own ±.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from rectify.camera import ray_from_photo_px
from rectify.solution import Charted, Solution
from shared.jets import Array, value_of


def sampled_chart(
    charted: Charted, which: Sequence[int], count: int, seed: int
) -> tuple[Array, Array]:
    """Draw picks and unknowns within their ± and lay the picks on their faces.

    Where the picks leave the focal length open, from every camera that they leave possible
    (`Solution.possible`), each as often as it is likely.

    Parameters
    ----------
    charted : Charted
    which : sequence of int, length k
        Rows of `charted`.
    count : int
        Draws, near enough.
    seed : int

    Returns
    -------
    u_mm, v_mm : ndarray, shape (k, count)
        NaN in draws that look past the face.
    """
    rng = np.random.default_rng(seed)
    drawn = [
        _drawn(_under(charted, solution), list(which), max(1, round(weight * count)), rng)
        for weight, solution in charted.solution.possible
    ]
    u_mm = np.concatenate([u for u, _ in drawn], axis=1)
    v_mm = np.concatenate([v for _, v in drawn], axis=1)
    return u_mm, v_mm


def _under(charted: Charted, solution: Solution) -> Charted:
    """The same picks as another solution of the photo adjusts them."""
    picks_px = charted.picks_px.copy()
    inside = charted.entered >= 0
    picks_px[inside] = solution.adjusted_picks_px[charted.entered[inside]]
    return replace(charted, solution=solution, picks_px=picks_px)


def _drawn(
    charted: Charted, which: list[int], count: int, rng: np.random.Generator
) -> tuple[Array, Array]:
    k = len(which)
    adjusted, unknowns = charted.solution.adjusted, charted.solution.unknowns
    cov_l, cross = charted.cov_picks(which)
    cov = np.block([[cov_l, cross], [cross.T, adjusted.cov_unknowns]])
    scale = np.sqrt(np.maximum(np.diag(cov), 1e-300))
    values, vectors = np.linalg.eigh(cov / np.outer(scale, scale))
    root = scale[:, None] * vectors * np.sqrt(np.clip(values, 0.0, None))
    draws = adjusted.misfit * (root @ rng.standard_normal((len(cov), count)))
    picks = charted.picks_px[which][:, :, None] + draws[: 2 * k].reshape(k, 2, count)
    numbers = list(unknowns.values[:, None] + draws[2 * k :])
    u_mm, v_mm = np.full((k, count), np.nan), np.full((k, count), np.nan)
    with np.errstate(all="ignore"):
        camera, pose = unknowns.camera(numbers)
        for face in dict.fromkeys(charted.faces[at] for at in which):
            mine = [i for i, at in enumerate(which) if charted.faces[at] == face]
            back = charted.set_back_mm[[which[i] for i in mine]][:, None]
            ray = ray_from_photo_px(camera, pose, picks[mine, 0], picks[mine, 1])
            u, v, _ = unknowns.surface(face, numbers).chart_mm_from_ray(pose.centre_mm, ray, back)
            u_mm[mine], v_mm[mine] = value_of(u), value_of(v)
    return u_mm, v_mm
