"""What a few seconds of motion say about the gait: beat, harmonics, amplitude, regularity.

A *beat* is one cycle of the trunk's vertical motion: two a stride in walk and trot, one in canter
(10.1371/journal.pone.0071804 for trot and canter). Every gait is therefore tried as a beat rate
with what lies on its whole and half multiples, on the vertical and on the two level axes
together, so that the unknown azimuth of the phone does not matter.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.signal import butter, resample_poly, sosfiltfilt

from track.motion import Motion
from track.path import Bools, Floats, Ints

ANALYSIS_RATE_HZ: Final = 25.0
LOWEST_HZ: Final = 0.35
"""Below this lie turns and the seat's slow shifts, not beats."""
FREQUENCY_STEP_HZ: Final = 0.05
"""Windows of 4 s tell no finer; strides are timed otherwise."""
HIGHEST_HZ: Final = 7.0
FLOOR_MS2: Final = 0.02
"""Amplitudes below a phone's own noise are held here before logarithms."""
LEAST_SHARE: Final = 0.002
"""Lines weaker than this share of all power are noise."""
MEASURES: Final = ("log_up", "log_level", "up_half", "level_half", "up_double", "log_rest")


@dataclass(frozen=True, slots=True, kw_only=True)
class Signals:
    """Acceleration ready for windows: evenly sampled, slow drift removed.

    Attributes
    ----------
    start_s : float, s
    rate_hz : float
    axes_ms2 : array, shape (3, n), m/s²
        Up and the two level axes.
    unread_s : tuple of (float, float), s
        Where the log has a gap or the phone was handled.
    """

    start_s: float
    rate_hz: float
    axes_ms2: Floats
    unread_s: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Windows:
    """Power of overlapping windows on a grid of frequencies.

    Attributes
    ----------
    t_s : array, shape (n,), s
        Centres, ``hop_s`` apart.
    length_s, hop_s : float, s
    frequency_hz : array, shape (m,)
    up, level : array, shape (n, m), m²/s⁴
        Mean square of the sinusoid that fits best at each frequency.
    up_total, level_total : array, shape (n,), m²/s⁴
        Mean square within the window.
    usable : array of bool, shape (n,)
        False where the log has a gap or the phone was handled.
    still : array, shape (n,)
        Share of the window marked as still.
    """

    t_s: Floats
    length_s: float
    hop_s: float
    frequency_hz: Floats
    up: Floats
    level: Floats
    up_total: Floats
    level_total: Floats
    usable: Bools
    still: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """Windows of the motion with the speed at their centres, NaN where it is not known."""

    windows: Windows
    speed_ms: Floats
    speed_sd_ms: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """Every window measured as if its beat were each of some rates.

    Attributes
    ----------
    beat_hz : array, shape (k,)
    measures : dict of str to array, shape (n, k)
        ``log_up``, ``log_level``: log of rms, m/s² (shape (n, 1): the same for all). ``up_half``,
        ``level_half``: log of power on half-odd multiples of the beat over power on the beat
        and its double. ``up_double``: log of power on twice the beat over power on the beat.
        ``log_rest``: log of the share of all power that none of these lines explains.
    """

    beat_hz: Floats
    measures: dict[str, Floats]

    def only(self, chosen: Ints) -> Tried:
        """The same for some of the windows."""
        part = {name: values[chosen] for name, values in self.measures.items()}
        return Tried(beat_hz=self.beat_hz, measures=part)


def signals_of(motion: Motion) -> Signals:
    """Bring motion to the analysis rate, with gaps filled with zero and slow drift removed."""
    axes = np.stack([motion.up_ms2, motion.level_a_ms2, motion.level_b_ms2])
    axes = np.where(motion.valid & np.isfinite(axes).all(axis=0), axes, 0.0)
    step = max(1, round(motion.rate_hz / ANALYSIS_RATE_HZ))
    if axes.shape[1] > 4 * motion.rate_hz:
        drift = butter(2, LOWEST_HZ, "highpass", fs=motion.rate_hz, output="sos")
        axes = sosfiltfilt(drift, axes, axis=1)
    return Signals(
        start_s=float(motion.t_s[0]),
        rate_hz=motion.rate_hz / step,
        axes_ms2=resample_poly(axes, 1, step, axis=1),
        unread_s=_unread(motion),
    )


def _unread(motion: Motion) -> tuple[tuple[float, float], ...]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], ~motion.valid, [0]])))
    t_s = np.append(motion.t_s, motion.t_s[-1] + 1.0 / motion.rate_hz)
    return tuple((float(t_s[a]), float(t_s[b])) for a, b in edges.reshape(-1, 2))


