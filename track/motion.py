"""Attitude, vertical axis, turn rate, stillness and beat rate from accelerometer and gyroscope."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Final

import numpy as np

from ingest.recording import Note, Recording
from track.attitude import Attitude, Complexes, attitude_of, level_axes, slow_mean
from track.motion_beat import (
    BEAT_NEARLY,
    BEAT_S,
    HOP_S,
    STRIDE_NEARLY,
    STRIDE_S,
    Periods,
    activity_ms2,
    periods_of,
    still_mask,
)
from track.motion_grid import Grid, grid_of
from track.motion_mount import Mount, mount_by_gyroscope, mount_of, up_without_gravity
from track.motion_turn import NO_RHYTHM_S, patched, standing_bias_rads, swing_of
from track.path import Bools, Floats

G_MS2: Final = 9.80665
_TURN_SD_RADS: Final = 0.013
_NO_GRAVITY_DOUBT: Final = 1.5


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
    stride_s : array, shape (n,), s
        Time after which the whole pattern of movement repeats, NaN where it does not. In walk
        and trot two beats of ``beat_hz``, in canter one; where left and right cannot be told
        apart it may be one beat in walk and trot too.
    activity_ms2 : array, shape (n,), m/s²
        Strength of the fast part of the specific force, whatever its direction.
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
    stride_s: Floats = field(default_factory=lambda: np.empty(0))
    activity_ms2: Floats = field(default_factory=lambda: np.empty(0))


def read_motion(recording: Recording) -> Motion | None:
    """Turn the motion table of a recording into movement of the rider's trunk.

    Parameters
    ----------
    recording : Recording

    Returns
    -------
    Motion or None
        On the motion table's own clock; None without a motion table of two seconds or more.
    """
    grid = None if recording.motion is None else grid_of(recording.motion)
    if grid is None:
        return None
    if recording.gravity_included:
        return _assembled(grid, mount_of(grid.accel_ms2, _rate_hz(grid)), (), 1.0)
    grid, mount, gravity_notes = _with_gravity(grid)
    return _assembled(grid, mount, gravity_notes, _NO_GRAVITY_DOUBT)


def on_clock(motion: Motion, shift_s: float) -> Motion:
    """Lay the motion on the positions' clock by subtracting ``shift_s`` from every time."""
    return replace(
        motion,
        t_s=motion.t_s - shift_s,
        moved_s=tuple(moved - shift_s for moved in motion.moved_s),
    )


def _rate_hz(grid: Grid) -> float:
    return 1 / float(grid.t_s[1] - grid.t_s[0])


def _with_gravity(grid: Grid) -> tuple[Grid, Mount, tuple[Note, ...]]:
    """Put gravity back where the log left it out."""
    gyro = np.zeros_like(grid.accel_ms2) if grid.gyro_rads is None else grid.gyro_rads
    rate = _rate_hz(grid)
    up, _ = up_without_gravity(grid.accel_ms2, gyro, rate)
    mount = mount_by_gyroscope(gyro, up, rate)
    ridden = ~mount.handled if (~mount.handled).sum() > rate else slice(None)
    up, plain = up_without_gravity(grid.accel_ms2[ridden], gyro[ridden], rate)
    ground = "the largest beat alone"
    if grid.gyro_rads is not None:
        ground = "the axis the ride turns about and the largest beat"
    text = f"The log holds acceleration without gravity: which way is up was taken from {ground}."
    notes = [Note(code="gravity-missing", text=text, severity="warning")]
    if not plain:
        text = "Up could not be told from down: left and right turns may be exchanged."
        notes.append(Note(code="up-or-down", text=text, severity="warning"))
    return replace(grid, accel_ms2=grid.accel_ms2 + G_MS2 * up), mount, tuple(notes)


def _assembled(grid: Grid, mount: Mount, notes: tuple[Note, ...], doubt: float) -> Motion:
    rate = _rate_hz(grid)
    attitude = _whole_attitude(grid)
    valid = grid.logged & ~mount.handled
    level, up = _level(grid, attitude, mount)
    stride_s, _ = _stride(grid, level, up, valid)
    beat_s, regularity = _on_samples(
        periods_of(np.where(valid, up, 0.0)[:, None], rate, BEAT_S, BEAT_NEARLY), len(up), rate
    )
    activity = activity_ms2(grid.accel_ms2, rate)
    still, _ = still_mask(activity, regularity, valid, rate)
    rhythmic = valid & ~still
    turn, swing, turn_notes = _turn(grid, attitude.twist_rads, mount, stride_s, still)
    level = level * np.exp(1j * swing)
    return Motion(
        t_s=grid.t_s, rate_hz=rate, up_ms2=up, level_a_ms2=level.real, level_b_ms2=level.imag,
        turn_rads=turn, turn_sd_rads=_TURN_SD_RADS * doubt, still=still,
        beat_hz=np.where(rhythmic, 1 / beat_s, np.nan),
        beat_regularity=np.where(rhythmic, regularity, 0.0), valid=valid,
        moved_s=tuple(float(grid.t_s[0]) + moved for moved in mount.moved_s),
        has_gyro=grid.gyro_rads is not None,
        notes=(*grid.notes, *notes, *_mount_notes(mount, rate), *turn_notes),
        stride_s=np.where(rhythmic, stride_s, np.nan), activity_ms2=activity,
    )  # fmt: skip


