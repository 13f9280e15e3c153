"""The door of the stage: paths in, one ``Recording`` out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

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
from ingest.combine import on_one_clock, settled_sensors
from ingest.csv_file import read_csv_file
from ingest.errors import RecordingError
from ingest.fix_quality import assessed_fixes
from ingest.gpx import read_gpx
from ingest.gpx_text import looks_like_xml
from ingest.motion_quality import ending_notes, length_notes, motion_notes, without_handling
from ingest.places import Chosen, chosen_positions, ordered_positions
from ingest.recording import Note, Recording
from ingest.sensors import Sensors, merged_sensors
from ingest.streams import Positions, Stream
from ingest.units import said_units


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
    spans = [one.t_s[-1] - one.t_s[0] for one in (chosen.positions, sensors) if one is not None]
    notes = found.notes + chosen.notes + length_notes(float(max(spans)))
    if chosen.positions is not None:
        positions, fix_notes = assessed_fixes(chosen.positions)
        chosen, notes = replace(chosen, positions=positions), notes + fix_notes
    if sensors is None:
        return Recording(
            fixes=_fix_table(chosen),
            waypoints=_waypoint_table(found.waypoints),
            sources=chosen.names,
            notes=_each_once(notes),
        )
    sensors, shared, clock_notes = on_one_clock(sensors, chosen, options.motion_start)
    zero_s = chosen.first_s if shared else float(sensors.t_s[0])
    sensors, unit_notes = settled_sensors(sensors, chosen.positions, said, shared=shared)
    sensors, cut_notes = without_handling(sensors)
    notes += sensors.notes + clock_notes + unit_notes + cut_notes + motion_notes(sensors)
    if chosen.positions is not None:
        notes += ending_notes(chosen.positions.t_s, sensors.t_s, shared=shared)
    return Recording(
        fixes=_fix_table(chosen),
        motion=_motion_table(sensors, zero_s),
        waypoints=_waypoint_table(found.waypoints),
        clocks_shared=shared,
        gravity_included=sensors.gravity_included,
        sources=tuple(dict.fromkeys(chosen.names + sensors.names)),
        notes=_each_once(notes),
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
            "the files hold named places but no ride; "
            "a ride needs a track with times or a motion log"
        )
    if found.streams:
        raise RecordingError(
            f"{found.streams[0].name}: turn rate alone makes no ride; add the accelerometer's file"
        )
    why = f" ({reasons[0].removeprefix('Not used: ').rstrip('.')})" if reasons else ""
    raise RecordingError(f"no file holds a ride{why}; a ride is a GPX file, CSV files, or both")


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


def _motion_table(sensors: Sensors, zero_s: float) -> pd.DataFrame:
    values = np.empty((len(sensors.t_s), 7), order="F")  # each column in one piece
    values[:, 0] = sensors.t_s - zero_s
    values[:, 1:4] = sensors.accel_ms2
    values[:, 4:] = np.nan if sensors.gyro is None else sensors.gyro
    return checked_motion(pd.DataFrame(values, columns=[T_S, *ACCEL_MS2, *GYRO_RADS], copy=False))


def _waypoint_table(waypoints: Sequence[tuple[str, float, float]]) -> pd.DataFrame | None:
    if not waypoints:
        return None
    return pd.DataFrame(waypoints, columns=[NAME, LAT_DEG, LON_DEG])
