"""Rhythm: tempo, evenness and length of strides, with the instrument's share taken out and told.

The rider's rise and sit does not enter: a stride is two beats of the trot, and strides are timed by
what both beats have in common (see :mod:`gait.strides`). Nothing here judges soundness.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr

from gait.bouts import Gait, Gaits, Stride
from gait.regularity import chance_interval, regularity_of
from gait.warp import overstated_of
from track.motion import Motion
from track.path import Estimate, Floats, Path

Rein = Literal["left", "right", "straight", "all"]
REINS: Final[tuple[Rein, ...]] = ("all", "left", "right", "straight")
MOVING: Final[tuple[Gait, ...]] = ("walk", "trot", "canter")
FEWEST_FOR_TEMPO: Final = 6
FEWEST_FOR_CV: Final = 20
STRAIGHT_PER_M: Final = 0.04
"""Flatter than a circle of 50 m is straight: a 20 m circle has 0.1 per metre."""
SMOOTH_S: Final = 2.0
NOISE_SHARE_SD: Final = 0.3
"""How well the instrument's variance is itself known, as a share of it [judgement]."""
START_SHARE_SD: Final[dict[Gait, float]] = {"walk": 0.05, "trot": 0.05, "canter": 0.1}
"""Share of the variation in doubt because strides may be begun at another moment of the cycle than
where their lengths change: half a stride off a fifth of it is lost, and in canter, where all hangs
on one beat, the moment is least sure [judgement]."""
FEET_SHARE: Final[dict[Gait, float]] = {"walk": 0.002, "trot": 0.002, "canter": 0.004}
"""Single feet land early or late by so much of a stride more or less than the halves of strides
show [judgement]; of canter's one beat they show least."""
FARTHEST_LOG: Final = 0.25
"""A stride further from the median, as a log, is a beat missed or doubled at a lost place, no
horse's: five times the largest variation told (a sound horse has 2 %)."""
UNSEEN_SD: Final = 3.0
"""A stride in doubt by so many times the usual was not measured: the log has a gap there."""
FEWEST_STEADY: Final = 16
"""Strides left after those at a change of gait and those that are no horse's; fewer tell nothing.
"""
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


def strides_between(gaits: Gaits, start_s: float, end_s: float, gait: Gait) -> tuple[Stride, ...]:
    """Whole strides of a gait inside ``[start_s, end_s)``."""
    return tuple(
        s for s in gaits.strides
        if s.gait == gait and s.t_s >= start_s and s.t_s + s.duration_s <= end_s
    )  # fmt: skip


def stride_time_cv(gaits: Gaits, start_s: float, end_s: float, gait: Gait) -> Estimate | None:
    """Stride-time variation of a window, %, the instrument's share removed; None under 20."""
    return cv_of(strides_between(gaits, start_s, end_s, gait))


def tempo_of(strides: Sequence[Stride]) -> Estimate | None:
    """Median tempo of some strides, strides/min; None under 6.

    The instrument scatters durations about the horse's, while their mean it leaves nearly alone:
    each is drawn to the mean by the instrument's share of the variance (regression to the mean),
    and the median is taken over all that each may then have been. The sd is the instrument's:
    instants at both ends of a run, and the median's loss against the mean (a factor of the root
    of pi/2 for normal scatter). Strides at a change of gait are left out, and may be counted in by
    another: each moves the median half a rank either way, and a rank of n is the root of 2 pi
    times the horse's sd, over n, for normal scatter.
    """
    if len(strides) < FEWEST_FOR_TEMPO:
        return None
    durations, sd_s = _durations(_steady(strides, FEWEST_FOR_TEMPO))
    mean, variance = float(durations.mean()), float(durations.var(ddof=1))
    horse = max(variance - float(np.mean(sd_s**2)), 0.0) / max(variance, 1e-12)
    drawn = mean + horse * (durations - mean)
    tempo = 60.0 / _median_of_normals(drawn, float(np.sqrt(horse * np.mean(sd_s**2))))
    instants = np.sqrt(np.pi / 2.0) * float(np.mean(sd_s / durations)) / np.sqrt(len(strides))
    changes = sum(stride.at_change for stride in strides)
    ranks = np.sqrt(2.0 * np.pi * horse * variance * changes) / (2.0 * len(strides) * mean)
    return Estimate(value=tempo, sd=float(tempo * np.hypot(instants, ranks)))


