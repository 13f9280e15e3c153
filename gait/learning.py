"""What a ride teaches: this horse's rates, this pocket's liveliness, each gait's own measures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import numpy as np

from gait.features import FREQUENCY_STEP_HZ, MEASURES, Look, try_beats
from gait.model import (
    MOVING,
    STATES,
    GaitModel,
    Model,
    Scored,
    amplitude_score,
    beats_to_try,
    rate_score,
    shape_score,
    speed_score,
)
from track.path import Bools, Floats, Ints

PRIOR_WINDOWS: Final = 3.0
"""How many independent windows the starting numbers count for when a ride teaches its own."""
EVERY: Final = 4
"""Windows overlap: every fourth is enough to find the horse."""
INDEPENDENT_SHARE: Final = 0.5
"""Of those windows, still overlapping by half."""


def fit_horse(look: Look, model: Model) -> Model:
    """Move all rates together, and all amplitudes together, to where the whole ride is likeliest.

    One horse, one rider and one pocket make the ride: a horse that is quick in trot is quick in
    canter (Froude scaling), and a pocket that swings does so in every gait.
    """
    rates = np.linspace(-2.0, 2.0, 9) * model.log_rate_sd
    amplitudes = np.linspace(-2.5, 2.5, 11) * model.log_amplitude_sd
    part = look.only(np.arange(0, look.windows.t_s.size, EVERY))
    scores = np.full(
        (rates.size, amplitudes.size, part.windows.t_s.size), model.unknown_log_density
    )
    for name, gait in model.gaits.items():
        scores = np.logaddexp(scores, _options(part, name, gait, rates, amplitudes))
    total = INDEPENDENT_SHARE * scores[:, :, part.windows.usable].sum(axis=2)
    total += _prior(rates, model.log_rate_sd)[:, None] + _prior(amplitudes, model.log_amplitude_sd)
    i, j = np.unravel_index(int(total.argmax()), total.shape)
    return shifted(model, float(rates[i]), float(amplitudes[j]))


def shifted(model: Model, log_rate: float, log_amplitude: float) -> Model:
    """The model for a horse that much quicker and a pocket that much livelier."""
    gaits = dict(model.gaits)
    for name in MOVING:
        gait = gaits[name]
        measures = dict(gait.measures)
        for measure in ("log_up", "log_level"):
            mean, sd = measures[measure]
            measures[measure] = (mean + log_amplitude, sd)
        gaits[name] = replace(gait, log_rate=gait.log_rate + log_rate, measures=measures)
    return replace(model, gaits=gaits)


def learn(
    look: Look,
    course: Ints,
    inside: Bools,
    scored: Scored,
    model: Model,
    *,
    windows_per_independent: float,
) -> Model:
    """Teach the moving gaits this ride's own measures from windows well inside its bouts.

    Parameters
    ----------
    look : Look
    course : array of int, shape (n,)
        State of each window, index into :data:`gait.model.STATES`.
    inside : array of bool, shape (n,)
        Windows to learn from.
    scored : Scored
        Their scores, for each window's own stride rate.
    model : Model
    windows_per_independent : float
        Overlapping windows that count as one.
    """
    gaits = dict(model.gaits)
    for column, name in enumerate(STATES):
        if name not in MOVING:  # fidgets make halts too unlike one another to learn from
            continue
        chosen = np.flatnonzero(inside & (course == column) & look.windows.usable)
        if chosen.size >= windows_per_independent:
            weight = chosen.size / windows_per_independent
            rate = scored.stride_hz[chosen, column]
            gaits[name] = _taught(gaits[name], look.only(chosen), rate, weight, model.least_sd)
    return replace(model, gaits=gaits)


def _options(look: Look, name: str, gait: GaitModel, rates: Floats, amplitudes: Floats) -> Floats:
    """Log density of one gait for horses of all rates and amplitudes, shape (r, a, n)."""
    tried = try_beats(look.windows, beats_to_try(gait))
    shape, moving = shape_score(tried, gait), name in MOVING
    by_rate = np.stack(
        [(shape + rate_score(tried.beat_hz, gait, shift * moving)).max(axis=1) for shift in rates]
    )
    by_amplitude = np.stack([amplitude_score(tried, gait, shift * moving) for shift in amplitudes])
    return np.asarray((by_rate + speed_score(look, gait))[:, None] + by_amplitude)


def _taught(
    gait: GaitModel, look: Look, stride_hz: Floats, weight: float, least_sd: Mapping[str, float]
) -> GaitModel:
    tried = _at_own_beats(look, gait.beats * stride_hz)
    measures = {
        name: _pooled(tried[name], gait.measures[name], weight, least_sd[name]) for name in MEASURES
    }
    known = look.speed_ms[np.isfinite(look.speed_ms)]
    speed = gait.speed_ms
    if known.size > 0.5 * look.speed_ms.size:
        speed = _pooled(known, gait.speed_ms, weight, least_sd["speed_ms"])
    rate, rate_sd = _pooled(
        np.log(stride_hz), (gait.log_rate, gait.log_rate_sd), weight, least_sd["stride_hz"]
    )
    return replace(gait, measures=measures, speed_ms=speed, log_rate=rate, log_rate_sd=rate_sd)


def _at_own_beats(look: Look, beat_hz: Floats) -> dict[str, Floats]:
    """Measures of each window at its own beat, shape (n,) each."""
    step = np.rint(beat_hz / FREQUENCY_STEP_HZ).astype(np.int64)
    out = {name: np.empty(beat_hz.size) for name in MEASURES}
    for value in np.unique(step):
        chosen = np.flatnonzero(step == value)
        tried = try_beats(look.only(chosen).windows, np.array([value * FREQUENCY_STEP_HZ]))
        for name in MEASURES:
            out[name][chosen] = tried.measures[name][:, 0]
    return out


def _pooled(
    values: Floats, prior: tuple[float, float], weight: float, least_sd: float
) -> tuple[float, float]:
    """Mean and sd of values and starting numbers together; the middle resists outliers."""
    low, mean, high = np.percentile(values, [16.0, 50.0, 84.0])
    share = weight / (weight + PRIOR_WINDOWS)
    pooled = share * mean + (1.0 - share) * prior[0]
    spread = share * (0.5 * (high - low)) ** 2 + (1.0 - share) * prior[1] ** 2
    return float(pooled), float(max(np.sqrt(spread), least_sd))


def _prior(values: Floats, sd: float) -> Floats:
    return np.asarray(-0.5 * (values / sd) ** 2)
