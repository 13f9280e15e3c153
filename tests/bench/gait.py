"""How long the gait stage takes for an hour at 100 Hz: ``python -m tests.bench gait``.

The goal is 1.5 s on one core; processor time is counted, as other work may be going on (set
``OMP_NUM_THREADS=1``). The ride is invented: twelve times five minutes of halt, walk, trot and
canter from sums of harmonics, with noise.
"""

from __future__ import annotations

import argparse
import time

import numpy as np
from scipy.interpolate import PchipInterpolator

from gait.stage import decode
from tests.gait.made import made_ride, motion_of
from track.motion import Motion

FIVE_MINUTES = [
    ("halt", 8.0), ("walk", 60.0), ("trot", 70.0), ("canter", 40.0), ("trot", 50.0),
    ("walk", 30.0), ("canter", 30.0), ("trot", 12.0),
]  # fmt: skip
RATE_HZ = 100.0


def long_motion(minutes: float, seed: int) -> Motion:
    """A ride of so many minutes at 100 Hz."""
    made = made_ride(FIVE_MINUTES * round(minutes / 5.0), seed=seed, rising=True).motion
    t_s = np.arange(made.t_s[0], made.t_s[-1], 1.0 / RATE_HZ)
    axes = np.stack([made.up_ms2, made.level_a_ms2, made.level_b_ms2])
    return motion_of(t_s, PchipInterpolator(made.t_s, axes, axis=1)(t_s), rate_hz=RATE_HZ)


def main() -> None:
    parser = argparse.ArgumentParser(prog="tests.bench gait")
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--repeat", type=int, default=5)
    args = parser.parse_args()
    motion = long_motion(args.minutes, args.seed)
    times = []
    for _ in range(args.repeat):
        started = time.process_time()
        gaits = decode(motion, None)
        times.append(time.process_time() - started)
    print(
        f"{(motion.t_s[-1] - motion.t_s[0]) / 60.0:.0f} min at {motion.rate_hz:.0f} Hz: median "
        f"{np.median(times):.2f} s, least {min(times):.2f} s (goal 1.5 s), "
        f"{len(gaits.bouts)} bouts, {len(gaits.strides)} strides"
    )


if __name__ == "__main__":
    main()
