"""From what the stages found to the plain rows of the result."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pandas as pd

from gait.bouts import Gaits
from ingest.columns import T_S
from ingest.recording import Note, Recording
from report.result import (
    ArenaRow,
    BoutRow,
    EventRow,
    Kind,
    NoteRow,
    PathRow,
    Ride,
    RunnerUpRow,
    StrideRow,
    TransitionRow,
    Value,
)
from track.path import Estimate, Path
from track.stage import Clock, Placement, Track


def value_of(estimate: Estimate | None) -> Value | None:
    """Write an estimate down."""
    return None if estimate is None else Value(value=estimate.value, sd=estimate.sd)


def rate_hz(table: pd.DataFrame | None) -> float | None:
    """Median rate of a table's rows; None with fewer than two."""
    if table is None or len(table) < 2:
        return None
    steps = np.diff(table[T_S].to_numpy(dtype=np.float64))
    steps = steps[steps > 0]
    return float(1 / np.median(steps)) if steps.size else None


def span_s(recording: Recording, track: Track) -> float:
    """Duration of the recording, seconds."""
    ends = [
        float(table[T_S].iloc[-1])
        for table in (recording.fixes, recording.motion)
        if table is not None and len(table)
    ]
    if track.path is not None:
        return float(max(track.path.t_s[-1], 0.0))
    starts = [
        float(table[T_S].iloc[0])
        for table in (recording.fixes, recording.motion)
        if table is not None and len(table)
    ]
    return max(ends, default=0.0) - min(starts, default=0.0)


def ride_row(
    recording: Recording,
    track: Track,
    *,
    horse: str | None = None,
    kind: Kind | None = None,
    pocket: str | None = None,
    label: str | None = None,
) -> Ride:
    """Describe the recording as a whole."""
    clock = track.clock
    return Ride(
        duration_s=span_s(recording, track),
        fix_count=0 if recording.fixes is None else len(recording.fixes),
        fix_rate_hz=rate_hz(recording.fixes),
        motion_rate_hz=rate_hz(recording.motion),
        sources=list(recording.sources),
        horse=horse,
        kind=kind,
        pocket=pocket,
        label=label,
        clock_offset_s=None if clock is None else value_of(clock.offset_s),
        receiver_lag_s=None if clock is None else value_of(clock.lag_s),
    )


def note_rows(notes: Iterable[Note]) -> list[NoteRow]:
    """Write notes down, each once."""
    once = dict.fromkeys(notes)
    return [NoteRow(code=n.code, text=n.text, severity=n.severity) for n in once]


def arena_row(placement: Placement | None) -> ArenaRow | None:
    """Where the arena lies; None when no school was found."""
    if placement is None:
        return None
    arena, second = placement.arena, placement.runner_up
    return ArenaRow(
        size=arena.size,
        source=placement.source,
        ends=placement.ends,
        ends_because=placement.ends_because,
        x_lat_deg=arena.x_lat_deg,
        x_lon_deg=arena.x_lon_deg,
        bearing_deg=arena.bearing_deg,
        sd_m=arena.sd_m,
        bearing_sd_deg=arena.bearing_sd_deg,
        track_offset_m=Value(value=placement.track_offset_m.value, sd=placement.track_offset_m.sd),
        runner_up=None
        if second is None
        else RunnerUpRow(
            size=second.size,
            x_lat_deg=second.x_lat_deg,
            x_lon_deg=second.x_lon_deg,
            bearing_deg=second.bearing_deg,
            log_odds=second.log_odds,
        ),
        because=placement.because,
        school_log_odds=placement.school_log_odds,
    )


def path_row(path: Path | None) -> PathRow | None:
    """Write the path down; heading in (-180, 180] degrees."""
    if path is None:
        return None
    heading = np.rad2deg(path.heading_rad)
    return PathRow(
        frame=path.frame,
        t_s=path.t_s.tolist(),
        x_m=path.x_m.tolist(),
        y_m=path.y_m.tolist(),
        sd_m=np.sqrt((path.sd_x_m**2 + path.sd_y_m**2) / 2).tolist(),
        speed_ms=path.speed_ms.tolist(),
        heading_deg=(180.0 - (180.0 - heading) % 360.0).tolist(),
    )


def bout_rows(gaits: Gaits) -> list[BoutRow]:
    """Write the bouts down."""
    return [
        BoutRow(
            gait=b.gait,
            start_s=b.start_s,
            end_s=b.end_s,
            confidence=b.confidence,
            because=b.because,
        )
        for b in gaits.bouts
    ]


def stride_rows(gaits: Gaits) -> list[StrideRow]:
    """Write the strides down."""
    return [StrideRow(t_s=s.t_s, duration_s=s.duration_s, gait=s.gait) for s in gaits.strides]


def transition_rows(gaits: Gaits, path: Path | None, clock: Clock | None) -> list[TransitionRow]:
    """Write the transitions down, with where they happened; times lie on the positions' clock."""
    clock_sd_s = 0.0 if clock is None else clock.shift_s.sd
    rows = []
    for change in gaits.transitions:
        x_m, y_m = (None, None) if path is None else path.at(change.t_s)
        rows.append(
            TransitionRow(
                from_gait=change.from_gait,
                to_gait=change.to_gait,
                t_s=change.t_s,
                t_sd_s=float(np.hypot(change.t_sd_s, clock_sd_s)),
                x_m=None if x_m is None else float(x_m),
                y_m=None if y_m is None else float(y_m),
                between_strides=change.between_strides,
            )
        )
    return rows


def event_rows(gaits: Gaits) -> list[EventRow]:
    """Write the events down."""
    return [
        EventRow(kind=e.kind, start_s=e.start_s, end_s=e.end_s, because=e.because)
        for e in gaits.events
    ]
