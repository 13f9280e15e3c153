"""One CSV file -> its columns recognised, its stamps read, its sensors and positions apart."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from ingest.archive import Source
from ingest.dialect import Dialect, sniffed
from ingest.errors import RecordingError
from ingest.formats import Column, columns
from ingest.location_csv import positions_of
from ingest.motion_csv import stream_of, triples
from ingest.recording import Note
from ingest.streams import Positions, Stream
from ingest.table import Table, read_table
from ingest.times import (
    FIX_SPACING_S,
    MOTION_SPACING_S,
    Stamps,
    even_stamps,
    numeric_stamps,
    text_stamps,
)

_UNITS: Final = {
    "s": "seconds",
    "ms": "milliseconds",
    "us": "microseconds",
    "ns": "nanoseconds",
    "iso": "date and time",
    "time of day": "time of day",
    "counter": "a count of samples",
}
_SINCE: Final = {"epoch": "UTC", "zoneless": "zone unknown", "elapsed": "since some start"}
_COARSE: Final = 0.9
"""A clock with fewer different stamps than this share of another's is too coarse for steps."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CsvFile:
    """Everything of use in one CSV file."""

    streams: tuple[Stream, ...]
    positions: Positions | None
    notes: tuple[Note, ...]


def read_csv_file(source: Source, *, motion_rate_hz: float | None) -> CsvFile:
    """Read one CSV file.

    Parameters
    ----------
    source : Source
    motion_rate_hz : float or None
        Rate of a file that counts its samples and has no times.

    Raises
    ------
    RecordingError
        No table, no column of use, or no times.
    """
    dialect = sniffed(source)
    found = columns(dialect.header, file_name=source.name)
    sensors = triples(found)
    place = {c.quantity: c for c in reversed(found) if c.quantity in _PLACE}
    located = "latitude" in place and "longitude" in place
    if not sensors and not located:
        raise _nothing_of_use(source.name, dialect.header, found)
    clocks = [c for c in found if c.quantity in ("time", "date")]
    counters = [c for c in found if c.quantity == "counter"]
    wanted = {index for triple in sensors for index in triple.places}
    wanted |= {c.index for c in clocks} | ({c.index for c in place.values()} if located else set())
    if not clocks and motion_rate_hz is None:
        raise _no_times(source.name, counters)
    table = read_table(source, dialect, wanted)
    owner = source.container or source.name
    others = [c.words for c in found if c.quantity not in ("time", "date", "counter")]
    reading = _Reading(source.name, owner, clocks, others, table, motion_rate_hz)
    streams = tuple(
        one
        for triple in sensors
        if (one := stream_of(source.name, triple, table, reading.stamps(triple.words, motion=True)))
    )
    positions = None
    if located:
        stamps = reading.stamps(place["latitude"].words, motion=False)
        positions = positions_of(source.name, place, table, stamps, wide=bool(sensors))
    if not streams and positions is None:
        raise RecordingError(f"{source.name}: no row can be read; export the recording again")
    notes = _notes(source.name, table, dialect) + tuple(reading.told())
    return CsvFile(streams=streams, positions=positions, notes=notes)


_PLACE: Final = ("latitude", "longitude", "speed", "course", "accuracy")


