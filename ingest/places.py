"""Several files of positions -> one: which one leads, what the other fills in, who contradicts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ingest.errors import RecordingError
from ingest.recording import Note
from ingest.streams import Floats, Ints, Positions

OVERLAP_S: Final = 2.0
"""Two files of one recorder, one after the other, share less time than this."""
ANOTHER_RIDE_S: Final = 6 * 3600.0
"""Files with a longer break between them are of two rides."""
SAME_PHONE_M: Final = 1.0
"""Median distance of two files of one phone: rounding only. Two phones drift 1-3 m apart."""
SHIFTS_S: Final = np.arange(-2.0, 2.01, 0.25)
"""Two loggers on one phone may stamp the same fix differently."""
FILL_S: Final = 1.5
"""Speed and course are taken over from a fix no further away than this."""
_M_PER_DEG: Final = 111_320.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """The positions of a ride.

    Attributes
    ----------
    positions : Positions or None
    first_s : float
        Time of the earliest fix of all files used, on the positions' clock.
    names : tuple of str
        Files used.
    notes : tuple of Note
    """

    positions: Positions | None
    first_s: float = 0.0
    names: tuple[str, ...] = ()
    notes: tuple[Note, ...] = ()


def chosen_positions(found: Sequence[Positions]) -> Chosen:
    """One source of positions out of all files.

    Parameters
    ----------
    found : sequence of Positions
        One per file that has any.

    Returns
    -------
    Chosen
        GPX before location tables; a table of the same phone fills in what GPX does not report.

    Raises
    ------
    RecordingError
        When two recorders overlap in time; both are named.
    """
    if not found:
        return Chosen(positions=None)
    gpx, gpx_notes = _joined([one for one in found if one.gpx])
    table, table_notes = _joined([one for one in found if not one.gpx])
    notes = gpx_notes + table_notes
    if gpx is None or table is None:
        one = gpx or table
        assert one is not None  # noqa: S101
        return Chosen(
            positions=one, first_s=float(one.t_s[0]), names=_names(found), notes=notes + one.notes
        )
    if gpx.clock != table.clock or _overlap_s(gpx, table) <= 0:
        text = f"{table.name} shares no time with {gpx.name}; its positions are not used."
        unused = Note(code="positions-unused", text=text, severity="warning")
        names = _names([one for one in found if one.gpx])
        return Chosen(
            positions=gpx,
            first_s=float(gpx.t_s[0]),
            names=names,
            notes=(*notes, *gpx.notes, unused),
        )
    shift_s, distance_m = _apart(gpx, table)
    if distance_m > SAME_PHONE_M:
        raise _two_recorders(gpx.name, table.name, f"{distance_m:.0f} m apart")
    filled, filled_notes = _filled(gpx, table, shift_s)
    return Chosen(
        positions=filled,
        first_s=float(min(gpx.t_s[0], table.t_s[0])),
        names=_names(found),
        notes=notes + gpx.notes + table.notes + filled_notes,
    )


def _names(found: Sequence[Positions]) -> tuple[str, ...]:
    return tuple(one.name for one in found)


def _two_recorders(first: str, second: str, why: str) -> RecordingError:
    return RecordingError(
        f"{first} and {second}: two recorders overlapping in time ({why}); "
        "name the files of one only"
    )


def _overlap_s(a: Positions, b: Positions) -> float:
    return float(min(a.t_s[-1], b.t_s[-1]) - max(a.t_s[0], b.t_s[0]))


def _joined(parts: Sequence[Positions]) -> tuple[Positions | None, tuple[Note, ...]]:
    """Files of one kind, one after the other; copies are dropped."""
    if not parts:
        return None, ()
    lead = min(parts, key=lambda one: one.clock.kind != "epoch").clock
    ordered = sorted((one for one in parts if one.clock == lead), key=lambda one: float(one.t_s[0]))
    notes = [_left_out(one) for one in parts if one.clock != lead]
    kept = [ordered[0]]
    for one in ordered[1:]:
        if -_overlap_s(kept[-1], one) > ANOTHER_RIDE_S:
            days = -_overlap_s(kept[-1], one) / 86_400.0
            raise RecordingError(
                f"{kept[-1].name} and {one.name}: recorded {days:.1f} days apart; "
                "name the files of one ride"
            )
        if _overlap_s(kept[-1], one) <= OVERLAP_S:
            kept.append(one)
        elif _is_copy(kept[-1], one):
            text = f"{one.name} repeats {kept[-1].name}; counted once."
            notes.append(Note(code="file-doubled", text=text))
        else:
            raise _two_recorders(kept[-1].name, one.name, "each with positions")
    return _concatenated(kept), tuple(notes)


def _left_out(one: Positions) -> Note:
    text = f"{one.name} has no times of the same clock as the others; its positions are not used."
    return Note(code="positions-unused", text=text, severity="warning")


def _is_copy(a: Positions, b: Positions) -> bool:
    """Whether nearly all fixes of one stand in the other, time and place alike."""
    _, in_a, in_b = np.intersect1d(np.round(a.t_s, 2), np.round(b.t_s, 2), return_indices=True)
    if len(in_a) < 0.9 * min(len(a.t_s), len(b.t_s)):
        return False
    return bool(np.median(_distance_m(taken(a, in_a), b.lat_deg[in_b], b.lon_deg[in_b])) < 0.01)


def _distance_m(fixes: Positions, lat_deg: Floats, lon_deg: Floats) -> Floats:
    north = (lat_deg - fixes.lat_deg) * _M_PER_DEG
    scale = np.cos(np.radians(float(np.median(fixes.lat_deg))))
    east = (lon_deg - fixes.lon_deg) * _M_PER_DEG * scale
    return np.asarray(np.hypot(north, east), dtype=np.float64)


def _concatenated(parts: Sequence[Positions]) -> Positions:
    if len(parts) == 1:
        return parts[0]
    first = parts[0]
    offsets = np.cumsum([0] + [int(one.segment.max()) + 1 for one in parts[:-1]])
    joined = replace(
        first,
        t_s=np.concatenate([one.t_s for one in parts]),
        lat_deg=np.concatenate([one.lat_deg for one in parts]),
        lon_deg=np.concatenate([one.lon_deg for one in parts]),
        accuracy_m=np.concatenate([one.accuracy_m for one in parts]),
        speed_ms=np.concatenate([one.speed_ms for one in parts]),
        course_deg=np.concatenate([one.course_deg for one in parts]),
        segment=np.concatenate(
            [one.segment + offset for one, offset in zip(parts, offsets, strict=True)]
        ),
        notes=tuple(note for one in parts for note in one.notes),
    )
    return ordered_positions(joined)


def ordered_positions(positions: Positions) -> Positions:
    """The same fixes in order of time; exact doubles dropped."""
    if (np.diff(positions.t_s) > 0).all():
        return positions
    order = np.argsort(positions.t_s, kind="stable")
    t_s, lat, lon = positions.t_s[order], positions.lat_deg[order], positions.lon_deg[order]
    same = np.concatenate(
        [[False], (np.diff(t_s) == 0) & (np.diff(lat) == 0) & (np.diff(lon) == 0)]
    )
    return taken(positions, order[~same])


def taken(positions: Positions, rows: Ints) -> Positions:
    """Some of the fixes."""
    return replace(
        positions,
        t_s=positions.t_s[rows],
        lat_deg=positions.lat_deg[rows],
        lon_deg=positions.lon_deg[rows],
        accuracy_m=positions.accuracy_m[rows],
        speed_ms=positions.speed_ms[rows],
        course_deg=positions.course_deg[rows],
        segment=positions.segment[rows],
    )


def _apart(gpx: Positions, table: Positions) -> tuple[float, float]:
    """Shift of the table's stamps, and median distance left, at which two files agree best."""
    best = (0.0, np.inf)
    for shift_s in sorted(SHIFTS_S, key=abs):
        at = gpx.t_s + shift_s
        inside = (at >= table.t_s[0]) & (at <= table.t_s[-1])
        if not inside.any():
            continue
        rows = np.flatnonzero(inside)
        lat = np.interp(at[rows], table.t_s, table.lat_deg)
        lon = np.interp(at[rows], table.t_s, table.lon_deg)
        distance_m = float(np.median(_distance_m(taken(gpx, rows), lat, lon)))
        if distance_m < best[1] - 0.02:
            best = (float(shift_s), distance_m)
    return best


