"""Motion and positions on one clock, and how much the receiver smooths.

The two logs may share an epoch, then their clocks differ by seconds; or share nothing and start
at any time difference. A first guess comes from correlating turn with turn and effort with speed
over all shifts; then the fixes' own likelihood is worked out for shift and lag together.

A pure delay of the receiver cannot be told from a clock offset and is counted there; the lag is
the time constant of the first-order low-pass that describes the receiver best.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd

from ingest.columns import ACCURACY_M, SEGMENT, T_S
from ingest.recording import Note
from track.attitude import Complexes
from track.clocks_coarse import RATE_HZ as COARSE_HZ
from track.clocks_coarse import Guess, guesses, traces_of_fixes, traces_of_motion
from track.clocks_fit import fitted, scanned
from track.clocks_law import FIRST_NOISE
from track.clocks_model import Course, Track, course_of, pace_of
from track.clocks_posterior import Pair, either
from track.motion import Motion
from track.path import Estimate, Floats, Ints
from track.stage import Clock

MOST_OFFSET_S: Final = 60.0
"""Clocks that share an epoch are not further apart than this."""
USUAL_OFFSET_S: Final = Estimate(value=0.0, sd=3.0)
USUAL_LAG_S: Final = Estimate(value=0.6, sd=0.5)
"""What is known of clocks and receivers when the ride tells nothing [judgement]."""
LAG_WORTH_TELLING_S: Final = 0.3
_POOR_M: Final = 25.0
_WILD_MS: Final = 12.0
_FEWEST_FIXES: Final = 15
_MOST_FIXES: Final = 1200
_CHUNK: Final = 50
_SURE_ODDS: Final = 6.0
_HOPELESS: Final = 60.0
"""A guess whose quick look costs so much more is not looked at again."""
_JUMP: Final = 1e4
_LEAST_SD_S: Final = 0.02
"""A trunk does not turn quite as the line it rides does."""
_PACE_SD_S: Final = 0.35
"""Effort and speed do not change in the same moment: a horse slows while it still trots."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ride:
    """Usable fixes, and the times at which signal was lost."""

    t_s: Floats
    place: Complexes
    joints_s: Floats


def align(
    motion: Motion, fixes: pd.DataFrame, x_m: Floats, y_m: Floats, *, clocks_shared: bool
) -> Clock:
    """Estimate clock offset and receiver lag.

    Parameters
    ----------
    motion : Motion
        On its own clock.
    fixes : pandas.DataFrame
        ``ingest.columns.FIX_COLUMNS``, in time order.
    x_m, y_m : array, shape (len(fixes),), m
        The fixes on a local plane, x to the east and y to the north.
    clocks_shared : bool
        True when both were stamped with epoch times.

    Returns
    -------
    Clock
        With notes. Where the ride shows nothing from which to tell, the sd is wide and a note
        says so.
    """
    t_s, place = _usable(fixes, np.asarray(x_m + 1j * y_m))
    if len(t_s) < _FEWEST_FIXES:
        return _unknown(motion, fixes, clocks_shared)
    found = guesses(
        traces_of_fixes(t_s, place), traces_of_motion(motion),
        MOST_OFFSET_S if clocks_shared else None,
    )  # fmt: skip
    if not found or found[0].odds < _SURE_ODDS:
        return _unknown(motion, fixes, clocks_shared)
    ride = _Ride(t_s=t_s, place=place, joints_s=_joints(fixes))
    if motion.has_gyro:
        pairs = _tried(ride, course_of(motion), found)
        if min(pairs, key=lambda pair: pair.cost).shift_s.sd < _PACE_SD_S:
            return _told(pairs, clocks_shared)
    return _told(_by_pace(motion, ride, found), clocks_shared)