def windows_of(motion: Motion, signals: Signals, *, length_s: float, hop_s: float) -> Windows:
    """Hann-weighted power of windows of ``length_s`` every ``hop_s``.

    Windows at the ends of the ride lean on zeros outside it, so that every instant has one.
    """
    size = round(length_s * signals.rate_hz)
    hop = max(1, round(hop_s * signals.rate_hz))
    axes = signals.axes_ms2.astype(np.float32)  # half the time, and far finer than the noise
    padded = np.pad(axes, ((0, 0), (size // 2, size - size // 2)))
    frames = np.lib.stride_tricks.sliding_window_view(padded, size, axis=1)[:, ::hop]
    weight = np.hanning(size + 2)[1:-1]
    weight /= weight.sum()
    frequency_hz = np.arange(FREQUENCY_STEP_HZ * 8, HIGHEST_HZ, FREQUENCY_STEP_HZ)
    up, level_a, level_b = (_power(axis, weight, frequency_hz, signals.rate_hz) for axis in frames)
    totals = [np.square(axis) @ weight.astype(np.float32) for axis in frames]
    t_s = signals.start_s + hop * np.arange(frames.shape[1]) / signals.rate_hz
    return Windows(
        t_s=t_s,
        length_s=length_s,
        hop_s=hop / signals.rate_hz,
        frequency_hz=frequency_hz,
        up=up,
        level=level_a + level_b,
        up_total=totals[0],
        level_total=totals[1] + totals[2],
        usable=_share(motion, motion.valid, t_s, length_s) > 0.7,
        still=_share(motion, motion.still, t_s, length_s),
    )


def try_beats(windows: Windows, beat_hz: Floats) -> Tried:
    """Measure every window as if its beat were each of the rates given."""
    up = [_at(windows, windows.up, m * beat_hz) for m in (0.5, 1.0, 1.5, 2.0)]
    level = [_at(windows, windows.level, m * beat_hz) for m in (0.5, 1.0, 1.5, 2.0)]
    total = (windows.up_total + windows.level_total)[:, None] + np.float32(2.0 * FLOOR_MS2**2)
    tiny = np.float32(LEAST_SHARE) * total
    up_half, up_whole = up[0] + up[2], up[1] + up[3]
    level_half, level_whole = level[0] + level[2], level[1] + level[3]
    rest = np.clip(1.0 - (up_half + up_whole + level_half + level_whole) / total, 0.01, 1.0)
    return Tried(
        beat_hz=beat_hz,
        measures={
            "log_up": _log_rms(windows.up_total),
            "log_level": _log_rms(windows.level_total),
            "up_half": np.log((up_half + tiny) / (up_whole + tiny)),
            "level_half": np.log((level_half + tiny) / (level_whole + tiny)),
            "up_double": np.log((up[3] + tiny) / (up[1] + tiny)),
            "log_rest": np.log(rest),
        },
    )


def _power(frames: Floats, weight: Floats, frequency_hz: Floats, rate_hz: float) -> Floats:
    angle = 2.0 * np.pi * np.outer(np.arange(weight.size) / rate_hz, frequency_hz)
    waves = weight[:, None] * np.concatenate([np.cos(angle), np.sin(angle)], axis=1)
    both = np.ascontiguousarray(frames) @ waves.astype(np.float32)
    both *= both
    m = frequency_hz.size
    power: Floats = 2.0 * (both[:, :m] + both[:, m:])
    return power


def _at(windows: Windows, power: Floats, frequency_hz: Floats) -> Floats:
    first = windows.frequency_hz[0]
    column = np.rint((frequency_hz - first) / FREQUENCY_STEP_HZ).astype(np.int64)
    return np.asarray(power[:, np.clip(column, 0, windows.frequency_hz.size - 1)])


def _log_rms(total: Floats) -> Floats:
    return np.asarray(0.5 * np.log(total + np.float32(FLOOR_MS2**2))[:, None])


def _share(motion: Motion, flag: Bools, t_s: Floats, length_s: float) -> Floats:
    """Share of each window in which a flag of the motion is set."""
    count = np.concatenate([[0.0], np.cumsum(flag)])
    edge_t = np.concatenate([motion.t_s, [motion.t_s[-1] + 1.0 / motion.rate_hz]])
    low = np.clip(t_s - length_s / 2, edge_t[0], edge_t[-1])
    high = np.clip(t_s + length_s / 2, edge_t[0], edge_t[-1])
    span = np.maximum((high - low) * motion.rate_hz, 1.0)
    return np.asarray((np.interp(high, edge_t, count) - np.interp(low, edge_t, count)) / span)
