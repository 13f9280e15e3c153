"""Rhythm, time in each gait and the shape of the session as rows of the result."""

from __future__ import annotations

import numpy as np

from gait.bouts import Gait, Gaits
from report.result import RhythmRow, TimeIn, Value, WarmUp
from report.tempo import tempo_spm
from track.stage import Track

MOVING: tuple[Gait, ...] = ("walk", "trot", "canter")


def rhythm_rows(gaits: Gaits, track: Track) -> list[RhythmRow]:
    """Rhythm of each gait."""
    rows = []
    for gait in MOVING:
        strides = [s for s in gaits.strides if s.gait == gait]
        tempo = tempo_spm(strides, gaits.stride_sd_s)
        if tempo is not None:
            rows.append(
                RhythmRow(
                    gait=gait,
                    rein="all",
                    tempo_spm=Value(value=tempo.value, sd=tempo.sd),
                    stride_time_cv_percent=None,
                    stride_length_m=None,
                    stride_count=len(strides),
                )
            )
    return rows


def time_in_row(gaits: Gaits, track: Track) -> TimeIn:
    """Seconds per gait."""
    seconds = {
        gait: float(np.sum([b.end_s - b.start_s for b in gaits.bouts if b.gait == gait]))
        for gait in ("halt", "walk", "trot", "canter", "unknown")
    }
    return TimeIn(
        halt_s=seconds["halt"],
        walk_s=seconds["walk"],
        trot_s=seconds["trot"],
        canter_s=seconds["canter"],
        unknown_s=seconds["unknown"],
        left_rein_s=None,
        right_rein_s=None,
        straight_s=None,
    )


def warm_up_row(gaits: Gaits, track: Track) -> WarmUp:
    """First trot and canter."""
    first = {g: min((b.start_s for b in gaits.bouts if b.gait == g), default=None) for g in MOVING}
    return WarmUp(
        first_trot_s=first["trot"],
        first_canter_s=first["canter"],
        walk_breaks=0,
        longest_without_walk_break_s=None,
        changes_of_rein=None,
        settled_s=None,
    )
