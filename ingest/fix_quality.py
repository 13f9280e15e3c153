"""How good the positions are: wild and frozen fixes, gaps, rate, accuracy, speed; each a note."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from ingest.formats import factor
from ingest.places import taken
from ingest.recording import Note, Severity
from ingest.streams import Bools, Floats, Ints, Positions

JUMP_MS: Final = 25.0
"""No ridden horse gets from one fix to the next this fast."""
JUMP_M: Final = 15.0
WILD_RUN: Final = 5
"""A stretch of so few fixes, reached and left by a jump, is wild; twice as many at the start."""
MOST_WILD: Final = 0.2
SIGNAL_LOST_S: Final = 10.0
"""After so long without a fix a new segment begins."""
SLOW_S: Final = 1.5
POOR_M: Final = 10.0
MOVING_MS: Final = 1.0
UNIT_NEAR: Final = 0.08
HELD_M: Final = 1.5
"""A place repeated while the reported speed makes this much way is not a measurement."""
MOST_HELD: Final = 0.5
"""Above this share it may as well be the speed that is wrong."""
UNEVEN: Final = 0.3
"""Spread of the steps, in steps, from which fixes count as uneven in time."""
_M_PER_DEG: Final = 111_320.0


def assessed_fixes(positions: Positions) -> tuple[Positions, tuple[Note, ...]]:
    """Leave out wild fixes, number the segments, and tell how good the rest is.

    Parameters
    ----------
    positions : Positions
        In order of time, as read.

    Returns
    -------
    positions : Positions
        Without wild and double fixes; ``segment`` counts losses of signal from 0.
    notes : tuple of Note
    """
    once, doubled = _one_per_time(positions)
    kept, wild = _without_wild(once)
    kept, speed_notes = _with_speed_in_ms(kept)
    kept = replace(kept, segment=_segments(kept))
    places = _place_notes(kept)
    kept, held = _without_held(kept)
    notes = (*doubled, *wild, *speed_notes, *_time_notes(kept), *places, *held)
    return kept, notes


def _one_per_time(positions: Positions) -> tuple[Positions, tuple[Note, ...]]:
    """Only the first of several fixes with the same time."""
    first = np.concatenate([[True], np.diff(positions.t_s) > 0])
    if first.all():
        return positions, ()
    text = f"{int((~first).sum())} fixes bear the time of another; the first of each was kept."
    return taken(positions, np.flatnonzero(first)), (Note(code="fixes-same-time", text=text),)


def steps_m(positions: Positions) -> Floats:
    """Distance from each fix to the next, in metres."""
    north = np.diff(positions.lat_deg) * _M_PER_DEG
    scale = np.cos(np.radians(positions.lat_deg[:-1]))
    east = (np.diff(positions.lon_deg) + 180.0) % 360.0 - 180.0
    return np.asarray(np.hypot(north, east * _M_PER_DEG * scale), dtype=np.float64)


def _without_wild(positions: Positions) -> tuple[Positions, tuple[Note, ...]]:
    """Drop short stretches that are only reached and left by impossible jumps."""
    distance, dt = steps_m(positions), np.diff(positions.t_s)
    jump = (distance > JUMP_M) & (distance > JUMP_MS * dt)
    if not jump.any():
        return positions, ()
    stretch = np.concatenate([[0], np.cumsum(jump)])
    sizes = np.bincount(stretch)
    most = np.full(len(sizes), WILD_RUN)
    most[0] = 2 * WILD_RUN
    wild = (sizes <= most)[stretch]
    count = int(wild.sum())
    text = f"{count} of {len(wild)} fixes are wild: no horse gets there so fast; left out."
    if not count or count > max(MOST_WILD * len(wild), 2 * WILD_RUN) or wild.all():
        text = f"The positions jump {int(jump.sum())} times faster than any horse."
        return positions, (Note(code="fixes-jumpy", text=text, severity="warning"),)
    return taken(positions, np.flatnonzero(~wild)), (Note(code="fixes-wild", text=text),)


def _segments(positions: Positions) -> Ints:
    dt = np.diff(positions.t_s)
    usual = float(np.median(dt)) if len(dt) else 1.0
    lost = (dt > max(SIGNAL_LOST_S, 3.0 * usual)) | (np.diff(positions.segment) != 0)
    return np.concatenate([[0], np.cumsum(lost)]).astype(np.int64)


def _moving(positions: Positions) -> tuple[Bools, Floats]:
    """Steps between close fixes at more than a slow walk, and their speed in m/s."""
    dt = np.diff(positions.t_s)
    speed = steps_m(positions) / np.maximum(dt, 1e-3)
    return (dt < 3.0) & (speed > MOVING_MS) & (speed < JUMP_MS), speed


def _with_speed_in_ms(positions: Positions) -> tuple[Positions, tuple[Note, ...]]:
    """Check the reported speed against the distance between fixes: unit, or no use at all."""
    moving, ridden = _moving(positions)
    reported = 0.5 * (positions.speed_ms[1:] + positions.speed_ms[:-1])
    use = moving & np.isfinite(reported)
    if use.sum() < 20:
        return positions, ()
    ratio = float(np.median(reported[use] / ridden[use]))
    if 0.6 < ratio < 1.5:
        return positions, ()
    for unit, name in (("kmh", "km/h"), ("kn", "knots"), ("mph", "miles per hour")):
        if abs(ratio * factor("speed", unit) - 1.0) < UNIT_NEAR:
            text = f"Reported speed is in {name}: the distance between fixes says so."
            scaled = replace(positions, speed_ms=positions.speed_ms * factor("speed", unit))
            return scaled, (Note(code="speed-unit", text=text),)
    text = f"Reported speed is {ratio:.2g} times what the fixes show; not used."
    dropped = replace(positions, speed_ms=np.full(len(positions.t_s), np.nan))
    return dropped, (Note(code="speed-contradicts", text=text, severity="warning"),)


def _without_held(positions: Positions) -> tuple[Positions, tuple[Note, ...]]:
    """Drop fixes that repeat the place before while the reported speed makes way.

    The hole they leave widens the sd there; kept, they would pass for a halt.
    """
    slower = np.minimum(positions.speed_ms[1:], positions.speed_ms[:-1])
    held = (steps_m(positions) == 0) & (slower * np.diff(positions.t_s) > HELD_M)
    count = int(held.sum())
    if not count:
        return positions, ()
    if count > MOST_HELD * len(held):
        text = f"{count} of {len(held) + 1} fixes stay in place while speed is reported."
        return positions, (Note(code="fixes-held", text=text, severity="warning"),)
    text = f"The receiver held its place {count} times while it reported speed; left out there."
    severity: Severity = "warning" if count > 3 else "info"
    rows = np.flatnonzero(np.concatenate([[True], ~held]))
    return taken(positions, rows), (Note(code="fixes-held", text=text, severity=severity),)


def _uneven_note(dt: Floats, usual: float) -> list[Note]:
    even = dt[dt <= max(3.0, 3.0 * usual)]
    if len(even) < 10 or np.std(even) <= UNEVEN * usual:
        return []
    text = f"Fixes are {usual:.1f} s apart, give or take {np.std(even):.1f} s."
    return [Note(code="fix-jitter", text=text)]


def _time_notes(positions: Positions) -> list[Note]:
    notes: list[Note] = []
    dt = np.diff(positions.t_s)
    if not len(dt):
        return [Note(code="fixes-few", text="There is only one fix.", severity="warning")]
    usual = float(np.median(dt))
    if usual > SLOW_S:
        text = f"A fix only every {usual:.1f} s: figures are read from few points."
        notes.append(Note(code="fix-rate-low", text=text, severity="warning"))
    gaps = dt[dt > max(3.0, 3.0 * usual)]
    if len(gaps):
        text = f"{len(gaps)} gaps between fixes, the longest {gaps.max():.0f} s."
        long = bool(gaps.max() > SIGNAL_LOST_S)
        notes.append(Note(code="fix-gaps", text=text, severity="warning" if long else "info"))
    return notes + _uneven_note(dt, usual)


def _place_notes(positions: Positions) -> list[Note]:
    notes: list[Note] = []
    same = steps_m(positions) == 0
    if len(same) and same.mean() > 0.02:
        share = f"{100 * same.mean():.0f} %"
        text = f"{share} of fixes repeat the place before them; halts look exact and are not."
        notes.append(Note(code="fixes-frozen", text=text))
    known = positions.accuracy_m[np.isfinite(positions.accuracy_m)]
    if len(known) and np.median(known) > POOR_M:
        text = f"The receiver reports an accuracy of only {np.median(known):.0f} m."
        notes.append(Note(code="accuracy-poor", text=text, severity="warning"))
    if np.isnan(positions.speed_ms).mean() > 0.5:
        text = "No speed was recorded; sizes of figures lean on the positions alone."
        notes.append(Note(code="speed-missing", text=text))
    return notes
