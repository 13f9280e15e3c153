"""When each gait is ridden: whole strides, speeds, the overlap at changes, fidgets at halts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

import numpy as np
from scipy.ndimage import gaussian_filter1d
from scipy.special import expit

from tests.second_model.beats import Train, pulse_train, stride_starts
from tests.second_model.horse import Horse
from tests.second_model.route import Leg
from tests.second_model.slow import slow_noise
from tests.second_model.truth import Floats, TrueBout

GRID_HZ = 200.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Timeline:
    bouts: tuple[TrueBout, ...]
    starts_s: tuple[Floats, ...]
    figures: tuple[str, ...]
    figure_ends_s: tuple[float, ...]


def timeline(
    rng: np.random.Generator, horse: Horse, script: Sequence[Leg], start_s: float
) -> Timeline:
    """Bouts of whole strides; neighbouring legs in one gait are one bout with two figures."""
    now = start_s
    bouts, starts, ends = [], [], []
    for gait, legs in groupby(script, key=lambda leg: leg.gait):
        seconds = [leg.seconds for leg in legs]
        end = now + sum(seconds)
        times = np.array([now, end])
        if gait != "halt":
            times = stride_starts(rng, horse, gait, now, end)
        bouts.append(TrueBout(gait=gait, start_s=now, end_s=float(times[-1])))
        starts.append(times)
        ends.extend((now + np.cumsum(seconds)).tolist())
        now = float(times[-1])
    return Timeline(
        bouts=tuple(bouts), starts_s=tuple(starts),
        figures=tuple(leg.figure for leg in script), figure_ends_s=tuple(ends),
    )  # fmt: skip


def speed_ms(rng: np.random.Generator, horse: Horse, line: Timeline, t_s: Floats) -> Floats:
    """Speed with ramps of about a second at every change, and a slow unevenness."""
    speed = np.zeros_like(t_s)
    for bout in line.bouts:
        on = (t_s >= bout.start_s) & (t_s < bout.end_s)
        speed[on] = horse.speed_ms[bout.gait] * rng.uniform(0.96, 1.04)
    ramped = gaussian_filter1d(speed, 0.45 * GRID_HZ)
    going = np.where(speed > 0, ramped, np.minimum(ramped, 1.2))
    return np.asarray(going * (1 + 0.04 * slow_noise(rng, t_s, 8.0)))


def standing(line: Timeline, t_s: Floats) -> Floats:
    """True speed is nought inside a halt, once the ramps are over."""
    still = np.zeros(len(t_s), dtype=bool)
    for bout in line.bouts:
        if bout.gait == "halt":
            still |= (t_s >= bout.start_s + 0.3) & (t_s < bout.end_s - 0.1)
    return gaussian_filter1d((~still).astype(float), 0.15 * GRID_HZ)


def _weight(rng: np.random.Generator, bout: TrueBout, t_s: Floats) -> Floats:
    """How much of one gait is there: it fades in and out over 0.5 to 1.5 s."""
    rise, fall = rng.uniform(0.12, 0.35, 2)
    grown = expit((t_s - bout.start_s) / rise) - expit((t_s - bout.end_s) / fall)
    return np.asarray(grown.clip(0.0, 1.0))


def _extended(starts_s: Floats) -> Floats:
    """Two ghost strides before and after a bout: old rhythm and new overlap at a change."""
    first, last = starts_s[1] - starts_s[0], starts_s[-1] - starts_s[-2]
    before = starts_s[0] - first * np.array([2.0, 1.0])
    return np.concatenate([before, starts_s, starts_s[-1] + last * np.array([1.0, 2.0])])


def trains(
    rng: np.random.Generator, line: Timeline, t_s: Floats, rising: bool
) -> tuple[Train, Floats]:
    """All gaits' pulses summed; what they leave of the body weight stays as a steady push."""
    parts, share = [[np.zeros_like(t_s)] * 4], np.zeros_like(t_s)
    for bout, starts in zip(line.bouts, line.starts_s, strict=True):
        if bout.gait == "halt":
            continue
        kind = "rising" if bout.gait == "trot" and rising else bout.gait
        weight = _weight(rng, bout, t_s)
        near = (t_s > bout.start_s - 4) & (t_s < bout.end_s + 4)
        part = pulse_train(rng, t_s[near], _extended(starts), kind, weight[near])
        full = [np.zeros_like(t_s) for _ in range(4)]
        for array, piece in zip(full, (part.base, part.both, part.signed, part.first), strict=True):
            array[near] = piece
        parts.append(full)
        share += weight
    base, both, signed, first = (np.sum(arrays, axis=0) for arrays in zip(*parts, strict=True))
    return Train(base=base, both=both, signed=signed, first=first), share.clip(0.0, 1.0)


def fidgets(rng: np.random.Generator, line: Timeline, t_s: Floats) -> Floats:
    """Weight shifted, head tossed, a pat on the neck: short pushes at halts, (n, 3) m/s²."""
    pushes = np.zeros((len(t_s), 3))
    for bout in line.bouts:
        if bout.gait != "halt":
            continue
        for _ in range(rng.poisson((bout.end_s - bout.start_s) / 5)):
            at, width = rng.uniform(bout.start_s + 1, bout.end_s - 1), rng.uniform(0.15, 0.5)
            to, fro = (t_s - at) / width, (t_s - at - 2 * width) / (1.3 * width)
            bump = np.exp(-(np.abs(to) ** 3)) - np.exp(-(np.abs(fro) ** 3)) / 1.3
            pushes += bump[:, None] * rng.normal(0, 1.2, 3)
    return pushes
