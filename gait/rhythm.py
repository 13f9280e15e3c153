"""Rhythm: tempo, evenness and length of strides, with the instrument's share taken out and told.

The rider's rise and sit does not enter: a stride is two beats of the trot, and strides are timed by
what both beats have in common (see :mod:`gait.strides`). Nothing here judges soundness.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from gait.bouts import Gait, Gaits, Stride
from gait.regularity import chance_interval, regularity_of
from gait.steady import durations_of
from gait.tempo import FEWEST_FOR_TEMPO, tempo_of
from gait.variation import cv_of, instrument_cv_of
from track.motion import Motion
from track.path import Estimate, Floats, Path

Rein = Literal["left", "right", "straight", "all"]
REINS: Final[tuple[Rein, ...]] = ("all", "left", "right", "straight")
MOVING: Final[tuple[Gait, ...]] = ("walk", "trot", "canter")
STRAIGHT_PER_M: Final = 0.04
"""Flatter than a circle of 50 m is straight: a 20 m circle has 0.1 per metre."""
SMOOTH_S: Final = 2.0
SPEED_SCALE_SD: Final = 0.01
"""Scale error of speed that all strides of a ride share [judgement]."""
SPEED_MEMORY_S: Final = 10.0
"""Errors of speed are alike over about this long."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rhythm:
    """One gait on one rein.

    Attributes
    ----------
    gait, rein : str
    tempo_spm : Estimate or None, strides/min
        Median; None under 6 strides.
    stride_time_cv_percent : Estimate or None, %
        100 · SD / mean of stride durations with the instrument's share removed; None under 20.
    stride_time_cv_interval_percent : (float, float) or None, %
        95 % interval of this horse's variation over ever so many such strides.
    instrument_cv_percent : Estimate or None, %
        What the instrument alone would show.
    stride_regularity : Estimate or None
        Autocorrelation of the vertical a stride on; None without motion.
    stride_length_m : Estimate or None, m
    stride_count : int
    """

    gait: Gait
    rein: Rein
    tempo_spm: Estimate | None
    stride_time_cv_percent: Estimate | None
    stride_time_cv_interval_percent: tuple[float, float] | None
    instrument_cv_percent: Estimate | None
    stride_regularity: Estimate | None
    stride_length_m: Estimate | None
    stride_count: int


def length_of(strides: Sequence[Stride], path: Path | None) -> Estimate | None:
    """Median stride length of some strides, m: distance along the path from start to end."""
    if path is None or len(strides) < FEWEST_FOR_TEMPO:
        return None
    durations, _ = durations_of(strides)
    middle = np.array([s.t_s for s in strides]) + 0.5 * durations
    known = (middle > path.t_s[0]) & (middle < path.t_s[-1])
    if known.sum() < FEWEST_FOR_TEMPO:
        return None
    length = (np.interp(middle, path.t_s, path.speed_ms) * durations)[known]
    relative = np.interp(middle, path.t_s, path.speed_sd_ms) * durations
    independent = max(1.0, float(durations[known].sum()) / SPEED_MEMORY_S)
    median = float(np.median(length))
    sd = np.hypot(float(np.mean(relative[known])) / np.sqrt(independent), SPEED_SCALE_SD * median)
    return Estimate(value=median, sd=float(sd))


def rhythm_of(gaits: Gaits, path: Path | None, motion: Motion | None = None) -> tuple[Rhythm, ...]:
    """Rhythm per gait and rein, with at least one row for every gait that has strides.

    Parameters
    ----------
    gaits : Gaits
    path : Path or None
        Gives the rein and the stride length.
    motion : Motion or None
        Gives the rein, roughly, where there is no path.
    """
    reins = reins_of(gaits.strides, path, motion)
    rows = []
    for gait in MOVING:
        for rein in REINS:
            own = tuple(
                s for s, r in zip(gaits.strides, reins, strict=True)
                if s.gait == gait and rein in ("all", r)
            )  # fmt: skip
            if own:
                rows.append(_row(gait, rein, own, path, motion))
    return tuple(rows)


def reins_of(
    strides: Sequence[Stride], path: Path | None, motion: Motion | None
) -> tuple[Rein | None, ...]:
    """Left, right or straight at each stride; None where nothing tells."""
    middle = np.array([s.t_s + 0.5 * s.duration_s for s in strides])
    if path is not None:
        curvature = curvature_per_m(path)
        at = np.interp(middle, path.t_s, curvature)
        known = (middle >= path.t_s[0]) & (middle <= path.t_s[-1])
        return tuple(
            _rein(c, STRAIGHT_PER_M) if k else None for c, k in zip(at, known, strict=True)
        )
    if motion is None or not motion.has_gyro:
        return tuple(None for _ in strides)
    turn = np.interp(middle, motion.t_s, np.nan_to_num(motion.turn_rads))
    return tuple(_rein(w, 3.0 * STRAIGHT_PER_M) for w in turn)  # at about 3 m/s


def curvature_per_m(path: Path) -> Floats:
    """Curvature of the ridden line, left positive, smoothed over two seconds."""
    step = float(np.median(np.diff(path.t_s))) if path.t_s.size > 1 else 1.0
    width = max(1, round(SMOOTH_S / step))
    kernel = np.full(width, 1.0 / width)
    turn = np.convolve(path.turn_rads, kernel, mode="same")
    speed = np.convolve(path.speed_ms, kernel, mode="same")
    return np.asarray(np.where(speed > 0.5, turn / np.maximum(speed, 0.5), 0.0))


def _rein(turn: float, straight: float) -> Rein:
    if abs(turn) < straight:
        return "straight"
    return "left" if turn > 0.0 else "right"


def _row(
    gait: Gait, rein: Rein, strides: Sequence[Stride], path: Path | None, motion: Motion | None
) -> Rhythm:
    cv = cv_of(strides)
    return Rhythm(
        gait=gait,
        rein=rein,
        tempo_spm=tempo_of(strides),
        stride_time_cv_percent=cv,
        stride_time_cv_interval_percent=(
            None if cv is None else chance_interval(cv.value, len(strides))
        ),
        instrument_cv_percent=None if cv is None else instrument_cv_of(strides),
        stride_regularity=None if motion is None else regularity_of(strides, motion),
        stride_length_m=length_of(strides, path),
        stride_count=len(strides),
    )
