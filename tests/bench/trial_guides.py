"""Found guides on many painted streets: prints what the slow test asserts, for any number.

Run with ``python -m tests.bench.trial_guides 100``. Sizes at the far corner without guides and
with, and how their errors stand to the stated ±, for wide lenses and for ordinary ones.
"""

from __future__ import annotations

import argparse
import math

import numpy as np

from tests.support.guide_trials import street_trial


def main() -> None:
    """Print one line for each kind of lens and click."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("streets", type=int, nargs="?", default=30)
    parser.add_argument("--seed", type=int, default=20_000)
    asked = parser.parse_args()
    for name, wide, u_px, say in (
        ("wide, rough clicks", True, 2.0, False),
        ("wide, clicks as said", True, 1.0, True),
        ("ordinary, clicks as said", False, 1.0, True),
    ):
        seeds = range(asked.seed, asked.seed + asked.streets)
        made = [street_trial(seed, wide=wide, u_px=u_px, say=say) for seed in seeds]
        tried = [trial for trial in made if trial is not None]
        found = [trial for trial in tried if trial.after is not None]
        far = np.array([(t.before.far_share, t.after.far_share) for t in found])
        z = np.concatenate([t.after.z for t in found])
        print(
            f"{name:26} found on {len(found)} of {len(tried)}; far sizes off by "
            f"{100 * np.median(far[:, 0]):.1f} % -> {100 * np.median(far[:, 1]):.1f} %, "
            f"{np.median(far[:, 0] / far[:, 1]):.1f} times better, "
            f"{np.count_nonzero(far[:, 1] > far[:, 0])} worse; standardised errors "
            f"{math.sqrt(np.mean(z**2)):.2f}, within 95 %: {100 * np.mean(np.abs(z) < 1.96):.1f} %"
        )


if __name__ == "__main__":
    main()
