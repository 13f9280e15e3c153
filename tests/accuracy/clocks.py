"""How well clock offset and receiver lag are found, and whether their sd can be believed.

``python -m tests.accuracy clocks --rides 200 --seed 1``. Rides of the simulator and of the second
model, clocks up to 15 s apart or without a common epoch, lags of 0 to 1.5 s. Goals: 0.1 s (1 sd)
each in rides with turns; intervals consistent with 95 % at the binomial 99 % level. Without a
gyroscope the doubt is wider and must be as honest.
"""

from __future__ import annotations

import argparse

import numpy as np
from scipy.stats import binom

from tests.accuracy.two_models import MODELS, Known, rides
from track.clocks import align
from track.geodesy import LocalPlane
from track.motion import read_motion
from track.path import Floats

Row = tuple[float, float, float, float]
"""Error and sd of the shift, error and sd of the lag."""


def measured(known: Known) -> Row:
    """Align one ride with its clocks as they were written."""
    motion, fixes = read_motion(known.recording), known.recording.fixes
    if motion is None or fixes is None:
        raise RuntimeError("a made-up ride has fixes and motion")
    plane = LocalPlane(
        lat_deg=float(fixes["lat_deg"].median()), lon_deg=float(fixes["lon_deg"].median())
    )
    x_m, y_m = plane.to_plane(fixes["lat_deg"].to_numpy(), fixes["lon_deg"].to_numpy())
    clock = align(motion, fixes, x_m, y_m, clocks_shared=known.recording.clocks_shared)
    if clock.lag_s is None:
        raise RuntimeError("aligning always gives a lag")
    return (
        clock.shift_s.value - known.shift_s, clock.shift_s.sd,
        clock.lag_s.value - known.lag_s, clock.lag_s.sd,
    )  # fmt: skip


def told(name: str, error: Floats, sd: Floats) -> str:
    """One line: size of the error, bias, the sd claimed, and how often 95 % held."""
    held = int(np.sum(np.abs(error) < 1.96 * sd))
    low, high = (float(binom.ppf(q, len(error), 0.95)) for q in (0.005, 0.995))
    verdict = "consistent" if low <= held <= high else "not consistent"
    return (
        f"{name:8s} rms {np.sqrt(np.mean(error**2)):6.3f} s  median {np.median(np.abs(error)):6.3f}"
        f"  p95 {np.percentile(np.abs(error), 95):6.3f}  bias {np.mean(error):+7.4f}"
        f"  sd claimed {np.median(sd):6.3f}"
        f"  within 1.96 sd {held}/{len(error)} ({verdict} with 95 %: {low:.0f}-{high:.0f})"
    )


def main() -> None:
    """Print a line per model, with and without a gyroscope, and quantity."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rides", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    for model in MODELS:
        for gyro in (True, False):
            count = options.rides if gyro else options.rides // 4
            rows = np.array([measured(k) for k in rides(model, count, options.seed, gyro=gyro)])
            print(f"{model}, {'with' if gyro else 'without'} gyroscope, {count} rides")
            print(" ", told("offset", rows[:, 0], rows[:, 1]))
            print(" ", told("lag", rows[:, 2], rows[:, 3]))


if __name__ == "__main__":
    main()