@dataclass(frozen=True, slots=True)
class _Reading:
    """The clocks of one file, to choose the stamps of each sensor from."""

    name: str
    owner: str
    clocks: Sequence[Column]
    others: Sequence[Sequence[str]]
    table: Table
    rate_hz: float | None
    read_before: dict[int, Stamps] = field(default_factory=dict)
    chosen: list[Stamps] = field(default_factory=list)

    def stamps(self, words: Sequence[str], *, motion: bool) -> Stamps:
        """Stamps for the sensor whose header has these words.

        Its own clock, put on the epoch by the file's; else the file's finest clock.
        """
        times = [c for c in self.clocks if c.quantity == "time"]
        own = [c for c in times if c.spare and tuple(words[: len(c.spare)]) == c.spare]
        general = [c for c in times if not self._has_owner(c)]
        candidates = [self._read(c, motion=motion) for c in (*own, *general) or times]
        if not candidates:
            if self.rate_hz is None:
                raise _no_times(self.name, ())
            return even_stamps(self.table.rows, self.rate_hz, owner=self.owner)
        self.chosen.append(_on_epoch(candidates, own=bool(own)))
        return self.chosen[-1]

    def told(self) -> Iterator[Note]:
        """What the clocks of the file turned out to be."""
        for stamps in self.chosen:
            since = _SINCE[stamps.clock.kind]
            text = f"Times of {self.name}: {_UNITS[stamps.unit]}, {since}."
            yield Note(code=f"time-{stamps.clock.kind}", text=text)
        for stamps in self.read_before.values():
            early = int((stamps.t_s < 0).sum()) if stamps.clock.kind == "elapsed" else 0
            if early:
                text = f"{early} rows of {self.name} are older than its start: kept from before."
                yield Note(code="rows-before-start", text=text)

    def _has_owner(self, clock: Column) -> bool:
        """Whether a clock is one sensor's: other columns begin with its words."""
        size = len(clock.spare)
        return size > 0 and any(words[:size] == clock.spare for words in self.others)

    def _read(self, column: Column, *, motion: bool) -> Stamps:
        index = column.index
        if index not in self.read_before:
            self.read_before[index] = self._parsed(column, motion=motion)
        return self.read_before[index]

    def _parsed(self, column: Column, *, motion: bool) -> Stamps:
        if column.index in self.table.texts:
            return text_stamps(self._text(column.index), name=self.name, owner=self.owner)
        return numeric_stamps(
            self.table.values.get(column.index, np.empty(0)),
            unit=column.unit,
            typical_s=MOTION_SPACING_S if motion else FIX_SPACING_S,
            name=self.name,
            owner=self.owner,
        )

    def _text(self, index: int) -> NDArray[np.object_]:
        """The times as text, a date column of its own put before them."""
        text = self.table.texts[index]
        dates = [
            c.index for c in self.clocks if c.quantity == "date" and c.index in self.table.texts
        ]
        if not dates or len(str(text[0])) > 15:
            return text
        pairs = zip(self.table.texts[dates[0]], text, strict=True)
        return np.array([f"{day} {time}" for day, time in pairs], dtype=object)


def _resolution(stamps: Stamps) -> int:
    return len(np.unique(stamps.t_s[np.isfinite(stamps.t_s)]))


def _on_epoch(candidates: list[Stamps], *, own: bool) -> Stamps:
    """The best clock of a file: its own or finest, shifted onto the epoch where one tells it."""
    best = candidates[0]
    if not own and len(candidates) > 1:
        most = max(map(_resolution, candidates))
        fine = [one for one in candidates if _resolution(one) >= _COARSE * most]
        best = next((one for one in fine if one.clock.kind == "epoch"), fine[0])
    epoch = next((one for one in candidates if one.clock.kind == "epoch"), None)
    if best.clock.kind == "epoch" or epoch is None:
        return best
    shift = float(np.nanmedian(epoch.t_s - best.t_s))
    return Stamps(t_s=best.t_s + shift, clock=epoch.clock, unit=best.unit)


def _nothing_of_use(name: str, header: Sequence[str], found: Sequence[Column]) -> RecordingError:
    if any(c.quantity == "ignored" for c in found):
        return RecordingError(f"{name}: holds no position, acceleration or turn rate")
    shown = ", ".join(header[:8])[:80]
    return RecordingError(
        f"{name}: columns {shown!r} are not understood; name them for example "
        "time_s,acc_x_ms2,acc_y_ms2,acc_z_ms2,gyro_x_rads,gyro_y_rads,gyro_z_rads"
    )


def _no_times(name: str, counters: Sequence[Column]) -> RecordingError:
    has = "only a counter of samples and no times" if counters else "no times"
    return RecordingError(f"{name}: {has}; give the samples per second with --motion-rate")


def _notes(name: str, table: Table, dialect: Dialect) -> tuple[Note, ...]:
    notes = []
    if dialect.decimal == ",":
        text = f"Numbers of {name} have a decimal comma."
        notes.append(Note(code="decimal-comma", text=text))
    if table.bad_rows:
        text = f"{table.bad_rows} of {table.rows} rows of {name} could not be read; left out."
        bad = table.bad_rows > 0.01 * table.rows
        notes.append(Note(code="rows-unreadable", text=text, severity="warning" if bad else "info"))
    return tuple(notes)
