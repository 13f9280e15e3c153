"""What a ride teaches: this horse's rates, this pocket's liveliness, each gait's own measures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import numpy as np

from gait.features import Look, Tried
from gait.model import (
    MOVING,
    GaitModel,
    Model,
    Scored,
    amplitude_score,
    on_the_lines,
    rate_score,
    shape_score,
    speed_score,
)
from track.path import Floats, Ints

PRIOR_WINDOWS: Final = 3.0
"""How many independent windows the starting numbers count for when a ride teaches its own."""
EVERY: Final = 2
"""Windows overlap: every second is enough to find the horse."""
INDEPENDENT_SHARE: Final = 0.15
"""Of those windows: they overlap by half, and how a horse's waveform differs from the usual it
does in all of them alike, so that many windows must not outvote what is known of horses."""


def fit_horse(look: Look, tried: Mapping[str, Tried], model: Model) -> Model:
    """Move all rates together, and all amplitudes together, to where the whole ride is likeliest.

    One horse, one rider and one pocket make the ride: a horse that is quick in trot is quick in
    canter (Froude scaling), and a pocket that swings does so in every gait.
    """
    rates = np.linspace(-2.0, 2.0, 9) * model.log_rate_sd
    amplitudes = np.linspace(-2.5, 2.5, 11) * model.log_amplitude_sd
    some = np.flatnonzero(look.windows.usable)[::EVERY]
    scores = np.full((rates.size, amplitudes.size, some.size), model.unknown_log_density)
    for name, gait in model.gaits.items():
        by_rate, by_amplitude = _options(tried[name].only(some), gait, rates, amplitudes)
        speed = speed_score(look, gait)[some]
        np.logaddexp(scores, (by_rate + speed)[:, None] + by_amplitude, out=scores)
    total = INDEPENDENT_SHARE * scores.sum(axis=2)
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
    tried: Mapping[str, Tried],
    scored: Scored,
    inside: Mapping[str, Ints],
    model: Model,
) -> Model:
    """Teach the moving gaits this ride's own measures from windows well inside its bouts.

    Parameters
    ----------
    look : Look
    tried : mapping of str to Tried
    scored : Scored
        Which of the rates tried is each window's own.
    inside : mapping of str to array of int
        For each gait the windows to learn from. The halt is never learned: fidgets make halts
        too unlike one another.
    model : Model
    """
    gaits = dict(model.gaits)
    for name, chosen in inside.items():
        weight = chosen.size * look.windows.hop_s / look.windows.length_s
        if weight < 1.0:
            continue
        at = scored.best[name][chosen]
        measures = {
            measure: values[chosen, 0 if values.shape[1] == 1 else at]
            for measure, values in tried[name].measures.items()
        }
        stride_hz = tried[name].beat_hz[at] / gaits[name].beats
        gaits[name] = _taught(gaits[name], measures, stride_hz, weight, model.least_sd)
        known = look.speed_ms[chosen][np.isfinite(look.speed_ms[chosen])]
        if known.size > 0.5 * chosen.size:
            speed = _pooled(known, gaits[name].speed_ms, weight, model.least_sd["speed_ms"])
            gaits[name] = replace(gaits[name], speed_ms=speed)
    return replace(model, gaits=gaits)


def _options(
    tried: Tried, gait: GaitModel, rates: Floats, amplitudes: Floats
) -> tuple[Floats, Floats]:
    """Log density of one gait for horses of all rates, (r, n), and of all amplitudes, (a, n)."""
    shape, moving = shape_score(tried, gait), gait.beats > 0
    scored = [rate_score(tried.beat_hz, gait, shift * moving) for shift in rates]
    every = np.arange(shape.shape[0])
    options = [shape + rate.astype(np.float32) for rate in scored]
    by_rate = np.stack([option[every, on_the_lines(option, tried)] for option in options])
    by_amplitude = np.stack([amplitude_score(tried, gait, shift * moving) for shift in amplitudes])
    return by_rate, by_amplitude


def _taught(
    gait: GaitModel,
    measures: Mapping[str, Floats],
    stride_hz: Floats,
    weight: float,
    least_sd: Mapping[str, float],
) -> GaitModel:
    taught = {
        name: _pooled(values, gait.measures[name], weight, least_sd[name])
        for name, values in measures.items()
    }
    # A quiet stretch does not make a noisier one another gait.
    mean, sd = taught["log_rest"]
    taught["log_rest"] = (max(mean, gait.measures["log_rest"][0]), sd)
    rate, rate_sd = _pooled(
        np.log(stride_hz), (gait.log_rate, gait.log_rate_sd), weight, least_sd["stride_hz"]
    )
    return replace(gait, measures=taught, log_rate=rate, log_rate_sd=rate_sd)


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
