"""The door of the stage: paths in, one ``Recording`` out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Final

import numpy as np
import pandas as pd

from ingest.archive import Source, sources
from ingest.columns import (
    ACCEL_MS2,
    ACCURACY_M,
    COURSE_DEG,
    GYRO_RADS,
    LAT_DEG,
    LON_DEG,
    NAME,
    SEGMENT,
    SPEED_MS,
    T_S,
    checked_fixes,
    checked_motion,
)
from ingest.csv_file import read_csv_file
from ingest.errors import RecordingError
from ingest.gpx import looks_like_xml, read_gpx
from ingest.places import Chosen, chosen_positions, ordered_positions
from ingest.recording import Note, Recording, Severity
from ingest.sensors import Sensors, merged_sensors, scaled_turn_rate
from ingest.streams import Clock, Floats, Positions, Stream
from ingest.turns import TurnMatch, turn_match
from ingest.units import Said, said_units, tilt_slope, unit_of_slope


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadOptions:
    """What the user says where the files do not.

    Attributes
    ----------
    motion_unit : str or None
        ``--motion-unit``: words with commas between, of ``ms2 g mg``, ``rads degs``, ``up down``.
    motion_start : str or None
        ``--motion-start``: when the motion log began, ISO 8601 with a zone, or seconds after the
        first fix.
    motion_rate_hz : float or None
        ``--motion-rate``: samples per second of a log without times.
    waypoints_suffice : bool
        Accept files that hold named places and nothing else.
    """

    motion_unit: str | None = None
    motion_start: str | None = None
    motion_rate_hz: float | None = None
    waypoints_suffice: bool = False


@dataclass(frozen=True, slots=True)
class _Found:
    """What all files hold, file by file."""

    positions: tuple[Positions, ...]
    streams: tuple[Stream, ...]
    waypoints: tuple[tuple[str, float, float], ...]
    notes: tuple[Note, ...]


def read_recording(paths: Sequence[Path], *, options: ReadOptions = ReadOptions()) -> Recording:
    """Read the files of one ride.

    Parameters
    ----------
    paths : sequence of Path
        GPX and CSV files, gzipped or not, folders and zips of them.
    options : ReadOptions

    Returns
    -------
    Recording

    Raises
    ------
    RecordingError
        One line per fault: a named file that cannot be read, two recorders overlapping in time,
        something only the user can say, or nothing of use.
    """
    said = said_units(options.motion_unit)
    found = _read_all(sources([Path(path) for path in paths]), options)
    chosen = chosen_positions([ordered_positions(one) for one in found.positions])
    sensors = merged_sensors(found.streams, said) if found.streams else None
    if chosen.positions is None and sensors is None:
        return _without_ride(found, options)
    motion = None
    shared, notes = False, chosen.notes
    if sensors is not None:
        sensors, shared, clock_notes = _clocks(sensors, chosen, options)
        motion, unit_notes = _settled(sensors, chosen, said, shared=shared)
        notes += sensors.notes + unit_notes + clock_notes
    return Recording(
        fixes=_fix_table(chosen),
        motion=None
        if sensors is None or motion is None
        else _motion_table(sensors, motion, chosen, shared=shared),
        waypoints=_waypoint_table(found.waypoints),
        clocks_shared=shared,
        gravity_included=sensors.gravity_included if sensors is not None else True,
        sources=tuple(dict.fromkeys(chosen.names + (sensors.names if sensors is not None else ()))),
        notes=_each_once(found.notes + notes),
    )


def _each_once(notes: Sequence[Note]) -> tuple[Note, ...]:
    return tuple(dict.fromkeys(notes))


def _read_all(found: Sequence[Source], options: ReadOptions) -> _Found:
    """Every file by its content; a named file that fails is a fault, one found inside a note."""
    positions: list[Positions] = []
    streams: list[Stream] = []
    waypoints: list[tuple[str, float, float]] = []
    notes: list[Note] = []
    faults: list[str] = []
    for source in found:
        try:
            if looks_like_xml(source.head(256)):
                gpx = read_gpx(source)
                waypoints.extend(gpx.waypoints)
                positions.extend([gpx.positions] if gpx.positions else [])
            else:
                table = read_csv_file(source, motion_rate_hz=options.motion_rate_hz)
                streams.extend(table.streams)
                positions.extend([table.positions] if table.positions else [])
                notes.extend(table.notes)
        except RecordingError as fault:
            if source.named:
                faults.extend(fault.faults)
            else:
                text = f"Not used: {fault.faults[0]}."
                notes.append(Note(code="file-skipped", text=text))
    if faults:
        raise RecordingError(*faults)
    return _Found(tuple(positions), tuple(streams), tuple(waypoints), tuple(notes))


def _without_ride(found: _Found, options: ReadOptions) -> Recording:
    if found.waypoints and options.waypoints_suffice:
        return Recording(waypoints=_waypoint_table(found.waypoints), notes=found.notes)
    reasons = [note.text for note in found.notes if note.code == "file-skipped"]
    if found.waypoints:
        raise RecordingError(
            f"the files hold {len(found.waypoints)} named places but no ride; "
            "a ride needs a track with times or a motion log"
        )
    if found.streams:
        raise RecordingError(
            f"{found.streams[0].name}: turn rate alone makes no ride; add the accelerometer's file"
        )
    why = f" ({reasons[0].removeprefix('Not used: ').rstrip('.')})" if reasons else ""
    raise RecordingError(f"no file holds a ride{why}; a ride is a GPX file, CSV files, or both")


ZERO_CLOCK: Final = Clock(kind="elapsed", owner="")


def _clocks(
    sensors: Sensors, chosen: Chosen, options: ReadOptions
) -> tuple[Sensors, bool, tuple[Note, ...]]:
    """Put the motion stamps onto the positions' clock where both tell the same; else from zero."""
    fixes = chosen.positions
    if options.motion_start is not None:
        start_s = _start_s(options.motion_start, chosen)
        moved = replace(sensors, t_s=sensors.t_s - sensors.t_s[0] + start_s)
        text = "The start of the motion log is as you said."
        return moved, fixes is not None, (Note(code="motion-start-said", text=text),)
    if fixes is None or fixes.clock != sensors.clock:
        from_zero = replace(sensors, t_s=sensors.t_s - sensors.t_s[0])
        if fixes is None:
            return from_zero, False, ()
        text = (
            "Motion and positions have no clock in common; "
            "they are laid together by what they show."
        )
        return from_zero, False, (Note(code="clocks-apart", text=text, severity="warning"),)
    if min(fixes.t_s[-1], sensors.t_s[-1]) < max(fixes.t_s[0], sensors.t_s[0]):
        text = (
            "By their clocks motion and positions were not recorded at the same time; "
            "they are laid together by what they show."
        )
        from_zero = replace(sensors, t_s=sensors.t_s - sensors.t_s[0])
        return from_zero, False, (Note(code="clocks-disagree", text=text, severity="warning"),)
    return sensors, True, ()


