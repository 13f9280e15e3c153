"""How the phone lies in the pocket: put in, taken out, slipped; 'up' where gravity is missing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.ndimage import label

from track.attitude import slow_mean
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
    hang = slow / np.maximum(np.linalg.norm(slow, axis=1), 1e-9)[:, None]
    speed = np.linalg.norm(np.gradient(hang, 1 / rate_hz, axis=0), axis=1)
    handled = np.zeros(len(hang), dtype=np.bool_)
    moved: list[float] = []
    marks, count = label(closed(speed > _SUSPECT_RADS, _JOIN_S * rate_hz))
    spans = [np.flatnonzero(marks == i + 1)[[0, -1]].tolist() for i in range(min(count, 500))]
    for first, last in spans:
        wild = bool(speed[first : last + 1].max() > _HANDLED_RADS)
        at_start, at_end = first < _END_S * rate_hz, last > len(hang) - _END_S * rate_hz
        if wild and (at_start or at_end):
            handled[0 if at_start else first : len(hang) if at_end else last + 1] = True
        elif wild and last - first > _LONG_S * rate_hz:
            handled[first : last + 1] = True
            moved.append(last / rate_hz)
        elif _stepped(hang, first, last, rate_hz):
            moved.append((first + int(np.argmax(speed[first : last + 1]))) / rate_hz)
    return Mount(handled=handled, moved_s=tuple(moved))


def _stepped(hang: Floats, first: int, last: int, rate_hz: float) -> bool:
    look, away = round(_LOOK_S * rate_hz), round(0.5 * rate_hz)
    before = hang[max(first - away - look, 0) : max(first - away, 1)]
    after = hang[last + away : last + away + look]
    if len(before) < look // 4 or len(after) < look // 4:
        return False
    step = np.linalg.norm(np.median(before, axis=0) - np.median(after, axis=0))
    return bool(step > _SLIP_RAD)


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
