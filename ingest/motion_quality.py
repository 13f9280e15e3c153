"""How good the motion log is: rate, gaps, jitter, clipping, handling at its ends; each a note."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from ingest.blocks import block_means
from ingest.recording import Note
from ingest.sensors import Sensors
from ingest.streams import Bools, Floats, Ints
from ingest.times import spacing

LEAST_HZ: Final = 25.0
GOOD_HZ: Final = 45.0
GAP_S: Final = 0.5
JITTER: Final = 0.3
"""Spread of the steps, in steps, from which stamps count as unsteady."""
CLIP_MS2: Final = 15.0
CLIP_COUNT: Final = 5
ABSURD_MS2: Final = 500.0
"""Fifty times gravity: no phone's accelerometer goes there."""
ABSURD_RADS: Final = 100.0
HANDLED_DEG: Final = 50.0
"""A phone this far from how it lies during the ride is in a hand, or its rider is mounting."""
HANDLED_MOST_S: Final = 180.0
HANDLED_SHARE: Final = 0.2
"""At most this share of the log is cut off at either end."""
BLOCK_S: Final = 1.0
SHORT_S: Final = 60.0
APART_S: Final = 60.0
"""Two logs of one ride begin and end within this of each other."""


def plausible_motion(sensors: Sensors) -> tuple[Sensors, tuple[Note, ...]]:
    """Drop samples with numbers no phone's sensor gives."""
    good = _within(sensors.accel_ms2, ABSURD_MS2)
    if sensors.gyro is not None:
        good = good & _within(sensors.gyro, ABSURD_RADS)
    count = int((~good).sum())
    if not count or count > 0.5 * len(good):
        return sensors, ()
    text = f"{count} motion samples hold numbers no phone measures; left out."
    return rows_of(sensors, np.flatnonzero(good)), (Note(code="motion-absurd", text=text),)


def _within(xyz: Floats, limit: float) -> Bools:
    """Rows all of whose numbers are smaller than a limit."""
    if xyz.max(initial=0.0) < limit and xyz.min(initial=0.0) > -limit:
        return np.ones(len(xyz), dtype=bool)
    return np.asarray((np.abs(xyz) < limit).all(axis=1))


def rows_of(sensors: Sensors, rows: Ints | slice) -> Sensors:
    """Some of the samples."""
    return replace(
        sensors,
        t_s=sensors.t_s[rows],
        accel_ms2=sensors.accel_ms2[rows],
        gyro=None if sensors.gyro is None else sensors.gyro[rows],
    )


def without_handling(sensors: Sensors) -> tuple[Sensors, tuple[Note, ...]]:
    """Cut off both ends of the log while the phone was in a hand, not yet or no longer worn.

    There the direction of gravity is far from where it is during the ride next to it.

    Returns
    -------
    sensors : Sensors
        Its first sample may now come after zero.
    notes : tuple of Note
    """
    if not sensors.gravity_included:
        return sensors, ()
    size = max(1, round(BLOCK_S / max(spacing(sensors.t_s), 1e-4)))
    slow = block_means(sensors.accel_ms2, size)
    most = int(min(HANDLED_MOST_S / BLOCK_S, HANDLED_SHARE * len(slow)))
    if most < 5:
        return sensors, ()
    start = _handled(slow, most) * size
    end = _handled(slow[::-1], most) * size
    if not start and not end:
        return sensors, ()
    rows = slice(start, len(sensors.t_s) - end)
    cut_s = (sensors.t_s[start] - sensors.t_s[0], sensors.t_s[-1] - sensors.t_s[-1 - end])
    text = (
        f"The phone was handled {cut_s[0]:.0f} s at the start and {cut_s[1]:.0f} s at the end "
        "of its log; cut off."
    )
    return rows_of(sensors, rows), (Note(code="handling-cut", text=text),)


def _handled(slow: Floats, most: int) -> int:
    """Blocks to cut off at the beginning: while the phone mostly points elsewhere."""
    ride = slow[most : most + 300]
    usual = np.median(ride, axis=0)
    norm = np.linalg.norm(usual)
    if norm < 1e-6:
        return 0
    length = np.maximum(np.linalg.norm(slow[:most], axis=1), 1e-9)
    angle = np.degrees(np.arccos(np.clip(slow[:most] @ usual / (norm * length), -1, 1)))
    elsewhere = angle > HANDLED_DEG
    share = np.cumsum(elsewhere) / np.arange(1, len(elsewhere) + 1)
    last = np.flatnonzero(elsewhere & (share >= 0.5))  # a rider who only bends down soon sits up
    return int(last[-1]) + 2 if len(last) and last[-1] > 0 else 0