def _by_pace(motion: Motion, ride: _Ride, found: tuple[Guess, ...]) -> tuple[Pair, ...]:
    """Without turns: distance gone against effort, its own doubt added."""
    effort, speed = _effort_curve(motion, ride.t_s, ride.place, found[0].shift_s)
    gone = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(ride.place)))]).astype(np.complex128)
    pairs = _tried(replace(ride, place=gone), pace_of(motion, effort, speed), found)
    return tuple(
        Pair(shift_s=_added(pair.shift_s, _PACE_SD_S), lag_s=_pooled(pair.lag_s), cost=pair.cost)
        for pair in pairs
    )


def _effort_curve(
    motion: Motion, t_s: Floats, place: Complexes, shift_s: float
) -> tuple[Floats, Floats]:
    """Median speed of the fixes by log of activity; rising."""
    seen = traces_of_fixes(t_s, place)
    at = seen.start_s + np.arange(len(seen.pace)) / COARSE_HZ + shift_s
    inside = (at > motion.t_s[0]) & (at < motion.t_s[-1]) & np.isfinite(seen.pace)
    level = np.interp(at, motion.t_s, np.log1p(motion.activity_ms2))[inside]
    pace = seen.pace[inside]
    edges = np.quantile(level, np.linspace(0, 1, 9))
    bins = np.clip(np.searchsorted(edges, level, side="right") - 1, 0, 7)
    present = [i for i in range(8) if (bins == i).any()]
    middle = np.array([np.median(level[bins == i]) for i in present])
    speed = np.array([np.median(pace[bins == i]) for i in present])
    return middle, np.maximum.accumulate(speed)


def _added(estimate: Estimate, sd: float) -> Estimate:
    return Estimate(value=estimate.value, sd=float(np.hypot(estimate.sd, sd)))


def _pooled(lag: Estimate) -> Estimate:
    """A weak lag drawn towards what receivers usually do."""
    doubtful = _added(lag, 1.5 * _PACE_SD_S)
    weights = np.array([1 / doubtful.sd**2, 1 / USUAL_LAG_S.sd**2])
    value = float(weights @ [doubtful.value, USUAL_LAG_S.value] / weights.sum())
    return Estimate(value=value, sd=float(1 / np.sqrt(weights.sum())))


def _usable(fixes: pd.DataFrame, place: Complexes) -> tuple[Floats, Complexes]:
    """Fixes without the poor, the wild and the frozen."""
    t_s = fixes[T_S].to_numpy(dtype=np.float64)
    accuracy = fixes[ACCURACY_M].to_numpy(dtype=np.float64)
    good = ~(accuracy > _POOR_M) & np.isfinite(place)
    good[1:] &= (np.diff(t_s) > 0) & (place[1:] != place[:-1])
    t_s, place = t_s[good], place[good]
    for _ in range(3):
        if len(t_s) < _FEWEST_FIXES:
            break
        step = np.abs(np.diff(place)) / np.diff(t_s)
        wild = np.zeros(len(t_s), dtype=np.bool_)
        wild[1:-1] = (step[1:] > _WILD_MS) & (step[:-1] > _WILD_MS)
        wild[0], wild[-1] = step[0] > _WILD_MS, step[-1] > _WILD_MS
        t_s, place = t_s[~wild], place[~wild]
    return t_s, place


def _joints(fixes: pd.DataFrame) -> Floats:
    """Times of losses of signal."""
    t_s = fixes[T_S].to_numpy(dtype=np.float64)
    return np.asarray(t_s[1:][np.diff(fixes[SEGMENT].to_numpy(dtype=np.float64)) != 0])


