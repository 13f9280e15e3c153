"""The motion streams of a ride's files -> one accelerometer with its gyroscope, in our units."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ingest.errors import RecordingError
from ingest.recording import Note
from ingest.streams import Bools, Clock, Floats, Stream
from ingest.tilt import tilt_slope, unit_of_slope
from ingest.times import spacing
from ingest.units import (
    Said,
    gravity_unit,
    settled_acceleration,
)

OVERLAP_S: Final = 2.0
"""Two parts of one log share less time than this."""
HOLD_S: Final = 0.3
"""A turn rate is carried to accelerometer stamps no further away than this."""
LOST_S: Final = 5.0
"""A turn rate missing for longer than this in all is told."""
LEAST_COVER: Final = 0.5
"""Below this share of the accelerometer's time a gyroscope is left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensors:
    """Accelerometer and gyroscope on the accelerometer's stamps.

    Attributes
    ----------
    clock : Clock
    t_s : array, shape (n,), s
    accel_ms2 : array, shape (n, 3)
    gyro : array, shape (n, 3), or None
        In the file's unit.
    gyro_name, gyro_unit : str
        File and unit as its header says.
    gravity_included : bool
    names : tuple of str
    notes : tuple of Note
    """

    clock: Clock
    t_s: Floats
    accel_ms2: Floats
    gyro: Floats | None
    gyro_name: str
    gyro_unit: str
    gravity_included: bool
    names: tuple[str, ...]
    notes: tuple[Note, ...]


def merged_sensors(streams: Sequence[Stream], said: Said) -> Sensors | None:
    """Lay the motion streams of all files onto the accelerometer's stamps.

    Parameters
    ----------
    streams : sequence of Stream
    said : Said
        What the user said about units.

    Returns
    -------
    Sensors or None
        None where there is no accelerometer.

    Raises
    ------
    RecordingError
        Two recorders overlapping in time, or a unit that cannot be told.
    """
    streams, clock_notes = _on_one_clock(streams)
    accel, gravity_included, notes, used = _acceleration(streams, said)
    if accel is None:
        return None
    rate, rate_notes = _turn_rate(streams, accel, said)
    gyro = None if rate is None else _at(accel.t_s, rate)
    keep = np.ones(len(accel.t_s), dtype=bool) if gyro is None else np.isfinite(gyro[:, 0])
    if rate is not None and keep.mean() < LEAST_COVER:
        text = f"{rate.name} covers too little of {accel.name}; turn rate left out."
        rate_notes += (Note(code="gyroscope-short", text=text, severity="warning"),)
        gyro, rate, keep = None, None, np.ones(len(accel.t_s), dtype=bool)
    whole = bool(keep.all())
    if rate is not None and not whole:
        rate_notes += _lost_notes(rate.name, accel.t_s, keep)
    names = (*used, rate.name) if rate is not None else used
    return Sensors(
        clock=accel.clock,
        t_s=accel.t_s if whole else accel.t_s[keep],
        accel_ms2=accel.xyz if whole else accel.xyz[keep],
        gyro=gyro if gyro is None or whole else gyro[keep],
        gyro_name=rate.name if rate is not None else "",
        gyro_unit=rate.unit if rate is not None else "",
        gravity_included=gravity_included,
        names=tuple(dict.fromkeys(names)),
        notes=(*clock_notes, *notes, *rate_notes),
    )


def _on_one_clock(streams: Sequence[Stream]) -> tuple[list[Stream], tuple[Note, ...]]:
    """Streams of one clock; sensors that each count from a start are taken to share it."""
    kinds = {one.clock.kind for one in streams}
    if len(kinds) > 1:
        order = ("epoch", "zoneless", "elapsed")
        accel_kinds = {o.clock.kind for o in streams if o.quantity != "turn_rate"} or kinds
        lead = min(accel_kinds, key=order.index)
        streams, out = (
            [one for one in streams if (one.clock.kind == lead) == wanted]
            for wanted in (True, False)
        )
        text = f"{', '.join(sorted({o.name for o in out}))}: no times of the same clock; not used."
        return streams, (Note(code="motion-unused", text=text, severity="warning"),)
    owners = {one.clock for one in streams}
    if len(owners) > 1:
        clock = streams[0].clock
        names = ", ".join(sorted({one.name for one in streams}))
        text = f"{names} count seconds from a start of their own; it is taken to be the same."
        return [replace(one, clock=clock) for one in streams], (
            Note(code="clock-elapsed-shared", text=text, severity="warning"),
        )
    return list(streams), ()


def _acceleration(
    streams: Sequence[Stream], said: Said
) -> tuple[Stream | None, bool, tuple[Note, ...], tuple[str, ...]]:
    """Prefer acceleration with gravity; else add gravity to that without; else go without."""
    kinds = ("acceleration", "linear_acceleration", "unnamed")
    candidates = [one for one in streams if one.quantity in kinds]
    felt = [(one, bool(gravity_unit(one))) for one in candidates]
    heavy = [one for one, feels in felt if feels]
    light = [one for one, feels in felt if not feels and one.quantity != "unnamed"]
    gravity = [one for one in streams if one.quantity == "gravity"]
    heavy = [o for o in heavy if o.quantity == "acceleration"] or heavy
    if heavy:
        settled = settled_acceleration(joined(heavy), said)
        notes = (*settled.notes, *_notes(heavy), *_passed_over(heavy, light))
        return settled.stream, True, notes, _names(heavy)
    if light and gravity:
        total = _with_gravity(joined(light), joined(gravity))
        settled = settled_acceleration(total, said)
        text = f"Gravity of {gravity[0].name} was added to the acceleration of {light[0].name}."
        notes = (*settled.notes, Note(code="gravity-added", text=text), *_notes(light))
        return settled.stream, settled.gravity_included, notes, _names([*light, *gravity])
    if light:
        settled = settled_acceleration(joined(light), said)
        return (
            settled.stream,
            settled.gravity_included,
            settled.notes + _notes(light),
            _names(light),
        )
    return None, True, (), ()


