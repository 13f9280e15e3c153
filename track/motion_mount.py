"""How the phone lies in the pocket: put in, taken out, slipped; 'up' where gravity is missing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.ndimage import find_objects, label

from track.attitude import dot, slow_mean
from track.motion_beat import closed
from track.path import Bools, Floats

_SMOOTH_S: Final = 0.6
_HANDLED_RADS: Final = 0.5
_SUSPECT_RADS: Final = 0.12
_JOIN_S: Final = 2.5
_END_S: Final = 20.0
"""Handling that begins within this time of an end of the log reaches to that end."""
_SLIP_RAD: Final = 0.25
"""More than a rider's change of seat; the lean on a circle does not show, the phone leans too."""
_ABOUT_S: Final = 5.0
"""A hand takes hold of the phone so long before it turns it over, and lets go so long after."""
_MOST_SPANS: Final = 500
_LONG_S: Final = 4.0
_LOOK_S: Final = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Mount:
    """What was found.

    Attributes
    ----------
    handled : array of bool, shape (n,)
        The phone was in somebody's hand.
    moved_s : tuple of float, s
        Times from the first sample at which it came to lie otherwise.
    """

    handled: Bools
    moved_s: tuple[float, ...]


def mount_of(accel_ms2: Floats, rate_hz: float) -> Mount:
    """Find handling and slips from the direction of the slow specific force in the phone.

    On a circle horse and rider lean into the turn and the phone with them, so that this
    direction, unlike the true vertical, stays where it was.
    """
    slow = slow_mean(accel_ms2, rate_hz, _SMOOTH_S)
    hang = slow / np.maximum(np.sqrt(dot(slow, slow)), 1e-9)[:, None]
    rate = np.gradient(hang, 1 / rate_hz, axis=0)
    handled, shifts = _restless(np.sqrt(dot(rate, rate)), rate_hz)
    moved = [_when(hang, span, rate_hz) for span in shifts if _step(hang, span, rate_hz)]
    return Mount(handled=handled, moved_s=tuple(moved))


def mount_by_gyroscope(gyro_rads: Floats, up: Floats, rate_hz: float) -> Mount:
    """Find handling where the log has no gravity: from the slow turn rate across the vertical.

    A slip cannot be told there from the lean on a circle, and is not looked for.
    """
    slow = slow_mean(gyro_rads, rate_hz, _SMOOTH_S)
    slow = slow - (slow @ up)[:, None] * up
    handled, _ = _restless(np.sqrt(dot(slow, slow)), rate_hz)
    return Mount(handled=handled, moved_s=())


def _restless(tilt_rads: Floats, rate_hz: float) -> tuple[Bools, list[tuple[int, int]]]:
    """Where the phone was in a hand, and the other spans in which it tilted for good or not."""
    count, end = len(tilt_rads), _END_S * rate_hz
    handled = np.zeros(count, dtype=np.bool_)
    others: list[tuple[int, int]] = []
    for first, last in _spans(tilt_rads > _SUSPECT_RADS, rate_hz):
        wild = _spans(tilt_rads[first : last + 1] > _HANDLED_RADS, rate_hz)
        at_start = [first + till for _, till in wild if first + till < end]
        at_end = [first + since for since, _ in wild if first + since > count - end]
        if at_start or at_end:
            # A canter may be restless all the time: in the hand is what lies about the wild part.
            about = round(_ABOUT_S * rate_hz)
            handled[: min(last, max(at_start, default=-about) + about) + 1] |= bool(at_start)
            handled[max(first, min(at_end, default=count) - about) :] |= bool(at_end)
            continue
        for since, till in wild:
            if till - since > _LONG_S * rate_hz:
                handled[first + since : first + till + 1] = True
        others.append((first, last))
    return handled, others


def _spans(mask: Bools, rate_hz: float) -> list[tuple[int, int]]:
    """First and last samples of the spans that a mask holds, short breaks closed."""
    marks, count = label(closed(mask, _JOIN_S * rate_hz))
    found = find_objects(marks, min(count, _MOST_SPANS))
    return [(where[0].start, where[0].stop - 1) for where in found]


def _when(hang: Floats, span: tuple[int, int], rate_hz: float) -> float:
    """Time of the sharpest change of hang over a second, s from the first sample."""
    half = round(0.5 * rate_hz)
    at = np.arange(max(span[0], half), max(min(span[1] + 1, len(hang) - half), half + 1))
    change = hang[np.minimum(at + half, len(hang) - 1)] - hang[at - half]
    return float(at[int(np.argmax(dot(change, change)))]) / rate_hz


def _step(hang: Floats, span: tuple[int, int], rate_hz: float) -> bool:
    """Whether the phone hangs differently before and after."""
    look, away = round(_LOOK_S * rate_hz), round(0.5 * rate_hz)
    before = hang[max(span[0] - away - look, 0) : max(span[0] - away, 1)]
    after = hang[span[1] + away : span[1] + away + look]
    if len(before) < look // 4 or len(after) < look // 4:
        return False
    step = np.median(before, axis=0) - np.median(after, axis=0)
    return bool(np.linalg.norm(step) > _SLIP_RAD)


def up_without_gravity(accel_ms2: Floats, gyro_rads: Floats, rate_hz: float) -> tuple[Floats, bool]:
    """'Up' in the phone's axes where the log has gravity taken out already.

    The slow part of the turn rate lies along the vertical (horses turn about nothing else for
    long), and the largest steady beat is up and down; both scatters are added, each to its own
    size. Which end is up: a seat pushes up hard and lets fall softly, never faster than gravity,
    so that the beat's sharp side is up.

    Returns
    -------
    array, shape (3,)
        Unit vector.
    bool
        Whether the sharp side was plain enough to settle the sign.
    """
    turn = slow_mean(gyro_rads, rate_hz, 1.5)
    beat = accel_ms2 - slow_mean(accel_ms2, rate_hz, 0.6)
    scatter = turn.T @ turn / max(float(np.sum(turn**2)), 1e-12)
    scatter += beat.T @ beat / max(float(np.sum(beat**2)), 1e-12)
    axis = np.linalg.eigh(scatter)[1][:, -1]
    along = beat @ axis
    skew = float(np.mean(along**3) / max(float(np.mean(along**2)), 1e-12) ** 1.5)
    return np.asarray(axis * (1.0 if skew >= 0 else -1.0)), abs(skew) > 0.15
