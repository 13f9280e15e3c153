"""The gaits as the decoder knows them: starting numbers, and what a ride teaches."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Final

import numpy as np

from gait.features import FREQUENCY_STEP_HZ, MEASURES, Look, Tried, Windows, try_beats
from track.path import Floats, Ints

STATES: Final = ("halt", "walk", "trot", "canter", "unknown")
HALT, WALK, TROT, CANTER, UNKNOWN = range(len(STATES))
MOVING: Final = ("walk", "trot", "canter")
FARTHEST_SD: Final = 4.0
"""A measure further off counts as this far: one spoilt measure must not decide alone."""
NOTHING_SEEN: Final = (-6.0, -6.0, -6.0, -6.0, 0.0)
"""Log density of the states where the log has a gap or the phone was in a hand: a gait that goes on
behind a gap of two seconds went on through it [judgement]."""
LINES_WEIGHT: Final = 6.0
"""A rate is chosen as by a likelihood of so many independent samples, half of twelve [judgement];
a window of 4 s holds 3-7 strides of a few numbers each."""
RATE_SPAN: Final = 0.30
"""Rates from exp(-0.30) to exp(0.30) of a gait's mean are tried before the horse is known."""
KNOWN_RATE_SPAN: Final = 0.20
"""And once it is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GaitModel:
    """One gait as normal distributions of its measures.

    Attributes
    ----------
    beats : int
        Vertical beats per stride; 0 for the halt, which has none and is tried at walk's.
    log_rate, log_rate_sd : float
        Log of strides per second.
    measures : mapping of str to (mean, sd)
    speed_ms : (mean, sd), m/s
    """

    beats: int
    log_rate: float
    log_rate_sd: float
    measures: Mapping[str, tuple[float, float]]
    speed_ms: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Model:
    """All gaits, and how widely horses differ."""

    gaits: Mapping[str, GaitModel]
    log_rate_sd: float
    log_amplitude_sd: float
    unknown_log_density: float
    seconds_between_changes_s: float
    least_sd: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scored:
    """Log density of every window in every state, and the stride rate that gait would have.

    Attributes
    ----------
    log_density : array, shape (n, 5)
        Columns in the order of :data:`STATES`.
    stride_hz : array, shape (n, 5)
        NaN for halt and unknown.
    best : mapping of str to array of int, shape (n,)
        Which of the rates tried fits each gait best.
    """

    log_density: Floats
    stride_hz: Floats
    best: Mapping[str, Ints]


@cache
def starting_model() -> Model:
    """Read the starting numbers from ``model.json``."""
    data = json.loads((files("gait") / "model.json").read_text(encoding="utf-8"))
    gaits = {}
    for name, numbers in data["gaits"].items():
        rate, rate_sd = numbers["stride_hz"]
        gaits[name] = GaitModel(
            beats=int(numbers["beats"]),
            log_rate=float(np.log(rate)),
            log_rate_sd=float(rate_sd / rate),
            measures={measure: tuple(numbers[measure]) for measure in MEASURES},
            speed_ms=tuple(numbers["speed_ms"]),
        )
    return Model(
        gaits=gaits,
        log_rate_sd=data["horse"]["log_rate_sd"],
        log_amplitude_sd=data["horse"]["log_amplitude_sd"],
        unknown_log_density=data["unknown"]["log_density"],
        seconds_between_changes_s=data["seconds_between_changes"]["value"],
        least_sd={k: v for k, v in data["least_sd"].items() if k != "because"},
    )


def try_gaits(windows: Windows, model: Model, span: float) -> dict[str, Tried]:
    """Measure every window as every gait, at all the rates that gait may have."""
    return {name: try_beats(windows, _beats(gait, span)) for name, gait in model.gaits.items()}


def _beats(gait: GaitModel, span: float) -> Floats:
    mean = max(gait.beats, 1) * np.exp(gait.log_rate)
    first, last = (np.rint(mean * np.exp(s) / FREQUENCY_STEP_HZ) for s in (-span, span))
    return FREQUENCY_STEP_HZ * np.arange(first, last + 1)


def log_normal(value: Floats, mean: float, sd: float) -> Floats:
    """Log of the normal density, held at :data:`FARTHEST_SD`."""
    z = (value - np.float32(mean)) * np.float32(1.0 / sd)
    constant = np.float32(np.log(sd) + 0.5 * np.log(2.0 * np.pi))
    return np.asarray(np.float32(-0.5) * np.minimum(z * z, np.float32(FARTHEST_SD**2)) - constant)


def shape_score(tried: Tried, gait: GaitModel) -> Floats:
    """Log density of everything but amplitude and rate, shape (n, k)."""
    mean, sd = gait.measures["log_rest"]
    rest = tried.measures["log_rest"]
    doubted = np.minimum(rest, mean) if gait.beats == 0 else np.maximum(rest, mean)
    score = log_normal(doubted, mean, sd)
    for name in ("up_half", "level_half", "up_double"):
        score += log_normal(tried.measures[name], *gait.measures[name])
    return score


def on_the_lines(options: Floats, tried: Tried) -> Ints:
    """Of the rates tried the one whose lines hold the power, options weighing in; shape (n,)."""
    fitting = np.float32(-LINES_WEIGHT) * tried.measures["log_rest"]
    return np.asarray((options + fitting).argmax(axis=1))


def amplitude_score(tried: Tried, gait: GaitModel, log_amplitude: float = 0.0) -> Floats:
    """Log density of the amplitudes, shape (n,)."""
    score = np.zeros(tried.measures["log_up"].shape[0])
    for name in ("log_up", "log_level"):
        mean, sd = gait.measures[name]
        score += log_normal(tried.measures[name][:, 0], mean + log_amplitude, sd)
    return score


def rate_score(beat_hz: Floats, gait: GaitModel, log_rate: float = 0.0) -> Floats:
    """Log density of the stride rate that goes with each beat, shape (k,)."""
    stride_hz = beat_hz / max(gait.beats, 1)
    return log_normal(np.log(stride_hz), gait.log_rate + log_rate, gait.log_rate_sd)


def speed_score(look: Look, gait: GaitModel) -> Floats:
    """Log density of the speed, zero where it is not known, shape (n,).

    Half its weight: neighbouring speeds share their error.
    """
    mean, sd = gait.speed_ms
    wide = np.sqrt(sd**2 + np.nan_to_num(look.speed_sd_ms, nan=1.0) ** 2)
    z2 = np.minimum(((look.speed_ms - mean) / wide) ** 2, FARTHEST_SD**2)
    score = 0.5 * (-0.5 * z2 - np.log(wide) - 0.9189385)
    return np.asarray(np.where(np.isfinite(look.speed_ms), score, 0.0))


def score(look: Look, tried: Mapping[str, Tried], model: Model) -> Scored:
    """Log density of every window in every state."""
    count = look.windows.t_s.size
    log_density = np.full((count, len(STATES)), model.unknown_log_density)
    stride_hz = np.full((count, len(STATES)), np.nan)
    every, best = np.arange(count), {}
    for column, name in enumerate(STATES[:-1]):
        gait, own = model.gaits[name], tried[name]
        options = shape_score(own, gait) + rate_score(own.beat_hz, gait).astype(np.float32)
        best[name] = on_the_lines(options, own)
        log_density[:, column] = options[every, best[name]] + amplitude_score(own, gait)
        log_density[:, column] += speed_score(look, gait)
        if name in MOVING:
            stride_hz[:, column] = own.beat_hz[best[name]] / gait.beats
    log_density[~look.windows.usable] = NOTHING_SEEN
    return Scored(log_density=log_density, stride_hz=stride_hz, best=best)
