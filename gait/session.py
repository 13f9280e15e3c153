"""The shape of a session: how long in which gait on which rein, breaks, and when tempo settled.

Described, never graded: how long and how to warm up is the rider's own system.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from gait.bouts import Bout, Gait, Gaits, Stride, gait_at, runs_of
from gait.rhythm import MOVING
from gait.settled import Settled, settled_of
from track.motion import Motion
from track.path import Estimate, Floats, Path
from track.rein import Bend, changes_of_rein, rein_of

WORK: Final[tuple[Gait, ...]] = ("trot", "canter")
REINS: Final[tuple[Bend, ...]] = ("left", "right", "straight")
BREAK_S: Final = 20.0
"""Walk or halt of at least this long between two stretches of work is a walk break."""
RANGE_STRIDES: Final = 10
"""Strides in one reading of the tempo when its range over a session is told."""
FEWEST_FOR_RANGE: Final = 60
RANGE_SHARE: Final = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """Time and strides of one gait on one rein (or straight)."""

    gait: Gait
    rein: Bend
    seconds: float
    stride_count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """What a ride consisted of.

    Attributes
    ----------
    parts : tuple of Part
        Walk, trot and canter on each rein; empty without a path.
    first_trot_s, first_canter_s : float or None, s
    walk_breaks : tuple of (float, float), s
        ``[start_s, end_s)`` of each.
    longest_without_break_s : float or None, s
    changes_of_rein : int or None
    settled : Settled
    """

    parts: tuple[Part, ...]
    first_trot_s: float | None
    first_canter_s: float | None
    walk_breaks: tuple[tuple[float, float], ...]
    longest_without_break_s: float | None
    changes_of_rein: int | None
    settled: Settled


def session_of(gaits: Gaits, path: Path | None, motion: Motion | None = None) -> Session:
    """Describe a ride.

    Parameters
    ----------
    gaits : Gaits
    path : Path or None
        Gives the rein.
    motion : Motion or None
        Sharpens where a bend begins.
    """
    breaks = walk_breaks(gaits.bouts)
    return Session(
        parts=() if path is None else parts_of(gaits, path, motion),
        first_trot_s=first_of(gaits.bouts, "trot"),
        first_canter_s=first_of(gaits.bouts, "canter"),
        walk_breaks=tuple(breaks),
        longest_without_break_s=longest_between(gaits.bouts, breaks),
        changes_of_rein=None if path is None else changes_of_rein(path, motion),
        settled=settled_of(gaits.strides),
    )


def parts_of(gaits: Gaits, path: Path, motion: Motion | None = None) -> tuple[Part, ...]:
    """Seconds and strides of every gait on every rein that was ridden."""
    if path.t_s.size < 2:
        return ()
    step_s = float(np.median(np.diff(path.t_s)))
    reins = rein_of(path, motion)
    seconds = Counter(zip(gait_at(gaits, path.t_s), reins, strict=True))
    middle = [s.t_s + 0.5 * s.duration_s for s in gaits.strides]
    nearest = np.clip(np.searchsorted(path.t_s, middle), 0, len(reins) - 1)
    strides = Counter(
        (s.gait, reins[i]) for s, i in zip(gaits.strides, nearest.tolist(), strict=True)
    )
    return tuple(
        Part(
            gait=gait, rein=rein, seconds=step_s * seconds[gait, rein],
            stride_count=strides[gait, rein],
        )
        for gait in MOVING
        for rein in REINS
        if seconds[gait, rein] or strides[gait, rein]
    )  # fmt: skip


def first_of(bouts: Sequence[Bout], gait: Gait) -> float | None:
    """When a gait was first ridden, s; None if never."""
    return min((bout.start_s for bout in bouts if bout.gait == gait), default=None)


def walk_breaks(bouts: Sequence[Bout]) -> list[tuple[float, float]]:
    """Stretches of walk or halt between two stretches of work, at least :data:`BREAK_S` long."""
    work = [bout for bout in bouts if bout.gait in WORK]
    return [
        (before.end_s, after.start_s)
        for before, after in pairwise(work)
        if after.start_s - before.end_s >= BREAK_S
    ]


def longest_between(bouts: Sequence[Bout], breaks: Sequence[tuple[float, float]]) -> float | None:
    """Longest spell from the first work to the last without a walk break, s."""
    work = [bout for bout in bouts if bout.gait in WORK]
    if not work:
        return None
    edges = [work[0].start_s, *(t_s for span in breaks for t_s in span), work[-1].end_s]
    return max(b - a for a, b in zip(edges[::2], edges[1::2], strict=True))


def tempo_range_of(strides: Sequence[Stride]) -> Estimate | None:
    """Fastest less slowest tempo of a session, strides/min, nine in ten of its readings.

    A reading is the tempo over :data:`RANGE_STRIDES` strides that follow one another; what lies
    beyond the middle nine in ten is left to spooks and to the ends of bouts. None under 60 strides.

    Examples
    --------
    >>> steady = [Stride(t_s=0.75 * i, duration_s=0.75, gait="trot", sd_s=0.0) for i in range(60)]
    >>> tempo_range_of(steady).value
    0.0
    """
    if len(strides) < FEWEST_FOR_RANGE:
        return None
    tempo = np.concatenate([_readings(run) for run in runs_of(strides)])
    if tempo.size < FEWEST_FOR_RANGE // 2:
        return None
    low, high = np.quantile(tempo, [0.5 - RANGE_SHARE / 2, 0.5 + RANGE_SHARE / 2])
    sd_s = np.array([s.sd_s for s in strides])
    # Both ends of a reading are instants: over many strides their doubt is that of one duration.
    one = np.mean(np.where(np.isfinite(sd_s), sd_s, 0.0)) / (
        RANGE_STRIDES * np.mean([s.duration_s for s in strides])
    )
    return Estimate(value=float(high - low), sd=float(np.sqrt(2.0) * one * np.mean(tempo)))


def _readings(run: Sequence[Stride]) -> Floats:
    durations = np.array([s.duration_s for s in run])
    if durations.size < RANGE_STRIDES:
        return np.zeros(0)
    sums = np.convolve(durations, np.ones(RANGE_STRIDES), mode="valid")
    return np.asarray(60.0 * RANGE_STRIDES / sums)
