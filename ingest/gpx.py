"""GPX 1.0 and 1.1 -> positions and waypoints. The library parses; distances are not its business.

A document type is refused before anything is parsed, so that no entity is ever expanded.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, Final
from xml.parsers import expat

import numpy as np

from ingest.archive import Source
from ingest.errors import RecordingError
from ingest.formats import formats
from ingest.limits import MAX_GPX_BYTES, MAX_XML_DEPTH
from ingest.recording import Note
from ingest.streams import Clock, Positions
from ingest.table import encoding_of

HDOP_M: Final = 4.0
"""Horizontal error per unit of dilution for a phone's receiver [common practice, no source]."""

_MENDED: Final = "</trkseg></trk></gpx>"


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


@dataclass(frozen=True, slots=True)
class _Row:
    t_s: float
    lat_deg: float
    lon_deg: float
    accuracy_m: float
    speed_ms: float
    course_deg: float
    segment: int


def looks_like_xml(head: bytes) -> bool:
    """Whether a file begins as XML does."""
    text = head[:200].decode(encoding_of(head[:64]), errors="replace")
    return text.lstrip("\ufeff \t\r\n").startswith("<")


def _text(source: Source) -> str:
    content = source.whole(MAX_GPX_BYTES)
    text = content.decode(encoding_of(content), errors="replace").removeprefix("\ufeff").lstrip()
    if text.startswith("<?xml"):
        text = text[text.find("?>") + 2 :] if "?>" in text else text
    return text


def _checked(name: str, text: str) -> str:
    """The text, if it is well formed and safe; closed at the last whole point if it was cut off."""
    if "<!doctype" in text.lower():
        raise RecordingError(
            f"{name}: has a document type (DOCTYPE), which is refused; export as plain GPX"
        )
    depth = 0

    def opened(_tag: str, _attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        if depth > MAX_XML_DEPTH:
            raise RecordingError(
                f"{name}: elements nested deeper than {MAX_XML_DEPTH}; not a GPX file"
            )

    def closed(_tag: str) -> None:
        nonlocal depth
        depth -= 1

    parser = expat.ParserCreate()
    parser.StartElementHandler = opened
    parser.EndElementHandler = closed
    parser.Parse(text, True)
    return text


def _whole(name: str, text: str) -> tuple[str, bool]:
    """The text, well formed; and whether its end was missing and had to be put in its place."""
    try:
        return _checked(name, text), False
    except expat.ExpatError as fault:
        end = text.rfind("</trkpt>")
        if end < 0:
            raise _not_gpx(name, str(fault)) from None
    try:
        return _checked(name, text[: end + len("</trkpt>")] + _MENDED), True
    except expat.ExpatError as fault:
        raise _not_gpx(name, str(fault)) from None


def _not_gpx(name: str, why: str) -> RecordingError:
    return RecordingError(f"{name}: not readable as GPX ({why[:80]}); export it again")


def _parsed(name: str, text: str) -> Any:
    import gpxpy
    from gpxpy.gpx import GPXException

    try:
        return gpxpy.parse(text)
    except (GPXException, ValueError, TypeError, AttributeError, KeyError, OverflowError) as fault:
        raise _not_gpx(name, " ".join(str(fault).split())) from None


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
    text, mended = _whole(source.name, _text(source))
    parsed = _parsed(source.name, text)
    waypoints = tuple(
        (point.name.strip(), float(point.latitude), float(point.longitude))
        for point in parsed.waypoints
        if point.name and _on_earth(point)
    )
    points = [
        (number, point)
        for number, segment in enumerate(_segments(parsed.tracks))
        for point in segment.points
    ]
    if not points:
        if not waypoints:
            raise RecordingError(f"{source.name}: holds no track; export the recorded track as GPX")
        return Gpx(positions=None, waypoints=waypoints)
    return Gpx(positions=_positions(source.name, points, mended=mended), waypoints=waypoints)


def _segments(tracks: Iterable[Any]) -> Iterator[Any]:
    return (segment for track in tracks for segment in track.segments)


def _on_earth(point: Any) -> bool:
    lat, lon = point.latitude, point.longitude
    if lat is None or lon is None or not (math.isfinite(lat) and math.isfinite(lon)):
        return False
    return abs(lat) <= 90 and abs(lon) <= 180 and (lat, lon) != (0, 0)


def _positions(name: str, points: list[tuple[int, Any]], *, mended: bool) -> Positions:
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
    rows = [_row(number, point) for number, point in timed if _on_earth(point)]
    if not rows:
        raise RecordingError(f"{name}: no point of the track has a place on earth")
    notes = _notes(
        name, untimed=len(points) - len(timed), lost=len(timed) - len(rows), mended=mended
    )
    accuracy = np.array([row.accuracy_m for row in rows])
    if not np.isfinite(accuracy).any():
        accuracy = HDOP_M * np.array([_hdop(point) for _, point in timed if _on_earth(point)])
        if np.isfinite(accuracy).any():
            notes += (
                Note(
                    code="accuracy-from-dilution",
                    text=f"{name} reports dilution, not accuracy; {HDOP_M:.0f} m per unit assumed.",
                ),
            )
    return Positions(
        name=name,
        clock=Clock(kind="epoch"),
        gpx=True,
        t_s=np.array([row.t_s for row in rows]),
        lat_deg=np.array([row.lat_deg for row in rows]),
        lon_deg=np.array([row.lon_deg for row in rows]),
        accuracy_m=accuracy,
        speed_ms=np.array([row.speed_ms for row in rows]),
        course_deg=np.array([row.course_deg for row in rows]),
        segment=np.array([row.segment for row in rows], dtype=np.int64),
        notes=notes,
    )


def _notes(name: str, *, untimed: int, lost: int, mended: bool) -> tuple[Note, ...]:
    notes = []
    if untimed:
        notes.append(
            Note(code="fixes-untimed", text=f"{untimed} points of {name} have no time; left out.")
        )
    if lost:
        notes.append(
            Note(code="fixes-nowhere", text=f"{lost} points of {name} have no place; left out.")
        )
    if mended:
        notes.append(
            Note(
                code="file-cut-off",
                text=f"{name} ends in the middle; read up to its last whole point.",
                severity="warning",
            )
        )
    return tuple(notes)


def _row(segment: int, point: Any) -> _Row:
    extra = _extensions(point)
    tags = formats().gpx
    return _Row(
        t_s=point.time.timestamp(),
        lat_deg=float(point.latitude),
        lon_deg=float(point.longitude),
        accuracy_m=_first(extra, tags["accuracy"]),
        speed_ms=_or(_first(extra, tags["speed"]), point.speed),
        course_deg=_or(_first(extra, tags["course"]), point.course),
        segment=segment,
    )


def _hdop(point: Any) -> float:
    return _or(_first(_extensions(point), ("hdop",)), point.horizontal_dilution)


def _or(value: float, other: float | None) -> float:
    return float(other) if math.isnan(value) and other is not None else value


def _first(extra: dict[str, float], names: Iterable[str]) -> float:
    return next((extra[name] for name in names if name in extra), math.nan)


def _extensions(point: Any) -> dict[str, float]:
    """Numbers inside the point's extensions, by the last part of their element's name."""
    found: dict[str, float] = {}
    for top in point.extensions:
        for element in top.iter():
            number = _number(element.text)
            if number is not None:
                found[str(element.tag).rsplit("}", 1)[-1].casefold()] = number
    return found


def _number(text: str | None) -> float | None:
    try:
        return float(text) if text else None
    except ValueError:
        return None
