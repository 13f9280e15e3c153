"""GPX 1.0 and 1.1 -> positions and waypoints; a library parses, but measures no distance."""

from __future__ import annotations

import gc
import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

import numpy as np

from ingest.archive import Source
from ingest.errors import RecordingError
from ingest.formats import formats
from ingest.gpx_text import not_gpx, safe_tree
from ingest.recording import Note
from ingest.streams import Clock, Floats, Positions

HDOP_M: Final = 4.0
"""Horizontal error per unit of dilution for a phone's receiver [common practice, no source]."""
MOST: Final = 1e6
"""Speeds and accuracies above this mean that there is none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Gpx:
    """What a GPX file holds.

    Attributes
    ----------
    positions : Positions or None
        None for a file of waypoints only.
    waypoints : tuple of (name, latitude, longitude)
        Degrees, WGS84.
    """

    positions: Positions | None
    waypoints: tuple[tuple[str, float, float], ...]


def read_gpx(source: Source) -> Gpx:
    """Read one GPX file.

    Parameters
    ----------
    source : Source

    Returns
    -------
    Gpx

    Raises
    ------
    RecordingError
        Not GPX, a document type, a track without times, or times without a zone.
    """
    with _no_search_for_cycles():
        return _read(source)


@contextmanager
def _no_search_for_cycles() -> Iterator[None]:
    """A tree of a hundred thousand parts has no cycles; looking for them takes a tenth more."""
    searching = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if searching:
            gc.enable()


def _read(source: Source) -> Gpx:
    root, mended = safe_tree(source)
    parsed = _parsed(source.name, root)
    waypoints = tuple(
        (point.name.strip(), float(point.latitude), float(point.longitude))
        for point in parsed.waypoints
        if point.name and _on_earth(point)
    )
    segments = [segment for track in parsed.tracks for segment in track.segments]
    points = [(number, point) for number, one in enumerate(segments) for point in one.points]
    if not points:
        if not waypoints:
            raise RecordingError(f"{source.name}: holds no track; export the recorded track as GPX")
        return Gpx(positions=None, waypoints=waypoints)
    return Gpx(positions=_positions(source.name, points, mended=mended), waypoints=waypoints)


def _parsed(name: str, root: Any) -> Any:
    """The library's objects, from the tree there is: its own entry would parse the text again."""
    from gpxpy.gpx import GPX, GPXException
    from gpxpy.gpxfield import gpx_fields_from_xml

    try:
        return gpx_fields_from_xml(GPX(), root, root.get("version"))
    except (GPXException, ValueError, TypeError, AttributeError, KeyError, OverflowError) as fault:
        raise not_gpx(name, " ".join(str(fault).split())) from None


def _on_earth(point: Any) -> bool:
    """Whether a point has a place; NaN fails every comparison, and 0, 0 stands for none."""
    lat, lon = point.latitude, point.longitude
    if lat is None or lon is None:
        return False
    return bool(abs(lat) <= 90 and abs(lon) <= 180 and (lat != 0 or lon != 0))


def _timed(name: str, points: list[tuple[int, Any]]) -> list[tuple[int, Any]]:
    """The points with times; most must have one, and all of these a zone."""
    timed = [(number, point) for number, point in points if point.time is not None]
    if 2 * len(timed) < len(points):
        most = "the track has" if not timed else "most points of the track have"
        raise RecordingError(
            f"{name}: {most} no times; export the recording itself, not a planned route"
        )
    if any(point.time.tzinfo is None for _, point in timed):
        raise RecordingError(
            f"{name}: times without a zone; GPX times end in Z, export the recording again"
        )
    return timed


def _positions(name: str, points: list[tuple[int, Any]], *, mended: bool) -> Positions:
    timed = _timed(name, points)
    placed = [(number, point) for number, point in timed if _on_earth(point)]
    if not placed:
        raise RecordingError(f"{name}: no point of the track has a place on earth")
    try:
        t_s = _epoch_s([point for _, point in placed])
    except (ValueError, OverflowError):
        raise not_gpx(name, "a time that does not exist") from None
    rows = np.array([_row(number, point) for number, point in placed])
    lat, lon, accuracy, dilution, speed, course, segment = rows.T
    notes = [
        *_lost_notes(name, untimed=len(points) - len(timed), nowhere=len(timed) - len(placed)),
        *_mended_note(name, mended=mended),
    ]
    if not np.isfinite(accuracy).any() and np.isfinite(dilution).any():
        accuracy = HDOP_M * dilution
        text = f"{name} reports dilution, not accuracy; {HDOP_M:.0f} m per unit assumed."
        notes.append(Note(code="accuracy-from-dilution", text=text))
    return Positions(
        name=name,
        clock=Clock(kind="epoch"),
        gpx=True,
        t_s=t_s,
        lat_deg=lat,
        lon_deg=lon,
        accuracy_m=_known(accuracy),
        speed_ms=_known(speed),
        course_deg=_known(course) % 360.0,
        segment=segment.astype(np.int64),
        notes=tuple(notes),
    )


def _known(values: Floats) -> Floats:
    """Values with what stands for "not known" (below zero, or far too large) as NaN."""
    known: Floats = np.where((values >= 0) & (values < MOST), values, np.nan)
    return known


def _lost_notes(name: str, *, untimed: int, nowhere: int) -> list[Note]:
    notes = []
    if untimed:
        text = f"{untimed} points of {name} have no time; left out."
        notes.append(Note(code="fixes-untimed", text=text))
    if nowhere:
        text = f"{nowhere} points of {name} have no place; left out."
        notes.append(Note(code="fixes-nowhere", text=text))
    return notes


def _mended_note(name: str, *, mended: bool) -> list[Note]:
    text = f"{name} breaks off in the middle; read up to its last whole point."
    return [Note(code="file-cut-off", text=text, severity="warning")] if mended else []


def _row(segment: int, point: Any) -> tuple[float, ...]:
    """Latitude, longitude, accuracy, dilution, speed, course and segment of a point."""
    extra = _extensions(point)
    return (
        point.latitude,
        point.longitude,
        extra.get("accuracy", math.nan),
        _either(extra.get("dilution"), point.horizontal_dilution),
        _either(extra.get("speed"), point.speed),
        _either(extra.get("course"), point.course),
        segment,
    )


def _either(extension: float | None, own: float | None) -> float:
    """What an extension says, else GPX 1.0's own element, else NaN."""
    if extension is not None:
        return extension
    return math.nan if own is None else own


def _epoch_s(points: Sequence[Any]) -> Floats:
    """Seconds since 1970 of points whose times have a zone."""
    return np.array([point.time.timestamp() for point in points], dtype=np.float64)


@cache
def _field(tag: str) -> str:
    """What an element of the extensions holds, by the last part of its name."""
    name = tag.rpartition("}")[2].casefold()
    return next((field for field, names in formats().gpx.items() if name in names), "")


def _extensions(point: Any) -> dict[str, float]:
    """Numbers of use inside the point's extensions."""
    found: dict[str, float] = {}
    for top in point.extensions:
        for element in top.iter():
            field = _field(element.tag)
            if field:
                found.setdefault(field, _number(element.text))
    return found


def _number(text: str | None) -> float:
    try:
        return float(text or "")
    except ValueError:
        return math.nan
