"""Which gait is which, asked of the ride as a whole.

Walk's double beat lies on canter's single one, and a pocket that shows no roll of the trunk gives
both the same lines: window by window the nearer starting numbers win, each window anew. But one
horse and one pocket make the ride. So where two namings are possible both are tried: how far the
gaits then lie from what is known of horses counts once for a ride, not once a window, and a walk
is a third as lively as a canter of the same horse.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from gait.features import Look, Tried
from gait.learning import shifted
from gait.model import (
    CANTER,
    FARTHEST_SD,
    MOVING,
    STATES,
    TROT,
    UNKNOWN,
    WALK,
    GaitModel,
    Model,
    Scored,
)
from track.path import Floats, Ints

LEAST_RATIO: Final = 0.55
"""Log of the least ratio of a canter's vertical to a walk's, a factor of 1.7: displacements of 5-8
cm at 1.65 Hz and 1.5-2 cm at 1.8 Hz make 2 to 4."""
FEWEST_S: Final = 12.0
"""Of a gait in a ride, below which nothing is renamed."""
NO_WALK_COST: Final = 2.0
"""Nats: one ride in eight has no walk at all [judgement]."""
UNKNOWN_COST_PER_S: Final = 0.3
"""Nats for riding that is left without a name: a gait that fits is six nats likelier than none in a
window, and of windows of 2.7 s one in seven counts as new evidence (see :mod:`gait.learning`)."""
SHAPES: Final = ("up_half", "level_half", "up_double")
SPEED_SD_MS: Final = 0.15


def other_namings(look: Look, tried: Mapping[str, Tried], state: Ints) -> list[Ints]:
    """Other courses that the same windows may tell of; none where the naming is clear.

    Parameters
    ----------
    look : Look
    tried : mapping of str to Tried
    state : array of int, shape (n,)
        Index into :data:`gait.model.STATES`.
    """
    log_up = tried["walk"].measures["log_up"][:, 0]  # the same for every gait tried
    fewest = FEWEST_S / look.windows.hop_s
    walk, trot, canter = (np.flatnonzero(state == which) for which in (WALK, TROT, CANTER))
    others: list[Ints] = []
    if canter.size >= fewest:
        quiet = canter[log_up[canter] < _parting(log_up[canter])]
        if min(quiet.size, canter.size - quiet.size) >= fewest:
            others.append(_renamed(state, quiet, WALK))
        lively = walk.size < fewest or (
            np.median(log_up[canter]) - np.median(log_up[walk]) < LEAST_RATIO
        )
        if lively:
            others.append(_renamed(state, canter, WALK))
    elif walk.size >= fewest:
        others.append(_renamed(state, walk, CANTER))
    if walk.size < fewest <= trot.size:
        others.append(_renamed(state, trot, WALK))
    return others


def plausibility(
    look: Look, tried: Mapping[str, Tried], scored: Scored, state: Ints, model: Model
) -> tuple[float, Model]:
    """Log of how well the gaits of a course go with what is known of horses, and that horse.

    Parameters
    ----------
    look : Look
    tried : mapping of str to Tried
    scored : Scored
        Which of the rates tried is each window's own.
    state : array of int, shape (n,)
    model : Model
        The starting numbers.

    Returns
    -------
    float
        Nats; every measure of every gait counts once.
    Model
        The starting numbers for the horse and the pocket that go best with the course.
    """
    found = {name: np.flatnonzero(state == STATES.index(name)) for name in MOVING}
    found = {name: at for name, at in found.items() if at.size * look.windows.hop_s >= FEWEST_S}
    rates, sizes, cost = [], [], 0.0
    for name, at in found.items():
        gait, best = model.gaits[name], scored.best[name][at]
        stride_hz = tried[name].beat_hz[best] / max(gait.beats, 1)
        rates.append((float(np.median(np.log(stride_hz))) - gait.log_rate, gait.log_rate_sd))
        for measure in ("log_up", "log_level"):
            mean, sd = gait.measures[measure]
            sizes.append((float(np.median(tried[name].measures[measure][at, 0])) - mean, sd))
        for measure in SHAPES:
            mean, sd = gait.measures[measure]
            cost += _cost(float(np.median(tried[name].measures[measure][at, best])) - mean, sd)
        cost += _speed_cost(look, gait, at)
    rate, rate_cost = _shared(rates, model.log_rate_sd)
    size, size_cost = _shared(sizes, model.log_amplitude_sd)
    cost += rate_cost + size_cost + (0.0 if "walk" in found or not found else NO_WALK_COST)
    unnamed = (state == UNKNOWN) & look.windows.usable
    cost += UNKNOWN_COST_PER_S * look.windows.hop_s * float(unnamed.sum())
    return -cost, shifted(model, rate, size)


def _renamed(state: Ints, at: Ints, name: int) -> Ints:
    out = state.copy()
    out[at] = name
    return out


def _parting(values: Floats) -> float:
    """Where two groups of values part, by the least squares within both; -inf where they are one.

    Examples
    --------
    >>> 1.0 < _parting(np.array([0.9, 1.0, 2.0, 2.1])) <= 2.0
    True
    >>> _parting(np.array([1.0, 1.1, 1.2, 1.3]))
    -inf
    """
    ordered = np.sort(values)
    count = np.arange(1, ordered.size)
    below = np.cumsum(ordered)[:-1] / count
    above = (ordered.sum() - np.cumsum(ordered)[:-1]) / count[::-1]
    between = count * count[::-1] * (above - below) ** 2
    at = int(between.argmax())
    apart = np.median(ordered[at + 1 :]) - np.median(ordered[: at + 1])
    return float(ordered[at + 1]) if apart >= LEAST_RATIO else -np.inf


def _cost(off: float, sd: float) -> float:
    return 0.5 * min((off / sd) ** 2, FARTHEST_SD**2)


def _speed_cost(look: Look, gait: GaitModel, at: Ints) -> float:
    speed = look.speed_ms[at]
    speed = speed[np.isfinite(speed)]
    if speed.size < 0.5 * at.size:
        return 0.0
    mean, sd = gait.speed_ms
    return _cost(float(np.median(speed)) - mean, float(np.hypot(sd, SPEED_SD_MS)))


def _shared(off: Sequence[tuple[float, float]], shared_sd: float) -> tuple[float, float]:
    """What all gaits have in common, and the cost of it and of what is left."""
    if not off:
        return 0.0, 0.0
    values, sds = (np.array(part) for part in zip(*off, strict=True))
    common = float((values / sds**2).sum() / ((1.0 / sds**2).sum() + shared_sd**-2))
    left = sum(_cost(value - common, sd) for value, sd in off)
    return common, left + _cost(common, shared_sd)