def _direction(vector: Floats) -> Floats:
    """Unit vector; the phone's z axis where there is none (a log of noughts)."""
    size = float(np.linalg.norm(vector))
    return np.asarray(vector / size if size > 1e-6 else np.array([0.0, 0.0, 1.0]))


def _stride(grid: Grid, level: Complexes, up: Floats, valid: Bools) -> tuple[Floats, Floats]:
    """Time after which all channels repeat, each counted by its own size."""
    rate = _rate_hz(grid)
    channels = [up, level.real, level.imag]
    if grid.gyro_rads is not None:
        channels += list((grid.gyro_rads - slow_mean(grid.gyro_rads, rate, 1.0)).T)
    signals = np.where(valid, np.array(channels), 0.0).T
    count = len(signals) // 2
    half = (signals[: 2 * count : 2] + signals[1 : 2 * count : 2]) / 2
    half /= np.maximum(half.std(axis=0), 1e-9)
    return _on_samples(periods_of(half, rate / 2, STRIDE_S, STRIDE_NEARLY), len(up), rate)


def _on_samples(periods: Periods, count: int, rate_hz: float) -> tuple[Floats, Floats]:
    """Windows' results at every sample; NaN is kept apart from its neighbours."""
    hop = round(HOP_S * rate_hz)
    index = np.minimum(np.arange(count) // hop, len(periods.t_s) - 1)
    at = np.arange(count) / rate_hz
    between = np.interp(at, periods.t_s, np.nan_to_num(periods.period_s))
    nearest = periods.period_s[index]
    jumped = np.abs(between - nearest) > 0.1 * nearest
    period = np.where(jumped | np.isnan(nearest), nearest, between)
    return period, np.interp(at, periods.t_s, periods.regularity)


def _turn(
    grid: Grid, twist: Floats, mount: Mount, stride_s: Floats, still: Bools
) -> tuple[Floats, Floats, tuple[Note, ...]]:
    rate = _rate_hz(grid)
    if grid.gyro_rads is None:
        return np.full_like(twist, np.nan), np.zeros_like(twist), ()
    bias = standing_bias_rads(twist, grid.gyro_rads, still, rate)
    moved = tuple(round(moved * rate) for moved in mount.moved_s)
    steady = patched(twist - (bias or 0.0), moved, rate)
    turn, swing = swing_of(steady, np.where(np.isfinite(stride_s), stride_s, NO_RHYTHM_S), rate)
    return np.where(grid.logged, turn, np.nan), swing, ()


def _mount_notes(mount: Mount, rate_hz: float) -> tuple[Note, ...]:
    notes = []
    if mount.handled.any():
        seconds = mount.handled.sum() / rate_hz
        text = f"{seconds:.0f} s in which the phone was in a hand were left out."
        notes.append(Note(code="phone-handled", text=text))
    if mount.moved_s:
        times = "once" if len(mount.moved_s) == 1 else f"{len(mount.moved_s)} times"
        text = f"The phone shifted in the pocket {times}; a zipped pocket holds it better."
        notes.append(Note(code="phone-moved", text=text, severity="warning"))
    return tuple(notes)


def _whole_attitude(grid: Grid) -> Attitude:
    n = len(grid.t_s)
    up = np.tile([0.0, 0.0, 1.0], (n, 1))
    hang, gravity, twist = up.copy(), np.full(n, G_MS2), np.full(n, np.nan)
    for part in grid.stretches:
        gyro = None if grid.gyro_rads is None else grid.gyro_rads[part]
        found = attitude_of(grid.accel_ms2[part], gyro, _rate_hz(grid))
        up[part], hang[part], gravity[part] = found.up, found.hang, found.gravity_ms2
        twist[part] = found.twist_rads
    return Attitude(up=up, hang=hang, gravity_ms2=gravity, twist_rads=twist)


def _level(grid: Grid, attitude: Attitude, mount: Mount) -> tuple[Complexes, Floats]:
    """Horizontal and vertical acceleration; the axes start anew where the phone moved."""
    n, rate = len(grid.t_s), _rate_hz(grid)
    level, up = np.zeros(n, dtype=np.complex128), np.zeros(n)
    edges = [0, *(round(moved * rate) for moved in mount.moved_s), n]
    usable = grid.logged & ~mount.handled
    for first, last in pairwise(edges):
        if last > first:
            part = slice(first, last)
            inside = attitude.hang[part][usable[part]]
            mean = inside.mean(axis=0) if len(inside) else attitude.hang[first]
            level[part], up[part] = level_axes(
                grid.accel_ms2[part],
                up=attitude.up[part], hang=attitude.hang[part],
                reference=_direction(mean),
            )  # fmt: skip
    return level, np.where(grid.logged, up - attitude.gravity_ms2, 0.0)
