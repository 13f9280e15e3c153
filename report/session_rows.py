"""Rhythm, time in each gait and the shape of the session as rows of the result."""

from __future__ import annotations

import numpy as np

from gait.bouts import Gaits
from gait.rhythm import Rhythm, reins_of, rhythm_of
from gait.session import Session, tempo_range_of
from report.result import PartRow, RhythmRow, TimeIn, WarmUp
from report.rows import value_of
from track.path import Estimate
from track.rein import rein_of
from track.stage import Track


def rhythm_rows(gaits: Gaits, track: Track) -> list[RhythmRow]:
    """Rhythm of each gait on each rein."""
    reins = reins_of(gaits.strides, track.path, track.motion)
    out = []
    for row in rhythm_of(gaits, track.path, track.motion):
        own = [
            stride
            for stride, rein in zip(gaits.strides, reins, strict=True)
            if stride.gait == row.gait and row.rein in ("all", rein)
        ]
        out.append(_rhythm_row(row, tempo_range_of(own)))
    return out


def _rhythm_row(row: Rhythm, tempo_range: Estimate | None) -> RhythmRow:
    return RhythmRow(
        gait=row.gait,
        rein=row.rein,
        tempo_spm=value_of(row.tempo_spm),
        stride_time_cv_percent=value_of(row.stride_time_cv_percent),
        stride_length_m=value_of(row.stride_length_m),
        stride_count=row.stride_count,
        tempo_range_spm=value_of(tempo_range),
        instrument_cv_percent=value_of(row.instrument_cv_percent),
        stride_time_cv_interval_percent=_rounded(row.stride_time_cv_interval_percent),
        stride_regularity=value_of(row.stride_regularity),
    )


def _rounded(interval: tuple[float, float] | None) -> tuple[float, float] | None:
    return None if interval is None else (round(interval[0], 4), round(interval[1], 4))


def time_in_row(gaits: Gaits, track: Track, session: Session) -> TimeIn:
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
        parts=[
            PartRow(gait=p.gait, rein=p.rein, seconds=p.seconds, stride_count=p.stride_count)
            for p in session.parts
        ],
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


def warm_up_row(session: Session) -> WarmUp:
    """Describe the shape of the session; nothing of it is graded."""
    settled = session.settled
    return WarmUp(
        first_trot_s=session.first_trot_s,
        first_canter_s=session.first_canter_s,
        walk_breaks=len(session.walk_breaks),
        longest_without_walk_break_s=session.longest_without_break_s,
        changes_of_rein=session.changes_of_rein,
        settled_s=None if settled.at_s is None else settled.at_s.value,
        settled_sd_s=None if settled.at_s is None else settled.at_s.sd,
        settled_after_s=value_of(settled.after_s),
        settled_gait=settled.gait,
        settled_because=settled.because,
    )