def _median_of_normals(means: Floats, sd: float) -> float:
    """Median of a mixture of normal laws of one sd.

    Examples
    --------
    >>> _median_of_normals(np.array([1.0, 2.0, 4.0]), 0.0)
    2.0
    >>> round(_median_of_normals(np.array([-1.0, 0.0, 1.0]), 2.0), 9)
    0.0
    """
    if sd <= 0.0 or np.ptp(means) == 0.0:
        return float(np.median(means))

    def excess(value: float) -> float:
        return float(ndtr((value - means) / sd).mean()) - 0.5

    return float(brentq(excess, means.min(), means.max()))


def cv_of(strides: Sequence[Stride]) -> Estimate | None:
    """Stride-time variation of some strides, %, the instrument's share removed; None under 20.

    The variance of measured durations is that of the true ones, plus the instrument's, plus twice
    a chance product of both, which makes the doubt together with what is not known of the
    instrument's own variance and of what :func:`gait.warp.overstated_of` takes out. At either end
    of a stretch a stride may be counted in or out by a hair: one exchanged of n moves the variance
    by 2 / n of itself (squares of normal deviates differ by 2, as sd).
    """
    if len(strides) < FEWEST_FOR_CV:
        return None
    strides = _steady(strides, FEWEST_STEADY)
    durations, _ = _durations(strides)
    own = np.abs(np.log(durations / np.median(durations))) < FARTHEST_LOG
    strides = [stride for stride, kept in zip(strides, own.tolist(), strict=True) if kept]
    if len(strides) < FEWEST_STEADY:
        return None
    durations, sd_s = _durations(strides)
    mean, noise = float(durations.mean()), float(np.mean(sd_s**2))
    feet_s, start = FEET_SHARE[strides[0].gait] * mean, START_SHARE_SD[strides[0].gait]
    warp = overstated_of(strides)
    true = max(float(durations.var(ddof=1)) - noise, 0.0) / (1.0 + warp.value) ** 2
    doubt = np.sqrt(
        4.0 * true * noise / durations.size
        + 3.0 * noise**2 / durations.size
        + (NOISE_SHARE_SD * noise) ** 2
        + (2.0 * feet_s**2) ** 2
        + 4.0 * (warp.sd**2 + start**2 + 1.0 / durations.size**2) * true**2
    )
    value = np.sqrt(true)
    # Near nought the square root's slope would be without bound: there the root of the doubt.
    sd = min(doubt / (2.0 * value) if value > 0.0 else np.inf, np.sqrt(doubt))
    return Estimate(value=100.0 * value / mean, sd=float(100.0 * sd / mean))


def _steady(strides: Sequence[Stride], fewest: int) -> Sequence[Stride]:
    """Leave out strides at a change of gait and in gaps of the log; all if too few remain.

    The horse shortens or lengthens into and out of a gait, and the tracker runs its outermost
    stride on to where the next gait begins: neither is the rhythm of this gait.
    """
    _, sd_s = _durations(strides)
    seen = sd_s <= UNSEEN_SD * np.median(sd_s)
    steady = [
        s for s, known in zip(strides, seen.tolist(), strict=True) if known and not s.at_change
    ]
    return steady if len(steady) >= fewest else strides


def instrument_cv_of(strides: Sequence[Stride]) -> Estimate | None:
    """Stride-time variation that the instrument alone would show, %; None without strides."""
    if not strides:
        return None
    durations, sd_s = _durations(strides)
    share = float(100.0 * np.sqrt(np.mean(sd_s**2)) / durations.mean())
    return Estimate(value=share, sd=0.5 * NOISE_SHARE_SD * share)  # its variance by twice that


def length_of(strides: Sequence[Stride], path: Path | None) -> Estimate | None:
    """Median stride length of some strides, m: distance along the path from start to end."""
    if path is None or len(strides) < FEWEST_FOR_TEMPO:
        return None
    durations, _ = _durations(strides)
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


def _durations(strides: Sequence[Stride]) -> tuple[Floats, Floats]:
    durations = np.array([s.duration_s for s in strides])
    sd = np.array([s.sd_s for s in strides])
    return durations, np.where(np.isfinite(sd), sd, 0.0)
