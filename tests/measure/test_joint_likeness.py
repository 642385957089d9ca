"""Stones told from what lies above and below them by their tones alone, in walls without joints."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from measure.joints.likeness import NAMES, liken_sides, measure_likeness

N_COURSES, ROWS, BLOCKS = 20, 12, 24
NOISE = 0.02
#: Correlations of 24 blocks over 20 courses scatter by about 1 / sqrt(480); four times that.
CLOSE = 0.18


def wall(seed: int = 3) -> NDArray[np.float64]:
    """Sums of rows of a wall whose blocks keep a tone of their own through each course."""
    rng = np.random.default_rng(seed)
    tones = np.repeat(rng.standard_normal((N_COURSES, 1, BLOCKS)), ROWS, axis=0)
    tones += NOISE * rng.standard_normal(tones.shape)
    return np.concatenate([np.zeros((1, 1, BLOCKS)), np.cumsum(tones, axis=0)])


def liken(joints: NDArray[np.float64], summed: NDArray[np.float64]) -> dict[str, float]:
    trust = np.ones((len(joints) - 1, summed.shape[2]))
    return measure_likeness(summed, joints[:-1], joints[1:], trust)


def joints_of(count: int) -> NDArray[np.float64]:
    return np.linspace(0.0, N_COURSES * ROWS, count + 1)


def test_halves_of_a_course_are_alike() -> None:
    found = liken(joints_of(N_COURSES), wall())
    assert found["like_within"] > 1 - CLOSE
    assert found["like_least_within"] > 0.6  # 1 / (1 + OWN) in a course of usual contrast


def test_stones_on_either_side_of_a_joint_are_not_alike() -> None:
    # the mean of seven courses is taken off, which leaves neighbours a correlation of -1 / 6
    assert abs(liken(joints_of(N_COURSES), wall())["like_across"] + 1 / 6) < CLOSE


def test_half_the_count_puts_unlike_stones_into_one_course() -> None:
    assert liken(joints_of(N_COURSES // 2), wall())["like_within"] < 0.3


def test_twice_the_count_puts_a_joint_through_the_middle_of_stones() -> None:
    assert liken(joints_of(2 * N_COURSES), wall())["like_either_across"] > 1 - CLOSE


def test_one_joint_left_out_shows_in_the_least_course() -> None:
    joints = np.delete(joints_of(N_COURSES), 9)
    found = liken(joints, wall())
    assert found["like_within"] > 0.8
    assert found["like_least_within"] < 0.4


def test_one_joint_too_many_shows_in_the_most_joint() -> None:
    every = joints_of(N_COURSES)
    joints = np.sort(np.append(every, 0.5 * (every[9] + every[10])))
    assert (
        liken(joints, wall())["like_most_across"] > 0.6 > liken(every, wall())["like_most_across"]
    )


def sides_alike(rows: NDArray[np.float64], summed: NDArray[np.float64]) -> NDArray[np.float64]:
    return liken_sides(summed, rows, 0.5, 0.4 * ROWS, np.ones((len(rows), summed.shape[2])))


def test_sides_of_a_line_are_alike_within_a_stone_only() -> None:
    joints = joints_of(N_COURSES)[1:-1]
    # 1 / (1 + OWN) for a stone of usual contrast, which a single course has within a third or so
    assert np.median(sides_alike(joints + ROWS / 2, wall())) == pytest.approx(1 / 1.3, abs=0.1)
    assert abs(sides_alike(joints, wall()).mean()) < CLOSE


def test_blocks_that_are_not_trusted_do_not_count() -> None:
    summed, joints = wall(), joints_of(N_COURSES)
    summed[:, :, : BLOCKS // 2] = np.arange(len(summed))[:, None, None] % 37  # stripes, no stones
    trust = np.ones((N_COURSES, BLOCKS))
    trust[:, : BLOCKS // 2] = 0.0
    found = measure_likeness(summed, joints[:-1], joints[1:], trust)
    alone = liken(joints, summed[:, :, BLOCKS // 2 :])
    assert found["like_within"] == pytest.approx(alone["like_within"], abs=0.05)


@pytest.mark.parametrize(("count", "blocks"), [(2, BLOCKS), (N_COURSES, 2)])
def test_too_little_to_liken_says_nothing(count: int, blocks: int) -> None:
    found = liken(joints_of(count), wall()[:, :, :blocks])
    assert found == {f"like_{name}": 0.0 for name in NAMES}