def _start_s(text: str, chosen: Chosen) -> float:
    """Start of the motion log on the positions' clock."""
    try:
        return chosen.first_s + float(text)
    except ValueError:
        pass
    try:
        start = datetime.fromisoformat(text.strip())
    except ValueError:
        start = None
    if start is None or start.tzinfo is None:
        raise RecordingError(
            f"--motion-start {text!r}: say when the motion log began, as 2026-05-01T10:00:00Z "
            "or in seconds after the first fix"
        )
    if chosen.positions is not None and chosen.positions.clock.kind != "epoch":
        raise RecordingError(
            f"--motion-start {text!r}: the positions have no date; "
            "say it in seconds after the first fix"
        )
    return start.timestamp()


_TURN_UNITS: Final = {"rads": "rad/s", "degs": "deg/s"}


def _settled(
    sensors: Sensors, chosen: Chosen, said: Said, *, shared: bool
) -> tuple[tuple[Floats, Floats | None], tuple[Note, ...]]:
    """Accelerometer and gyroscope with sign and unit settled, each with its ground."""
    accel, gyro = sensors.accel_ms2, sensors.gyro
    match = None
    if gyro is not None and chosen.positions is not None and sensors.gravity_included:
        match = turn_match(chosen.positions, sensors.t_s, accel, gyro, shared=shared)
    notes: list[Note] = []
    if gyro is not None:
        unit, ground, severity = _turn_unit(sensors, match, said)
        gyro = scaled_turn_rate(gyro, unit)
        text = f"Turn rate is in {_TURN_UNITS[unit]}: {ground}."
        notes.append(Note(code=f"turn-rate-{unit}", text=text, severity=severity))
    up, note = _up(sensors, match, said)
    notes.extend([note] if note else [])
    return (accel if up > 0 else -accel, gyro), tuple(notes)