def _filled(gpx: Positions, table: Positions, shift_s: float) -> tuple[Positions, tuple[Note, ...]]:
    """GPX with the speed, course and accuracy that the table reports and it does not."""
    at = gpx.t_s + shift_s
    speed = _taken_over(at, table.t_s, table.speed_ms)
    accuracy = _taken_over(at, table.t_s, table.accuracy_m)
    angle = np.radians(table.course_deg)
    east, north = (_taken_over(at, table.t_s, part) for part in (np.sin(angle), np.cos(angle)))
    course = np.degrees(np.arctan2(east, north)) % 360.0
    filled = replace(
        gpx,
        speed_ms=np.where(np.isnan(gpx.speed_ms), speed, gpx.speed_ms),
        course_deg=np.where(np.isnan(gpx.course_deg), course, gpx.course_deg),
        accuracy_m=np.where(np.isnan(gpx.accuracy_m), accuracy, gpx.accuracy_m),
    )
    gained = int(np.isfinite(filled.speed_ms).sum() - np.isfinite(gpx.speed_ms).sum())
    text = (
        f"{table.name} is of the same phone as {gpx.name}; "
        f"it gave speed and course to {gained} fixes."
    )
    return filled, (Note(code="speed-filled", text=text),)


def _taken_over(at: Floats, t_s: Floats, values: Floats) -> Floats:
    """Values at other times, between reported neighbours that are close enough."""
    known = np.isfinite(values)
    if not known.any():
        return np.full(len(at), np.nan)
    t_s, values = t_s[known], values[known]
    after = np.clip(np.searchsorted(t_s, at), 0, len(t_s) - 1)
    before = np.maximum(after - 1, 0)
    near = np.minimum(np.abs(t_s[after] - at), np.abs(t_s[before] - at)) <= FILL_S
    return np.where(near, np.interp(at, t_s, values), np.nan)
