"""How well and how fast courses are counted on drawn strips: prints, asserts nothing.

Run with ``python -m tests.bench.bench_courses [NUMBER] [FIRST_SEED]``. The strips cover the whole
range of `tests.support.strip_spec`. The score was fitted by `fit_courses.py` to the seeds of
`TRAINING`, and the confidence from which a count is sure set by cross-validation on them; designs
are compared on `VALIDATION`; nothing was ever set by `FINAL`. The time stands beside two bare calls
that the reader rests on: OpenCV averaging the strip into blocks, and the same strip's spectrum by
numpy. Promises: counts given as sure and wrong <= 0.5 %, sure and right >= 90 % where the lowest
course spans 4 px, 50 ms for a strip. When `FINAL` was looked at, 3 of its
1,000 counts were sure and wrong, and of its 735 of 4 px up 90.3 % were sure and right.
"""

from __future__ import annotations

import itertools
import sys
import time
from dataclasses import dataclass

import cv2
import numpy as np

from measure.course_reader import CourseReading, read_courses
from tests.bench.promises import keep
from tests.support.strip_spec import draw_strip_spec
from tests.support.strips import Strip, make_strip

SIZES_PX = (2, 4, 6, 10, 20, 60)
#: Seeds that the score is fitted to, that designs are compared on, and that are looked at once.
TRAINING, VALIDATION, FINAL = (
    range(1000000, 1006000),
    [
        *range(2000000, 2000500),
        *range(3000000, 3000500),
        *range(4000000, 4000500),
        *range(5000000, 5001000),
    ],
    range(8000000, 8001000),
)
PLAIN_EVERY = 20  # one strip in so many has no courses at all


@dataclass(frozen=True)
class Tried:
    """One strip read."""

    strip: Strip
    reading: CourseReading
    read_s: float
    bare_s: float

    @property
    def right(self) -> bool:
        """Whether count and joints are those that were drawn."""
        strip, reading = self.strip, self.reading
        if strip.spec.kind == "plain" or reading.count != strip.count:
            return False
        off = np.abs(reading.joints_mm - strip.joints_between_mm)
        return bool(off.max() < 0.5 * strip.gauge_mm)


def draw_strip(seed: int) -> Strip:
    """Draw a strip; one in `PLAIN_EVERY` shows no courses."""
    fixed = {"kind": "plain"} if seed % PLAIN_EVERY == 0 else {}
    return make_strip(draw_strip_spec(seed, **fixed))


def try_strip(seed: int) -> Tried:
    """Draw a strip and read it."""
    strip = draw_strip(seed)
    top_mm = strip.image.shape[0] * strip.mm_per_px
    begun = time.process_time()
    reading = read_courses(strip.image, strip.mm_per_px, top_mm, strip.v_bottom_mm, strip.v_top_mm)
    read_s = time.process_time() - begun
    begun = time.process_time()
    blocks = cv2.resize(strip.image, (24, strip.image.shape[0]), interpolation=cv2.INTER_AREA)
    np.abs(np.fft.rfft(blocks.reshape(len(blocks), -1), axis=0))
    return Tried(strip, reading, read_s, time.process_time() - begun)


def main(number: int = 240, first: int = VALIDATION[0]) -> None:
    """Print how often counts were sure, right and wrong, how honest the ± is, and the time."""
    tried = [try_strip(seed) for seed in range(first, first + number)]
    walls = [each for each in tried if each.strip.spec.kind != "plain"]
    print(
        f"{'lowest course':>14} {'strips':>7} {'right':>7} {'sure, right':>12} {'sure, wrong':>12}"
    )
    for low, high in itertools.pairwise(SIZES_PX):
        print_row(f"{low} to {high} px", [e for e in walls if low <= least_px(e) < high])
    fine = [each for each in walls if least_px(each) >= 4]
    print_row(">= 4 px", fine)
    for kind in sorted({each.strip.spec.kind for each in tried}):
        print_row(kind, [each for each in tried if each.strip.spec.kind == kind])
    print_row("all", tried)
    print_honesty([each for each in walls if each.reading.sure and each.right])
    read_ms, bare_ms = (
        1e3 * float(np.median(times))
        for times in ([each.read_s for each in tried], [each.bare_s for each in tried])
    )
    keep("strip of courses read", read_ms, "ms", 50.0)
    keep("counts sure and wrong", 100 * share(tried, sure_and_wrong=True), "%", 0.5)
    keep("counts sure and right, 4 px up", 100 * share(fine), "%", 90.0, at_least=True)
    print(f"time: {read_ms:.0f} ms a strip, bare calls {bare_ms:.2f} ms: {read_ms / bare_ms:.0f}x")


def least_px(tried: Tried) -> float:
    """Height of the lowest course of a strip."""
    return tried.strip.least_course_px


def share(tried: list[Tried], *, sure_and_wrong: bool = False) -> float:
    """Part of the strips that were sure and right, or sure and wrong."""
    return float(np.mean([e.reading.sure and e.right != sure_and_wrong for e in tried]))


def print_row(name: str, tried: list[Tried]) -> None:
    """Print the shares of one kind of strip."""
    if not tried:
        return
    right = np.array([each.right for each in tried])
    sure = np.array([each.reading.sure for each in tried])
    print(
        f"{name:>14} {len(tried):7d} {right.mean():7.1%} {(sure & right).mean():12.1%} "
        f"{(sure & ~right).sum():5d} {(sure & ~right).mean():6.1%}"
    )


def print_honesty(tried: list[Tried]) -> None:
    """Print errors over their ±, which should be near 1."""
    joints, gauges = [], []
    for each in tried:
        strip, reading = each.strip, each.reading
        off = (reading.joints_mm - strip.joints_between_mm) / reading.u_joints_mm
        joints.append(np.sqrt(np.mean(off[reading.seen] ** 2)))
        gauges.append((reading.gauge_mm - strip.gauge_mm) / reading.u_gauge_mm)
    z = np.abs(gauges)
    print(
        f"errors over their ±: joints of a strip {np.median(joints):.2f} (rms, median of strips), "
        f"gauge {np.sqrt(np.mean(z**2)):.2f} (rms), {np.mean(z < 2):.0%} within twice the ±"
    )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
