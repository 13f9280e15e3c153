"""Attitude, vertical axis, turn rate, stillness and beat rate from accelerometer and gyroscope."""

from __future__ import annotations

from dataclasses import dataclass

from ingest.recording import Note
from track.path import Bools, Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """The phone's motion with gravity and orientation taken out, at one even rate.

    Attributes
    ----------
    t_s : array, shape (n,), s
        Even steps of ``1 / rate_hz``. On the motion clock until :meth:`on_clock` moves it.
    rate_hz : float
        Working rate (50 Hz).
    up_ms2 : array, shape (n,), m/s²
        Acceleration along the vertical, gravity removed, up positive.
    level_a_ms2, level_b_ms2 : array, shape (n,), m/s²
        Acceleration along two horizontal axes at right angles, (a, b, up) right-handed. The axes
        turn with the trunk: fixed to the phone's mean orientation, not to north; the angle from
        ``a`` to the horse's forward direction is constant while the phone stays as it is.
    turn_rads : array, shape (n,), rad/s
        Turn rate of the trunk about the vertical, averaged over about a stride, left positive;
        NaN without a gyroscope.
    turn_sd_rads : float, rad/s
        Its standard uncertainty for the mean over half a second.
    still : array of bool, shape (n,)
        True where the rider's body is as still as at a halt.
    beat_hz : array, shape (n,), Hz
        Rate of the dominant vertical beat, NaN where there is none.
    beat_regularity : array, shape (n,)
        Height of the autocorrelation peak of that beat, 0 to 1.
    valid : array of bool, shape (n,)
        False inside gaps of the log and while the phone was being handled.
    moved_s : tuple of float
        Times at which the phone shifted in the pocket.
    has_gyro : bool
    notes : tuple of Note
    """

    t_s: Floats
    rate_hz: float
    up_ms2: Floats
    level_a_ms2: Floats
    level_b_ms2: Floats
    turn_rads: Floats
    turn_sd_rads: float
    still: Bools
    beat_hz: Floats
    beat_regularity: Floats
    valid: Bools
    moved_s: tuple[float, ...]
    has_gyro: bool
    notes: tuple[Note, ...] = ()
