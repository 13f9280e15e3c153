"""Accuracy of the track stage on invented rides: the issue's table, biases and intervals.

``python -m tests.accuracy track --rides 200 --seed 1``. Two columns: the noise of the bound's table
(with speed) and the noise measured on phones (without); ``--columns all`` adds every fault. Goals:
errors within 15 % of the targets in the first column, biases under a third of an sd, intervals
consistent with 95 % and 93 to 97 % of all.

``--keep FILE`` adds the errors to a file and tells of all that it holds; with ``--first`` or other
seeds, long runs can be made in parts, by several processes into files of their own, which
``--also FILE ...`` reads in. ``--rides 0`` only tells.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Final

import numpy as np

from tests.accuracy import invented as iv
from tests.accuracy.track_errors import Errors, compare
from tests.accuracy.track_table import GAITS, lines, summary
from track.follow import follow_motion

COLUMNS: Final = {
    "table": iv.PLAIN,
    "phone": iv.PHONE,
    "no gyro": iv.Faults(gyro=False),
    "positions": iv.Faults(gyro=False, speed_ms=None),
    "lag 1 s": iv.Faults(lag_s=1.0),
    "offset 1 s": iv.Faults(offset_s=1.0),
    "speed 3 %": iv.Faults(speed_scale=-0.03),
    "wild 5 %": iv.Faults(wild_percent=5.0),
    "frozen": iv.Faults(frozen=True),
    "swinging pocket": iv.Faults(pocket=True, swing=1.5),
    "slipping phone": iv.Faults(pocket=True, slips=True),
    "good": iv.Faults(drift_m=0.5, fix_m=0.05),
    "poor": iv.Faults(drift_m=3.0, fix_m=1.0, speed_ms=0.4),
    "no gyro good": iv.Faults(gyro=False, drift_m=0.5, fix_m=0.05),
    "no gyro poor": iv.Faults(gyro=False, drift_m=3.0, fix_m=1.0, speed_ms=0.4),
}
Kept = dict[tuple[str, str], Errors]
"""Errors by column and gait."""


def run(faults: iv.Faults, gait: str, rides: int, seed: int, first: int = 0) -> Errors:
    """Errors of so many rides of one gait."""
    errors = Errors()
    for number in range(first, first + rides):
        rng = np.random.default_rng([seed, number, GAITS.index(gait)])
        truth = iv.ride(gait, rng)
        recording, motion = iv.recorded(truth, faults, rng)
        compare(follow_motion(recording, motion), truth, faults, errors)
    return errors


def read(file: Path) -> Kept:
    """Errors that a run before has kept."""
    out: Kept = {}
    for row in json.loads(file.read_text()):
        errors = Errors()
        errors.rides, errors.lost = row["rides"], row["lost"]
        errors.rows = {name: [(e, s) for e, s in rows] for name, rows in row["rows"].items()}
        out[row["column"], row["gait"]] = errors
    return out


def write(file: Path, kept: Kept) -> None:
    """Keep errors for a run to come."""
    rows = [
        {"column": column, "gait": gait, "rides": e.rides, "lost": e.lost, "rows": e.rows}
        for (column, gait), e in kept.items()
    ]
    file.write_text(json.dumps(rows))


def join(kept: Kept, more: Kept) -> None:
    """Add errors of other rides."""
    for key, errors in more.items():
        known = kept.setdefault(key, Errors())
        known.rides, known.lost = known.rides + errors.rides, known.lost + errors.lost
        for name, rows in errors.rows.items():
            known.rows.setdefault(name, []).extend(rows)


def main() -> None:
    """Run the columns asked for and print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.accuracy track")
    parser.add_argument("--rides", type=int, default=200, help="per gait and column")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first ride")
    columns = ", ".join(COLUMNS).replace("%", "%%")
    parser.add_argument("--columns", default="table,phone", help=f"all, or {columns}")
    parser.add_argument("--gaits", default=",".join(GAITS))
    parser.add_argument("--keep", type=Path, help="add the errors to this file, and tell of all")
    parser.add_argument("--also", type=Path, nargs="*", default=[], help="tell of these too")
    chosen = parser.parse_args()
    kept: Kept = read(chosen.keep) if chosen.keep and chosen.keep.exists() else {}
    for column in COLUMNS if chosen.columns == "all" else chosen.columns.split(","):
        for gait in chosen.gaits.split(",") if chosen.rides else ():
            made = run(COLUMNS[column], gait, chosen.rides, chosen.seed, chosen.first)
            join(kept, {(column, gait): made})
            print("\n".join(lines(column, gait, kept[column, gait])), flush=True)
            if chosen.keep:
                write(chosen.keep, kept)
    for file in chosen.also:
        join(kept, read(file))
    if chosen.also or not chosen.rides:
        for (column, gait), errors in kept.items():
            print("\n".join(lines(column, gait, errors)))
    print("\n".join(summary(kept)))


if __name__ == "__main__":
    main()