def _passed_over(heavy: Sequence[Stream], light: Sequence[Stream]) -> tuple[Note, ...]:
    """Acceleration without gravity is passed over where there is acceleration with it."""
    names = [name for name in _names(light) if name not in _names(heavy)]
    text = f"{', '.join(names)} has gravity taken out; {heavy[0].name} has it in and is used."
    return (Note(code="acceleration-passed-over", text=text),) if names else ()


def _with_gravity(light: Stream, gravity: Stream) -> Stream:
    added = _at(light.t_s, gravity)
    keep = np.isfinite(added[:, 0])
    if not keep.any():
        raise RecordingError(
            f"{light.name} and {gravity.name}: share no time; name files of one ride"
        )
    unit = light.unit or gravity.unit
    return replace(light, t_s=light.t_s[keep], xyz=(light.xyz + added)[keep], unit=unit)


def _names(streams: Sequence[Stream]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one.name for one in streams))


def _notes(streams: Sequence[Stream]) -> tuple[Note, ...]:
    return tuple(note for one in streams for note in one.notes)


def joined(parts: Sequence[Stream]) -> Stream:
    """Parts of one log, one after the other.

    Several sensors of one file, and copies, count once.

    Raises
    ------
    RecordingError
        When two files overlap in time: two recorders.
    """
    ordered = sorted(parts, key=lambda one: float(one.t_s[0]))
    kept = [ordered[0]]
    for one in ordered[1:]:
        last = kept[-1]
        if one.t_s[0] > last.t_s[-1] - OVERLAP_S:
            kept.append(one)
        elif one.name != last.name and not _is_copy(last, one):
            raise RecordingError(
                f"{last.name} and {one.name}: two recorders overlapping in time; "
                "name the files of one only"
            )
    if len(kept) == 1:
        return kept[0]
    t_s = np.concatenate([one.t_s for one in kept])
    order = np.argsort(t_s, kind="stable")
    return replace(kept[0], t_s=t_s[order], xyz=np.concatenate([one.xyz for one in kept])[order])


def _is_copy(a: Stream, b: Stream) -> bool:
    _, in_a, in_b = np.intersect1d(np.round(a.t_s, 4), np.round(b.t_s, 4), return_indices=True)
    if len(in_a) < 0.9 * min(len(a.t_s), len(b.t_s)):
        return False
    return bool(np.median(np.abs(a.xyz[in_a] - b.xyz[in_b])) < 1e-6)


def _turn_rate(
    streams: Sequence[Stream], accel: Stream, said: Said
) -> tuple[Stream | None, tuple[Note, ...]]:
    rates = [one for one in streams if one.quantity == "turn_rate"]
    if rates:
        return joined(rates), _notes(rates)
    for one in streams:
        if one.quantity == "unnamed" and not gravity_unit(one):
            unit = unit_of_slope(tilt_slope(accel.t_s, accel.xyz, _filled(_at(accel.t_s, one))))
            if unit or said.turn_rate:
                text = f"{one.name} does not name its columns; gravity turns against it: turn rate."
                return one, (Note(code="gyroscope-by-content", text=text), *one.notes)
            raise RecordingError(
                f"{one.name}: columns x, y, z without a name; call them acc_x or gyro_x"
            )
    text = "No turn rate was recorded, so turns lean on the positions alone."
    return None, (Note(code="gyroscope-missing", text=text, severity="warning"),)


def _lost_notes(name: str, t_s: Floats, keep: Bools) -> tuple[Note, ...]:
    """Stretches of the accelerometer that the gyroscope does not cover are given up."""
    lost_s = float((~keep).sum()) * spacing(t_s)
    if lost_s < LOST_S:
        return ()
    text = f"{name} has no turn rate for {lost_s:.0f} s of the motion log; left out there."
    return (Note(code="gyroscope-gaps", text=text, severity="warning"),)


def _filled(values: Floats) -> Floats:
    return np.nan_to_num(values, nan=0.0)


def _at(t_s: Floats, stream: Stream) -> Floats:
    """A stream at other stamps, linear between its samples; NaN where it has none near."""
    if len(t_s) == len(stream.t_s) and np.array_equal(t_s, stream.t_s):
        return stream.xyz
    after = np.clip(np.searchsorted(stream.t_s, t_s), 1, len(stream.t_s) - 1)
    hold = max(HOLD_S, 2.0 * spacing(stream.t_s))
    away = np.minimum(np.abs(stream.t_s[after] - t_s), np.abs(stream.t_s[after - 1] - t_s))
    values = np.column_stack([np.interp(t_s, stream.t_s, stream.xyz[:, k]) for k in range(3)])
    values[away > hold] = np.nan
    return values
