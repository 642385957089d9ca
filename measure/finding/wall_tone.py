"""Which parts of a picture look like bare wall, in light and in shadow."""

from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np
import numpy.typing as npt
from scipy import ndimage

from measure.finding.picture import Bools, Floats, WallPicture

Array = npt.NDArray[np.float64]

#: Side of the spot whose colour and roughness are looked at: a course and a bit.
SPOT_MM = 95.0

#: Steps of lightness, of both colours, and of the logarithm of roughness.
STEPS = np.array([5.0, 4.0, 4.0, 0.45])

#: Least spread of a material in each of them, and how far from its middle it still is wall:
#: 95 % of a normal cloud of four dimensions lie within the root of 9.49.
LEAST_SPREAD = np.array([2.0, 1.3, 1.3, 0.18])
WITHIN2 = 11.0

#: Openings filled in finding how far a wall goes, and bridges cut.
FILLED_MM, BRIDGE_MM = 1400.0, 300.0

#: What is thinner in the looked-at pixels is no wall.
SOLID_PX = 5

#: Most spread of one material in one light.
MOST_SPREAD = np.array([9.0, 6.0, 6.0, 0.5])

#: Shadow keeps the wall's colour, and changes its lightness by no more than this factor. What is
#: much smoother is a door or a pane; the wall in shadow has dark openings in it and is rougher.
SHADOW_LEAST, SHADOW_COLOUR, SHADOW_ROUGH = 0.42, 11.0, (-0.6, 0.6)

#: The wall in shadow hangs together: in pieces of this part of the picture at least, and so large.
SHADOW_PIECE, LARGE_M2 = 0.015, 4.5

#: Pieces of another material that are so wide are wall too.
WIDER_MM = 4400.0


def wall_likeness(picture: WallPicture, core: Floats | None = None) -> Floats:
    """Look like wall (1) or not (0), smoothed a little; shape (h, w).

    The wall is what most of the middle of the picture is: in the space of colour and roughness of
    small spots the largest cloud; other clouds of the same colour in another light, where they
    hang together over metres; and other materials, in pieces wider than any opening. `core`,
    shape (h, w), weighs what tells which cloud is the wall.
    """
    # every other pixel of every other row says as much as all of them
    features = _features(picture, picture.px(SPOT_MM, 5) | 1)[::2, ::2]
    seen = picture.seen[::2, ::2]
    sample = features[::2, ::2][seen[::2, ::2]].astype(float)
    core = core_of(seen.shape) if core is None else core[::2, ::2]
    solid = np.ones((SOLID_PX, SOLID_PX), np.uint8)
    clouds: list[tuple[float, Array, Bools]] = []
    for _ in range(6):
        if len(sample) < 0.02 * seen.size / 4:
            break
        middle, inverse = _fullest_cloud(sample)
        found = (_distance2(features, middle, inverse) < WITHIN2) & seen
        # edges look alike too, but they are thin
        firm = cv2.erode(found.astype(np.uint8), solid)
        clouds.append((float(core[firm > 0].sum()), middle, found))
        sample = sample[_distance2(sample, middle, inverse) >= WITHIN2]
    like = np.zeros(seen.shape, bool)
    main = max(clouds, key=lambda cloud: cloud[0], default=None)
    for cloud in clouds:
        if cloud is main:
            like |= cloud[2]
        elif main is not None and _is_shade_of(cloud[1], main[1]):
            like |= _large_pieces(cloud[2], picture.mm_per_px * 2)
        else:
            # another material: a storey of it, a plinth, bands; no opening is as wide
            like |= _wide_pieces(cloud[2], picture.mm_per_px * 2)
    height, width = picture.shape
    whole = cv2.resize(like.astype(np.float32), (width, height), interpolation=cv2.INTER_LINEAR)
    return np.asarray(cv2.blur(whole, (5, 5)), np.float32)


def core_of(shape: tuple[int, int]) -> npt.NDArray[np.float32]:
    """Weight of each place in telling which material is the wall's: its middle tells most.

    Sky, roof and street lie along the edges of a picture.
    """
    height, width = shape
    down = np.minimum(np.arange(height) + 0.5, height - np.arange(height) - 0.5) / height
    along = np.minimum(np.arange(width) + 0.5, width - np.arange(width) - 0.5) / width
    weight = np.minimum(1.0, 4.0 * down)[:, None] * np.minimum(1.0, 4.0 * along)[None]
    return np.asarray(weight, np.float32)


