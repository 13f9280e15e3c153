"""How well gaits, strides, changes and rhythm are found, on both signal models.

Run as ``python -m tests.accuracy gait --rides 50 --seed 0``; ``--mode motion`` leaves the positions
out, ``--mode positions`` the motion. Goals: gait right in 98.5 % of seconds and macro-F1 0.97
(second model 97 %, 0.95), motion alone 97 %, positions alone 85 %; onset median 0.25 s, p90 0.6 s,
missed or invented under 2 % each; strides counted to 1 %, timed to 8 ms rms; tempo over 20 strides
to 0.3 strides/min; stride-time variation to 0.3 percentage points.
"""

from __future__ import annotations

import argparse
import sys
import time
from typing import Literal

import numpy as np

from gait.stage import decode
from tests.accuracy.gait_rides import MODELS, GaitRide, ModelName, made
from tests.accuracy.gait_scores import GAITS, Scores, score_ride

Mode = Literal["both", "motion", "positions"]


def decoded(ride: GaitRide, mode: Mode, scores: Scores) -> None:
    """Decode one ride and score it."""
    motion = None if mode == "positions" else ride.motion
    path = None if mode == "motion" else ride.path
    score_ride(ride, decode(motion, path), scores, strides=mode != "positions")


def report(title: str, scores: Scores) -> None:
    """Print the figures line by line."""
    table = scores.confusion
    f1 = [2 * table[i, i] / max(table[i].sum() + table[:, i].sum(), 1) for i in range(4)]
    print(f"-- {title}: {len(scores.ride_right)} rides")
    print(
        f"seconds right {100 * np.trace(table) / table.sum():.2f} %  macro-F1 {np.mean(f1):.4f}  "
        + "  ".join(f"{g} {f:.4f}" for g, f in zip(GAITS, f1, strict=False))
    )
    print(
        f"worst ride {100 * min(scores.ride_right):.1f} %  called unknown "
        f"{100 * table[:4, 4].sum() / table.sum():.2f} %"
    )
    print(
        "rising trot called canter: most in a ride "
        f"{max(scores.rising_called_canter_s, default=0):.1f} s; "
        f"walk called canter: most in a ride {max(scores.walk_called_canter_s):.1f} s"
    )
    if scores.onset_s:
        _report_changes(scores)
    for gait in scores.true_strides:
        _report_strides(gait, scores)
    if scores.tempo_spm:
        error = np.abs(scores.tempo_spm)
        print(
            f"tempo over 20 strides: rms {np.sqrt(np.mean(error**2)):.3f}, "
            f"p95 {np.quantile(error, 0.95):.3f} strides/min"
        )


def _report_changes(scores: Scores) -> None:
    error, z = np.array(scores.onset_s), np.array(scores.onset_z)
    n = max(scores.changes, 1)
    print(
        f"onset median {np.median(np.abs(error)):.3f} s  "
        f"p90 {np.quantile(np.abs(error), 0.9):.3f} s  "
        f"bias {np.median(error):+.3f} s  within 2 sd {100 * np.mean(np.abs(z) < 2):.1f} %"
    )
    print(
        f"changes {scores.changes}  missed {100 * scores.missed / n:.2f} %  "
        f"invented {100 * scores.invented / n:.2f} %  "
        f"between strides p90 {np.quantile(np.abs(scores.between), 0.9):.2f}  "
        f"events {scores.events_found}/{scores.events} found, {scores.events_invented} invented"
    )


def _report_strides(gait: str, scores: Scores) -> None:
    true, found = scores.true_strides[gait], scores.found_strides[gait]
    line = f"{gait}: strides {found}/{true} ({100 * (found / max(true, 1) - 1):+.2f} %)"
    timing = np.array(scores.timing_s.get(gait, []))
    if timing.size:
        line += f"  timing rms {1000 * np.sqrt(np.mean(timing**2)):.1f} ms"
    rows = np.array(scores.cv_percent.get(gait, []))
    if rows.size:
        off = rows[:, 0] - rows[:, 2]
        line += (
            f"  variation: bias {off.mean():+.2f}, rms {np.sqrt(np.mean(off**2)):.2f}, "
            f"within 0.3 {100 * np.mean(np.abs(off) < 0.3):.0f} %, in 1.96 sd "
            f"{100 * np.mean(np.abs(off) < 1.96 * rows[:, 1]):.0f} % of {off.size}"
        )
    print(line)


def main() -> None:
    parser = argparse.ArgumentParser(prog="tests.accuracy gait")
    parser.add_argument("--rides", type=int, default=20)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--mode", choices=["both", "motion", "positions", "all"], default="all")
    parser.add_argument("--model", choices=[*MODELS, "all"], default="all")
    args = parser.parse_args()
    models: tuple[ModelName, ...] = MODELS if args.model == "all" else (args.model,)
    modes: tuple[Mode, ...] = (
        ("both", "motion", "positions") if args.mode == "all" else (args.mode,)
    )
    for model in models:
        tallies = {mode: Scores() for mode in modes}
        started = time.perf_counter()
        for seed in range(args.seed, args.seed + args.rides):
            ride = made(model, seed)
            for mode, scores in tallies.items():
                decoded(ride, mode, scores)
            print(
                f"{ride.name}: "
                + ", ".join(f"{m} {100 * s.ride_right[-1]:.1f} %" for m, s in tallies.items()),
                file=sys.stderr,
            )
        for mode, scores in tallies.items():
            report(f"{model}, {mode}", scores)
        print(f"({time.perf_counter() - started:.0f} s)", file=sys.stderr)


if __name__ == "__main__":
    main()
