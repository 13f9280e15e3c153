"""Location columns of a CSV file -> positions: sentinels, repeated rows, units of speed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np

from ingest.formats import Column, factor
from ingest.recording import Note
from ingest.streams import Bools, Floats, Ints, Positions
from ingest.table import Table
from ingest.times import Stamps, Tidy, spacing, tidied

STILL_MS: Final = 0.5
"""Below this speed a course of exactly 0 means that there is none."""
REPEATED_S: Final = 0.25
"""Rows of positions closer than this repeat the last fix until the next."""


def positions_of(
    name: str, place: Mapping[str, Column], table: Table, stamps: Stamps, *, wide: bool
) -> Positions | None:
    """The positions of a table, in order of time.

    Parameters
    ----------
    name : str
        The file's name.
    place : mapping
        Columns by quantity; latitude and longitude are there.
    table : Table
    stamps : Stamps
    wide : bool
        True when the same rows hold motion, so that fixes may be repeated on every row.

    Returns
    -------
    Positions or None
        None where no row has a place.
    """
    lat, lon = (_values(table, place[q], "angle") for q in ("latitude", "longitude"))
    others = [_reported(table, place.get(quantity)) for quantity in ("accuracy", "speed", "course")]
    values = np.column_stack([lat, lon, *others])
    usable = _on_earth(lat, lon)
    if wide:
        usable &= ~_repeats(values, stamps.t_s, usable)
    tidy = tidied(stamps.t_s, values, usable, spread=False)
    if not len(tidy.t_s):
        return None
    lat, lon, accuracy, speed, course = values[tidy.order].T
    course = np.where((course == 0) & ~(speed >= STILL_MS), np.nan, course % 360.0)
    return Positions(
        name=name,
        clock=stamps.clock,
        gpx=False,
        t_s=tidy.t_s,
        lat_deg=lat,
        lon_deg=lon,
        accuracy_m=accuracy,
        speed_ms=speed,
        course_deg=course,
        segment=np.zeros(len(lat), dtype=np.int64),
        notes=_notes(name, place, tidy) + _missing_note(name, place, table),
    )


def _values(table: Table, column: Column | None, dimension: str) -> Floats:
    if column is None or column.index not in table.values:
        return np.full(table.rows, np.nan)
    scale = factor(dimension, column.unit) if column.unit else 1.0
    return table.values[column.index] * scale


_DIMENSION: Final = {"accuracy": "length", "speed": "speed", "course": "course"}


def _reported(table: Table, column: Column | None) -> Floats:
    """Values with what stands for "not known" (below zero, or no number) as NaN."""
    if column is None:
        return np.full(table.rows, np.nan)
    values = _values(table, column, _DIMENSION[column.quantity])
    return np.where(np.isfinite(values) & (values >= 0) & (values < 1e6), values, np.nan)


def _on_earth(lat: Floats, lon: Floats) -> Bools:
    """Places that exist; 0, 0 stands for none."""
    with np.errstate(invalid="ignore"):
        inside: Bools = (np.abs(lat) <= 90) & (np.abs(lon) <= 180)
    inside &= ~((lat == 0) & (lon == 0))
    return inside


def _repeats(values: Floats, t_s: Floats, usable: Bools) -> Bools:
    """Rows that only repeat the fix before; a fix that stays is kept once a usual interval."""
    rows = np.flatnonzero(usable & np.isfinite(t_s))
    repeated = np.zeros(len(t_s), dtype=bool)
    if len(rows) < 2 or spacing(t_s[rows]) > REPEATED_S:
        return repeated
    kept = np.nan_to_num(values[rows], nan=-1.0)
    changed = np.concatenate([[True], (np.diff(kept, axis=0) != 0).any(axis=1)])
    starts = np.flatnonzero(changed)
    interval = np.median(np.diff(t_s[rows[starts]])) if len(starts) > 1 else 1.0
    since = t_s[rows] - t_s[rows[starts]][np.cumsum(changed) - 1]
    ticks = _ticks(since, max(float(interval), REPEATED_S))
    new = changed | (np.diff(ticks, prepend=0) > 0)
    repeated[rows[~new]] = True
    return repeated


def _ticks(since_s: Floats, interval_s: float) -> Ints:
    """How many whole usual intervals a fix has stayed; half a one is given to late fixes."""
    return np.maximum(np.floor(since_s / interval_s - 0.5), 0).astype(np.int64)


def _missing_note(name: str, place: Mapping[str, Column], table: Table) -> tuple[Note, ...]:
    """Tell of values below zero, which stand for "not known"."""
    below = {
        quantity: int((table.values[column.index] < 0).sum())
        for quantity, column in place.items()
        if quantity in _DIMENSION and column.index in table.values
    }
    told = ", ".join(f"{quantity} {count} times" for quantity, count in below.items() if count)
    if not told:
        return ()
    text = f"Below zero means not known in {name}: {told}."
    return (Note(code="values-missing", text=text),)


def _notes(name: str, place: Mapping[str, Column], tidy: Tidy) -> tuple[Note, ...]:
    notes = []
    if tidy.disordered:
        times = f"{tidy.disordered} times"
        text = f"Positions of {name} stand out of the order of time ({times}); sorted."
        notes.append(Note(code="rows-disordered", text=text))
    if tidy.doubled:
        text = f"{tidy.doubled} positions of {name} are there twice; counted once."
        notes.append(Note(code="rows-doubled", text=text))
    speed = place.get("speed")
    if speed is not None and speed.unit not in ("", "ms"):
        notes.append(
            Note(code="speed-unit", text=f"Speed of {name} is in {speed.unit}, by its header.")
        )
    return tuple(notes)