def wall_extent(picture: WallPicture, like_wall: Floats, core: Floats) -> tuple[int, int, int, int]:
    """Columns and rows of the piece of wall that covers most of `core`: left, top, right, bottom.

    Openings are filled and bridges thinner than half a metre are cut: a wall often hangs on to
    another, or to a street of its own colour, by a pixel or two.
    """
    close, cut = picture.px(FILLED_MM, 3), picture.px(BRIDGE_MM, 2)
    wall = (like_wall > 0.5).astype(np.uint8)
    wall = cv2.morphologyEx(wall, cv2.MORPH_OPEN, np.ones((cut, cut), np.uint8))
    wall = cv2.morphologyEx(wall, cv2.MORPH_CLOSE, np.ones((close, close), np.uint8))
    count, labels, stats, _ = cv2.connectedComponentsWithStats(wall, connectivity=4)
    if count < 2:
        return 0, 0, picture.shape[1], picture.shape[0]
    cover = np.bincount(labels.ravel(), core.ravel(), minlength=count)
    cover[0] = -1.0
    left, top, wide, high, _ = (int(n) for n in stats[int(np.argmax(cover))])
    return left, top, left + wide, top + high


def _features(picture: WallPicture, spot: int) -> Floats:
    mean = cv2.blur(picture.lab, (spot, spot))
    light = picture.lab[..., 0]
    square = cv2.blur(light * light, (spot, spot))
    rough = np.sqrt(np.maximum(square - mean[..., 0] ** 2, 0.05))
    return np.concatenate([mean, np.log(rough)[..., None]], axis=-1)


def _fullest_cloud(sample: Array) -> tuple[Array, Array]:
    """Middle and inverse covariance of the densest cloud of a sample."""
    bins = np.floor(sample / STEPS).astype(int)
    bins -= bins.min(axis=0)
    counts = np.zeros(bins.max(axis=0) + 1)
    np.add.at(counts, tuple(bins.T), 1.0)
    dense = ndimage.uniform_filter(counts, 3, mode="constant")
    peak = np.array(np.unravel_index(int(np.argmax(dense)), dense.shape))
    near = (np.abs(bins - peak) <= 1).all(axis=1)
    middle, cov = _cloud(sample[near])
    for _ in range(4):
        near = _distance2(sample, middle, np.asarray(np.linalg.inv(cov), float)) < WITHIN2
        middle, cov = _cloud(sample[near])
    return middle, np.asarray(np.linalg.inv(cov), float)


def _cloud(sample: Array) -> tuple[Array, Array]:
    cov = np.cov(sample.T) if len(sample) > 8 else np.zeros((4, 4))
    spread = np.sqrt(np.maximum(np.diag(cov), 1e-12))
    cut = np.minimum(1.0, MOST_SPREAD / spread)
    return sample.mean(axis=0), cov * np.outer(cut, cut) + np.diag(LEAST_SPREAD**2)


def _distance2(
    features: npt.NDArray[np.floating], middle: Array, inverse: Array
) -> npt.NDArray[np.floating]:
    """Squared Mahalanobis distance from the middle of a cloud."""
    root = np.linalg.cholesky(inverse)
    away = (features - middle.astype(features.dtype)) @ root.astype(features.dtype)
    distance2: npt.NDArray[np.floating] = np.einsum("...i,...i->...", away, away)
    return distance2


def _is_shade_of(middle: Array, main: Array) -> bool:
    """Tell whether one cloud is another in a different light.

    Less light of the same colour scales ``L* + 16``, ``a*``, ``b*`` and every difference of
    them alike (from their definition by cube roots).
    """
    ratio = float((middle[0] + 16.0) / (main[0] + 16.0))
    rough = middle[3] - np.log(ratio)
    return bool(
        SHADOW_LEAST < ratio < 1.0 / SHADOW_LEAST
        and np.hypot(*(middle[1:3] / ratio - main[1:3])) < SHADOW_COLOUR
        and SHADOW_ROUGH[0] < rough - main[3] < SHADOW_ROUGH[1]
    )


def _wide_pieces(mask: Bools, mm_per_px: float) -> Bools:
    """Pieces of a mask wider than any opening."""
    return _pieces(mask, lambda stats: stats[:, cv2.CC_STAT_WIDTH] * mm_per_px > WIDER_MM)


def _large_pieces(mask: Bools, mm_per_px: float) -> Bools:
    """Pieces of a mask larger than any opening."""

    def are_large(stats: Array) -> Bools:
        area = stats[:, cv2.CC_STAT_AREA]
        m2 = area * (mm_per_px / 1000.0) ** 2
        return np.asarray((m2 > LARGE_M2) & (area > SHADOW_PIECE * mask.size))

    return _pieces(mask, are_large)


def _pieces(mask: Bools, choose: Callable[[Array], Bools]) -> Bools:
    """Pieces of a mask that are chosen by their statistics, a row each."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(
        mask.astype(np.uint8), connectivity=4
    )
    chosen = choose(stats)
    chosen[0] = False
    return np.asarray(chosen[labels] if count > 1 else mask & False, bool)
