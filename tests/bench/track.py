"""How long the track stage takes on an hour's ride: ``python -m tests.bench track``.

An invented ride is ridden again and again until the hour is full; attitude is not counted here
(the motion is given), clocks, smoothing, placement and the shapes of every circle are. Times are
processor time of one core, the median of some rounds.
"""

from __future__ import annotations

import argparse
import statistics
import time
import tracemalloc
from dataclasses import replace

import numpy as np
import pandas as pd

from ingest.recording import Recording
from tests.accuracy import invented as iv
from track.follow import follow_motion
from track.motion import Motion
from track.path import Floats
from track.shapes import circle_of

SAMPLED = (
    "t_s", "up_ms2", "level_a_ms2", "level_b_ms2", "turn_rads", "still", "beat_hz",
    "beat_regularity", "valid", "stride_s", "activity_ms2",
)  # fmt: skip


def long_ride(
    minutes: float, seed: int, *, jumping: bool = False
) -> tuple[Recording, Motion, tuple[iv.Figure, ...]]:
    """Fixes and motion of one ride after another, each starting where the last one ended.

    An invented ride begins on one long side and ends on the other, so every second one is
    mirrored. ``jumping`` leaves them as they are: the path then jumps by 20 m at every join, as
    no horse does, and the receiver's slow error starts afresh.
    """
    rng = np.random.default_rng(seed)
    rides: list[iv.Ride] = []
    while sum(ride.t_s[-1] for ride in rides) < 60 * minutes:
        truth = iv.ride("trot", rng)
        rides.append(truth if jumping or len(rides) % 2 == 0 else _mirrored(truth))
    if jumping:
        return _one_by_one(rides, rng)
    joined = _joined(rides)
    recording, motion = _recorded(joined, rng)
    return recording, motion, joined.figures


def _recorded(truth: iv.Ride, rng: np.random.Generator) -> tuple[Recording, Motion]:
    recording, motion = iv.recorded(truth, iv.PHONE, rng)
    if motion is None:
        raise RuntimeError("an invented ride has motion")
    return recording, motion


def _mirrored(ride: iv.Ride) -> iv.Ride:
    """The same with left and right exchanged."""
    figures = tuple(replace(f, rein="left" if f.rein == "right" else "right") for f in ride.figures)
    return replace(ride, x_m=-ride.x_m, heading_rad=np.pi - ride.heading_rad, figures=figures)


def _begun(ride: iv.Ride, begun_s: float) -> iv.Ride:
    """The same, starting later."""
    return replace(
        ride,
        t_s=ride.t_s + begun_s,
        figures=tuple(
            replace(f, start_s=f.start_s + begun_s, end_s=f.end_s + begun_s) for f in ride.figures
        ),
        halts=tuple((start + begun_s, end + begun_s) for start, end in ride.halts),
        changes_s=tuple(change + begun_s for change in ride.changes_s),
    )


def _later(rides: list[iv.Ride]) -> list[iv.Ride]:
    """One ride after another on one clock."""
    out, begun_s = [], 0.0
    for ride in rides:
        out.append(_begun(ride, begun_s))
        begun_s = float(out[-1].t_s[-1]) + 1 / iv.RATE_HZ
    return out


def _joined(rides: list[iv.Ride]) -> iv.Ride:
    """One ride of several."""
    each = _later(rides)

    def whole(field: str) -> Floats:
        return np.concatenate([getattr(ride, field) for ride in each])

    return iv.Ride(
        t_s=whole("t_s"),
        x_m=whole("x_m"),
        y_m=whole("y_m"),
        heading_rad=np.unwrap(whole("heading_rad")),
        speed_ms=whole("speed_ms"),
        figures=tuple(f for r in each for f in r.figures),
        halts=tuple(halt for r in each for halt in r.halts),
        changes_s=tuple(change for r in each for change in r.changes_s),
    )


def _one_by_one(
    rides: list[iv.Ride], rng: np.random.Generator
) -> tuple[Recording, Motion, tuple[iv.Figure, ...]]:
    """Each ride recorded for itself, and the recordings joined."""
    tables, motions, later = [], [], _later(rides)
    for ride, placed in zip(rides, later, strict=True):
        recording, motion = _recorded(ride, rng)
        if recording.fixes is None:
            raise RuntimeError("an invented ride has fixes")
        tables.append(recording.fixes.assign(t_s=recording.fixes["t_s"] + placed.t_s[0]))
        motions.append(replace(motion, t_s=motion.t_s + placed.t_s[0]))
    fields = {field: np.concatenate([getattr(m, field) for m in motions]) for field in SAMPLED}
    joined = replace(motions[0], **fields)  # type: ignore[arg-type]
    fixes = pd.concat(tables, ignore_index=True)
    figures = tuple(f for ride in later for f in ride.figures)
    return Recording(fixes=fixes, clocks_shared=True), joined, figures


def _rounds(
    recording: Recording, motion: Motion, circles: list[iv.Figure], rounds: int
) -> tuple[list[float], list[float]]:
    """Processor seconds of the stage and of the circles, ascending."""
    track_s, circles_s = [], []
    for _ in range(rounds):
        began = time.process_time()
        track = follow_motion(recording, motion)
        followed = time.process_time()
        if track.path is not None:
            for figure in circles:
                circle_of(track.path, figure.start_s, figure.end_s)
        track_s.append(followed - began)
        circles_s.append(time.process_time() - followed)
    return sorted(track_s), sorted(circles_s)


def _peak_mb(recording: Recording, motion: Motion) -> float:
    """Most memory that the stage holds at once, its input not counted."""
    tracemalloc.start()
    follow_motion(recording, motion)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1e6


def main() -> None:
    """Print processor seconds and memory for rides of growing length."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", default="15,30,60,120")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--jumping", action="store_true", help="rides joined with jumps of 20 m")
    options = parser.parse_args()
    for minutes in map(float, options.minutes.split(",")):
        recording, motion, figures = long_ride(minutes, options.seed, jumping=options.jumping)
        circles = [figure for figure in figures if figure.kind == "circle"]
        track_s, circles_s = _rounds(recording, motion, circles, options.rounds)
        print(
            f"{minutes:.0f} min: track {statistics.median(track_s):.2f} s "
            f"({track_s[0]:.2f} to {track_s[-1]:.2f}), {len(circles)} circles "
            f"{statistics.median(circles_s):.2f} s, {_peak_mb(recording, motion):.0f} MB"
        )


if __name__ == "__main__":
    main()
