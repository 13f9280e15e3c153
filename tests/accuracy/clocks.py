"""How well clock offset and receiver lag are found, and whether their sd can be believed.

``python -m tests.accuracy clocks --rides 200 --seed 1``. Rides of the simulator and of the second
model, clocks up to 15 s apart or without a common epoch, lags of 0 to 1.5 s. Goals: 0.1 s (1 sd)
each in rides with turns; intervals consistent with 95 % at the binomial 99 % level. Without a
gyroscope the doubt is wider and must be as honest. Lines for kinds of ride follow the total.

Aligning reads no speed column. ``--whole`` follows each ride to the end instead (a second or two
each), where speed counts: as the file has it, without any, and put in from the truth with no lag.
"""

from __future__ import annotations

import argparse
from dataclasses import replace

import numpy as np
from scipy.stats import binom

from tests.accuracy.two_models import MODELS, Known, rides
from track.clocks import align
from track.follow import follow
from track.geodesy import LocalPlane
from track.motion import read_motion
from track.path import Floats
from track.stage import Clock

GOAL_S = 0.1
SPEEDS = ("as written", "none", "unlagged")
SPEED_SD_MS = 0.1
Row = tuple[float, float, float, float]
"""Error and sd of the shift, error and sd of the lag."""


def aligned(known: Known) -> Clock:
    """Align one ride with its clocks as they were written."""
    motion, fixes = read_motion(known.recording), known.recording.fixes
    if motion is None or fixes is None:
        raise RuntimeError("a made-up ride has fixes and motion")
    plane = LocalPlane(
        lat_deg=float(fixes["lat_deg"].median()), lon_deg=float(fixes["lon_deg"].median())
    )
    x_m, y_m = plane.to_plane(fixes["lat_deg"].to_numpy(), fixes["lon_deg"].to_numpy())
    return align(motion, fixes, x_m, y_m, clocks_shared=known.recording.clocks_shared)


def with_speed(known: Known, kind: str) -> Known:
    """The ride with its speed column taken away, or put in from the truth without any lag."""
    fixes = known.recording.fixes
    if fixes is None or kind == "as written":
        return known
    table = fixes.assign(speed_ms=np.nan, course_deg=np.nan)
    if kind == "unlagged":
        speed = np.interp(table["t_s"], known.t_s, known.speed_ms)
        noise = np.random.default_rng(len(table)).normal(0, SPEED_SD_MS, len(table))
        table = table.assign(speed_ms=np.maximum(speed + noise, 0.0))
    return replace(known, recording=replace(known.recording, fixes=table))


def measured(known: Known, speed: str | None) -> Row:
    """Errors and sds of one ride; of the whole stage where a kind of speed is named."""
    clock = aligned(known) if speed is None else follow(with_speed(known, speed).recording).clock
    if clock is None or clock.lag_s is None:
        raise RuntimeError("fixes and motion always give a clock and a lag")
    return (
        clock.shift_s.value - known.shift_s, clock.shift_s.sd,
        clock.lag_s.value - known.lag_s, clock.lag_s.sd,
    )  # fmt: skip


def told(name: str, error: Floats, sd: Floats) -> str:
    """One line: size of the error beside its goal, bias, the sd claimed, how often 95 % held."""
    held = int(np.sum(np.abs(error) < 1.96 * sd))
    low, high = (float(binom.ppf(q, len(error), 0.95)) for q in (0.005, 0.995))
    verdict = "consistent" if low <= held <= high else "not consistent"
    return (
        f"{name:8s} rms {np.sqrt(np.mean(error**2)):6.3f} s (goal with turns {GOAL_S})"
        f"  median {np.median(np.abs(error)):6.3f}"
        f"  p95 {np.percentile(np.abs(error), 95):6.3f}  bias {np.mean(error):+7.4f}"
        f"  sd claimed {np.median(sd):6.3f}"
        f"  within 1.96 sd {held}/{len(error)} ({verdict} with 95 %: {low:.0f}-{high:.0f})"
    )


def kinds(known: Known) -> tuple[str, ...]:
    """The lines a ride is counted in."""
    shared = known.recording.clocks_shared
    lag = "under 0.3" if known.lag_s < 0.3 else "0.3 to 1" if known.lag_s < 1 else "over 1"
    return "all", "clocks shared" if shared else "clocks not shared", f"lag {lag} s"


def show(model: str, count: int, seed: int, *, gyro: bool, speed: str | None) -> None:
    """Measure some rides and print a block of lines."""
    rows: dict[str, list[Row]] = {}
    for known in rides(model, count, seed, gyro=gyro):
        row = measured(known, speed)
        for kind in kinds(known):
            rows.setdefault(kind, []).append(row)
    what = "" if speed is None else f", whole stage, speed {speed}"
    print(f"{model}, {'with' if gyro else 'without'} gyroscope{what}, {count} rides from {seed}")
    for kind, listed in sorted(rows.items()):
        table = np.array(listed)
        print(f"  {kind} ({len(listed)})")
        print("   ", told("offset", table[:, 0], table[:, 1]))
        print("   ", told("lag", table[:, 2], table[:, 3]), flush=True)


def main() -> None:
    """Print a block per model, with and without a gyroscope."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rides", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--whole", action="store_true")
    options = parser.parse_args()
    for model in MODELS:
        for speed in SPEEDS if options.whole else (None,):
            show(model, options.rides, options.seed, gyro=True, speed=speed)
            show(model, max(options.rides // 4, 1), options.seed, gyro=False, speed=speed)


if __name__ == "__main__":
    main()
