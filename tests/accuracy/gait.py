"""How well gaits, strides, changes and rhythm are found, on both signal models.

Run as ``python -m tests.accuracy gait --rides 50 --seed 0``; ``--mode motion`` leaves the positions
out, ``--mode positions`` the motion. ``--keep FILE`` adds the rides to a file and tells of all in
it, so that many can be run in parts (rides already in it are not run again); ``--keep A --keep B``
adds to A and tells of both. Goals: gait right in 98.5 % of seconds and macro-F1 0.97
(second model 97 %, 0.95), motion alone 97 %, positions alone 85 %; onset median 0.25 s, p90 0.6 s,
missed or invented under 2 % each; strides counted to 1 %, timed to 8 ms rms; tempo over 20 strides
to 0.3 strides/min; stride-time variation to 0.3 percentage points.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Literal

import numpy as np

from gait.stage import decode
from tests.accuracy.gait_kept import read_kept, row_of, summed
from tests.accuracy.gait_rides import MODELS, GaitRide, ModelName, made
from tests.accuracy.gait_scores import GAITS, Scores, score_ride
from tests.accuracy.gait_table import table_of

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
    parser.add_argument("--keep", type=Path, action="append", default=[])
    args = parser.parse_args()
    models: tuple[ModelName, ...] = MODELS if args.model == "all" else (args.model,)
    modes: tuple[Mode, ...] = (
        ("both", "motion", "positions") if args.mode == "all" else (args.mode,)
    )
    rows = [row for file in args.keep for row in read_kept(file)]
    for model in models:
        started = time.perf_counter()
        rows += _run(model, modes, range(args.seed, args.seed + args.rides), rows, args.keep[:1])
        print(f"({time.perf_counter() - started:.0f} s)", file=sys.stderr)
    for model in models:
        for mode in modes:
            scores = summed(row for row in rows if (row["model"], row["mode"]) == (model, mode))
            if scores.ride_right:
                report(f"{model}, {mode}", scores)
                print(table_of(scores, model, mode))


def _run(
    model: ModelName,
    modes: Sequence[Mode],
    seeds: Sequence[int],
    known: Sequence[dict[str, object]],
    keep: Sequence[Path],
) -> list[dict[str, object]]:
    """Run the rides that are not known yet, and add each to the file at once."""
    done = {(row["model"], row["mode"], row["seed"]) for row in known}
    rows: list[dict[str, object]] = []
    for seed in seeds:
        owed = [mode for mode in modes if (model, mode, seed) not in done]
        if not owed:
            continue
        ride, told = made(model, seed), []
        for mode in owed:
            scores = Scores()
            decoded(ride, mode, scores)
            rows.append(row_of(scores, model=model, mode=mode, seed=seed))
            told.append(f"{mode} {100 * scores.ride_right[-1]:.1f} %")
            for file in keep:
                with file.open("a", encoding="utf-8") as lines:
                    lines.write(json.dumps(rows[-1]) + "\n")
        print(f"{ride.name}: {', '.join(told)}", file=sys.stderr)
    return rows


if __name__ == "__main__":
    main()