def _telling(t_s: Floats, place: Complexes) -> Ints:
    """Indices of at most 1200 fixes, in runs of 50: those in which the course changes most."""
    if len(t_s) <= _MOST_FIXES:
        return np.arange(len(t_s), dtype=np.int64)
    runs = len(t_s) // _CHUNK
    step = np.diff(place[: runs * _CHUNK], append=place[runs * _CHUNK - 1])
    bend = np.abs(np.diff(step, append=step[-1])).clip(0.0, 3.0)
    news = bend.reshape(runs, _CHUNK).sum(axis=1)
    best = np.sort(np.argsort(-news)[: _MOST_FIXES // _CHUNK])
    return (best[:, None] * _CHUNK + np.arange(_CHUNK)).ravel().astype(np.int64)


def _tried(ride: _Ride, course: Course, found: tuple[Guess, ...]) -> tuple[Pair, ...]:
    """Fit about every guess that a quick look does not rule out."""
    index = _telling(ride.t_s, ride.place)
    t, y = ride.t_s[index], ride.place[index]
    loose = np.where(np.diff(index) > 1, _JUMP, 1.0)
    loose[np.unique(np.searchsorted(t, ride.joints_s) - 1).clip(0, len(loose) - 1)] = _JUMP
    track = Track(t_s=t, y_m=y, loose=loose)
    best = fitted(track, course, scanned(track, course, found[0].shift_s, FIRST_NOISE))
    # the others are looked at with the noise that the likeliest needed: a wrong one needs much
    looks = [scanned(track, course, guess.shift_s, best.noise) for guess in found[1:]]
    other = [fitted(track, course, look) for look in looks if look.cost < best.cost + _HOPELESS]
    return (best, *other)


def _told(pairs: tuple[Pair, ...], clocks_shared: bool) -> Clock:
    best, both = min(pairs, key=lambda pair: pair.cost), either(pairs)
    shift, lag = _widened(both.shift_s), _widened(both.lag_s)
    notes = []
    if both.shift_s.sd > 1.5 * best.shift_s.sd:
        text = (
            "Motion and positions could also be laid together another way; a halt of ten seconds "
            "at the start of a ride settles it."
        )
        notes.append(Note(code="clock-doubtful", text=text, severity="warning"))
    return Clock(
        offset_s=shift if clocks_shared else None, shift_s=shift, lag_s=lag,
        notes=(*notes, *_notes(shift, lag, clocks_shared)),
    )  # fmt: skip


def _widened(estimate: Estimate) -> Estimate:
    sd = float(np.hypot(estimate.sd, _LEAST_SD_S))
    return Estimate(value=estimate.value, sd=sd)


def _notes(shift: Estimate, lag: Estimate, clocks_shared: bool) -> tuple[Note, ...]:
    notes = []
    if clocks_shared and abs(shift.value) > max(0.5, 3 * shift.sd):
        text = (
            f"The motion log's clock is {abs(shift.value):.1f} s "
            f"{'ahead of' if shift.value > 0 else 'behind'} the positions'; this was taken out."
        )
        notes.append(Note(code="clock-offset", text=text))
    if lag.value - lag.sd > LAG_WORTH_TELLING_S:
        small = 20.0 * (1 - 1 / np.hypot(1.0, 0.36 * lag.value))
        text = (
            f"The receiver smooths its positions over about {lag.value:.1f} s: as they stand, a "
            f"20 m circle in trot would look about {small:.1f} m too small. This was taken out."
        )
        notes.append(Note(code="receiver-lag", text=text, severity="warning"))
    return tuple(notes)


def _unknown(motion: Motion, fixes: pd.DataFrame, clocks_shared: bool) -> Clock:
    """Nothing in the ride tells; with a common epoch the clocks are taken as they are."""
    text = (
        "The ride has too few turns and halts in it to tell how the motion log's clock stands to "
        "the positions'; ride a lap or two, or halt for ten seconds."
    )
    note = Note(code="clock-unknown", text=text, severity="warning")
    if clocks_shared:
        shift = USUAL_OFFSET_S
    else:
        starts = float(motion.t_s[0]) - float(fixes[T_S].iloc[0])
        ends = float(motion.t_s[-1]) - float(fixes[T_S].iloc[-1])
        shift = Estimate(value=(starts + ends) / 2, sd=max(abs(starts - ends) / 2, 5.0))
    return Clock(
        offset_s=shift if clocks_shared else None, shift_s=shift, lag_s=USUAL_LAG_S, notes=(note,)
    )