def motion_notes(sensors: Sensors) -> tuple[Note, ...]:
    """What is to be said about rate, gaps, jitter and clipping."""
    steps = np.diff(sensors.t_s)
    usual = spacing(sensors.t_s)
    notes: list[Note] = []
    if usual <= 0:
        return ()
    rate_hz = 1.0 / usual
    if rate_hz < LEAST_HZ:
        text = f"Motion at only {rate_hz:.0f} Hz: too slow to time strides well; record at 50 Hz."
        notes.append(Note(code="motion-rate-low", text=text, severity="warning"))
    elif rate_hz < GOOD_HZ:
        text = f"Motion at {rate_hz:.0f} Hz; 50 Hz or more times strides better."
        notes.append(Note(code="motion-rate-fair", text=text))
    gaps = steps[steps > max(GAP_S, 3.0 * usual)]
    if len(gaps):
        text = f"{len(gaps)} gaps in the motion log, the longest {gaps.max():.1f} s."
        lost = bool(gaps.sum() > 0.01 * (sensors.t_s[-1] - sensors.t_s[0]))
        notes.append(Note(code="motion-gaps", text=text, severity="warning" if lost else "info"))
    even = steps[steps <= max(GAP_S, 3.0 * usual)]
    spread_ms = 1e3 * float(np.std(even)) if len(even) else 0.0
    if spread_ms > 1e3 * JITTER * usual:
        apart_ms = 1e3 * usual
        text = f"Motion stamps are {apart_ms:.0f} ms apart, give or take {spread_ms:.0f} ms."
        notes.append(Note(code="motion-jitter", text=text))
    return (*notes, *_clipping(sensors.accel_ms2))


def _clipping(accel_ms2: Floats) -> list[Note]:
    """Many samples at exactly the largest reading: the sensor's range was too small."""
    count = 0
    for axis in accel_ms2.T:
        for edge in (axis.max(), axis.min()):
            if abs(edge) > CLIP_MS2:
                at_edge = int((np.abs(axis - edge) < 1e-3 * abs(edge)).sum())
                count += at_edge if at_edge >= CLIP_COUNT else 0
    if not count:
        return []
    text = f"The accelerometer was at the end of its range {count} times; set a larger range."
    return [Note(code="accelerometer-clipped", text=text, severity="warning")]


def length_notes(seconds: float) -> tuple[Note, ...]:
    """Whether the recording is too short to hold a ride."""
    if seconds >= SHORT_S:
        return ()
    text = f"Only {seconds:.0f} s were recorded, too little for a ride."
    return (Note(code="recording-short", text=text, severity="warning"),)


def ending_notes(fix_s: Floats, motion_s: Floats, *, shared: bool) -> tuple[Note, ...]:
    """Whether one of the two logs stopped long before the other, or began long after it.

    Without a clock in common only their lengths can be held against each other.
    """
    if not shared:
        return _length_note(float(np.ptp(fix_s)), float(np.ptp(motion_s)))
    notes = []
    for what, early_s in (
        ("motion log", fix_s[-1] - motion_s[-1]),
        ("positions", motion_s[-1] - fix_s[-1]),
    ):
        if early_s > APART_S:
            text = f"The {what} stopped {early_s:.0f} s before the rest of the recording."
            notes.append(Note(code="log-died", text=text, severity="warning"))
    late_s = motion_s[0] - fix_s[0]
    if abs(late_s) > APART_S:
        what = "motion log" if late_s > 0 else "positions"
        text = f"The {what} began {abs(late_s):.0f} s after the rest of the recording."
        notes.append(Note(code="log-late", text=text))
    return tuple(notes)


def _length_note(fixes_s: float, motion_s: float) -> tuple[Note, ...]:
    """A log far shorter than the other, at one end or both."""
    less_s = abs(fixes_s - motion_s)
    if less_s <= 2 * APART_S:
        return ()
    what = "motion log is" if motion_s < fixes_s else "positions are"
    text = f"The {what} {less_s:.0f} s shorter than the rest of the recording."
    return (Note(code="log-short", text=text, severity="warning"),)
