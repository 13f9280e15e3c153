"""How long the track stage takes on an hour's ride: ``python -m tests.bench track``.

An invented ride is ridden again and again until the hour is full; attitude is not counted here
(the motion is given), clocks, smoothing, placement and the shapes of every circle are. Times are
processor time of one core.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import replace

import numpy as np
import pandas as pd

from ingest.recording import Recording
from tests.accuracy import invented as iv
from track.follow import follow_motion
from track.motion import Motion
from track.shapes import circle_of

SAMPLED = (
    "t_s", "up_ms2", "level_a_ms2", "level_b_ms2", "turn_rads", "still", "beat_hz",
    "beat_regularity", "valid", "stride_s", "activity_ms2",
)  # fmt: skip


def long_ride(minutes: float, seed: int) -> tuple[Recording, Motion, tuple[iv.Figure, ...]]:
    """Fixes and motion of one ride after another, each starting where the last one ended."""
    rng = np.random.default_rng(seed)
    tables, motions, figures, begun = [], [], [], 0.0
    while begun < 60 * minutes:
        truth = iv.ride("trot", rng)
        recording, motion = iv.recorded(truth, iv.PHONE, rng)
        if recording.fixes is None or motion is None:
            raise RuntimeError("an invented ride has fixes and motion")
        tables.append(recording.fixes.assign(t_s=recording.fixes["t_s"] + begun))
        motions.append(replace(motion, t_s=motion.t_s + begun))
        figures += [
            replace(f, start_s=f.start_s + begun, end_s=f.end_s + begun) for f in truth.figures
        ]
        begun += float(np.ceil(truth.t_s[-1]))
    fields = {field: [getattr(m, field) for m in motions] for field in SAMPLED}
    joined = replace(motions[0])
    for field, parts in fields.items():
        joined = replace(joined, **{field: np.concatenate(parts)})  # type: ignore[arg-type]
    fixes = pd.concat(tables, ignore_index=True)
    return Recording(fixes=fixes, clocks_shared=True), joined, tuple(figures)


def main() -> None:
    """Print processor seconds for rides of growing length."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", default="15,30,60")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    for minutes in map(float, options.minutes.split(",")):
        recording, motion, figures = long_ride(minutes, options.seed)
        began = time.process_time()
        track = follow_motion(recording, motion)
        followed = time.process_time()
        circles = [figure for figure in figures if figure.kind == "circle"]
        if track.path is not None:
            for figure in circles:
                circle_of(track.path, figure.start_s, figure.end_s)
        done = time.process_time()
        print(
            f"{minutes:.0f} min: track {followed - began:.2f} s, "
            f"{len(circles)} circles {done - followed:.2f} s"
        )


if __name__ == "__main__":
    main()
