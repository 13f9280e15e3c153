"""Rhythm, time in each gait and the shape of the session as rows of the result."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from gait.bouts import Bout, Gait, Gaits
from gait.rhythm import Rhythm, rhythm_of
from report.result import RhythmRow, TimeIn, WarmUp
from report.rows import value_of
from track.rein import changes_of_rein, rein_of
from track.stage import Track

WORK: Final[tuple[Gait, ...]] = ("trot", "canter")
BREAK_S: Final = 20.0
"""Walk or halt of at least this long between two stretches of work is a walk break."""


def rhythm_rows(gaits: Gaits, track: Track) -> list[RhythmRow]:
    """Rhythm of each gait on each rein."""
    return [_rhythm_row(row) for row in rhythm_of(gaits, track.path, track.motion)]


def _rhythm_row(row: Rhythm) -> RhythmRow:
    return RhythmRow(
        gait=row.gait,
        rein=row.rein,
        tempo_spm=value_of(row.tempo_spm),
        stride_time_cv_percent=value_of(row.stride_time_cv_percent),
        stride_length_m=value_of(row.stride_length_m),
        stride_count=row.stride_count,
    )


def time_in_row(gaits: Gaits, track: Track) -> TimeIn:
    """Seconds per gait, and per rein where the path tells."""
    seconds = {
        gait: float(np.sum([b.end_s - b.start_s for b in gaits.bouts if b.gait == gait]))
        for gait in ("halt", "walk", "trot", "canter", "unknown")
    }
    left, right, straight = _per_rein(track)
    return TimeIn(
        halt_s=seconds["halt"],
        walk_s=seconds["walk"],
        trot_s=seconds["trot"],
        canter_s=seconds["canter"],
        unknown_s=seconds["unknown"],
        left_rein_s=left,
        right_rein_s=right,
        straight_s=straight,
    )


def _per_rein(track: Track) -> tuple[float | None, float | None, float | None]:
    path = track.path
    if path is None or path.t_s.size < 2:
        return None, None, None
    step_s = float(np.median(np.diff(path.t_s)))
    reins = rein_of(path, track.motion)
    return (
        step_s * reins.count("left"),
        step_s * reins.count("right"),
        step_s * reins.count("straight"),
    )


def warm_up_row(gaits: Gaits, track: Track) -> WarmUp:
    """Describe the shape of the session; nothing of it is graded."""
    first = {gait: _first(gaits.bouts, gait) for gait in WORK}
    breaks = walk_breaks(gaits.bouts)
    return WarmUp(
        first_trot_s=first["trot"],
        first_canter_s=first["canter"],
        walk_breaks=len(breaks),
        longest_without_walk_break_s=_longest_between(gaits.bouts, breaks),
        changes_of_rein=None if track.path is None else changes_of_rein(track.path, track.motion),
        settled_s=None,
    )


def _first(bouts: Sequence[Bout], gait: Gait) -> float | None:
    return min((bout.start_s for bout in bouts if bout.gait == gait), default=None)


def walk_breaks(bouts: Sequence[Bout]) -> list[tuple[float, float]]:
    """Stretches of walk or halt between two stretches of work, at least :data:`BREAK_S` long."""
    work = [bout for bout in bouts if bout.gait in WORK]
    return [
        (before.end_s, after.start_s)
        for before, after in pairwise(work)
        if after.start_s - before.end_s >= BREAK_S
    ]


def _longest_between(bouts: Sequence[Bout], breaks: Sequence[tuple[float, float]]) -> float | None:
    work = [bout for bout in bouts if bout.gait in WORK]
    if not work:
        return None
    edges = [work[0].start_s, *(t_s for span in breaks for t_s in span), work[-1].end_s]
    return max(b - a for a, b in zip(edges[::2], edges[1::2], strict=True))