def _turn_unit(sensors: Sensors, match: TurnMatch | None, said: Said) -> tuple[str, str, Severity]:
    """Unit of the turn rate, its ground and the note's severity."""
    if said.turn_rate:
        return said.turn_rate, "you said so", "info"
    by_path = _unit_by_path(match)
    by_tilt = ""
    if sensors.gravity_included and sensors.gyro is not None:
        by_tilt = unit_of_slope(tilt_slope(sensors.t_s, sensors.accel_ms2, sensors.gyro))
    header = sensors.gyro_unit
    shown = {by_path: "it turns as the path does", by_tilt: "gravity turns against it at that rate"}
    seen = {unit for unit in (by_path, by_tilt) if unit}
    if header and (not seen or header in seen):
        return header, "its header says so" + (", and the data agree" if seen else ""), "info"
    if header:
        return header, "its header says so, though the data look like the other unit", "warning"
    if len(seen) == 1:
        unit = seen.pop()
        return unit, shown[unit], "info"
    raise RecordingError(
        f"{sensors.gyro_name}: turn rate in rad/s or deg/s cannot be told from the data; "
        "say --motion-unit rads or --motion-unit degs"
    )


def _unit_by_path(match: TurnMatch | None) -> str:
    if match is None or not match.settled:
        return ""
    for unit, expected in (("rads", 1.0), ("degs", 57.2958)):
        if 1 / 3 < abs(match.slope.value) / expected < 3:
            return unit
    return ""


def _up(sensors: Sensors, match: TurnMatch | None, said: Said) -> tuple[int, Note | None]:
    """Sign that makes a phone at rest read plus along 'up', and its ground."""
    if said.up:
        return said.up, Note(code="gravity-sign", text="Which way gravity counts is as you said.")
    if not sensors.gravity_included or sensors.gyro is None:
        return 1, None
    if match is not None and match.settled:
        up = 1 if match.slope.value > 0 else -1
        which = "plus along 'up'" if up > 0 else "minus along 'up', which was turned round"
        text = f"At rest the phone reads {which}: so left turns of the path and of the phone agree."
        return up, Note(code="gravity-sign", text=text)
    text = (
        "Nothing shows which way gravity counts; plus along 'up' is taken. Were it the other way, "
        "left and right would change places: then say --motion-unit down."
    )
    return 1, Note(code="gravity-sign-taken", text=text)


def _fix_table(chosen: Chosen) -> pd.DataFrame | None:
    fixes = chosen.positions
    if fixes is None:
        return None
    table = pd.DataFrame(
        {
            T_S: fixes.t_s - chosen.first_s,
            LAT_DEG: fixes.lat_deg,
            LON_DEG: fixes.lon_deg,
            ACCURACY_M: fixes.accuracy_m,
            SPEED_MS: fixes.speed_ms,
            COURSE_DEG: fixes.course_deg,
            SEGMENT: fixes.segment,
        }
    )
    return checked_fixes(table)


def _motion_table(
    sensors: Sensors, motion: tuple[Floats, Floats | None], chosen: Chosen, *, shared: bool
) -> pd.DataFrame:
    accel, gyro = motion
    zero_s = chosen.first_s if shared else sensors.t_s[0]
    values = np.empty((len(sensors.t_s), 7))
    values[:, 0] = sensors.t_s - zero_s
    values[:, 1:4] = accel
    values[:, 4:] = np.nan if gyro is None else gyro
    return checked_motion(pd.DataFrame(values, columns=[T_S, *ACCEL_MS2, *GYRO_RADS], copy=False))


def _waypoint_table(waypoints: Sequence[tuple[str, float, float]]) -> pd.DataFrame | None:
    if not waypoints:
        return None
    return pd.DataFrame(waypoints, columns=[NAME, LAT_DEG, LON_DEG])
