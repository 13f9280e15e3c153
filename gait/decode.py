"""From motion and speed to a course of gaits: two looks, the second taught by the first.

Windows of 4 s tell the gaits apart (walk's double beat lies on canter's beat, rising trot adds a
line close by: only harmonics, amplitude, sub-beats and speed together decide) and teach the model
this horse's own rates and amplitudes. Windows of 1.6 s then see short bouts and place changes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from gait.features import Look, Signals, Tried, Windows, signals_of, windows_of
from gait.learning import fit_horse, learn
from gait.model import (
    HALT,
    KNOWN_RATE_SPAN,
    MOVING,
    RATE_SPAN,
    STATES,
    Model,
    Scored,
    score,
    starting_model,
    try_gaits,
)
from gait.naming import other_namings, plausibility
from gait.viterbi import likeliest, runs
from track.motion import Motion
from track.path import Floats, Ints, Path

LONG_S: Final = 4.0
LONG_HOP_S: Final = 1.0
SHORT_S: Final = 1.6
SHORT_HOP_S: Final = 0.2
INDEPENDENT: Final = 2.0 / 3.0
"""Length of a Hann window that counts as independent of its neighbours, as a share of all of it:
(Σ w)² / (N Σ w²)."""
LEARN_FROM_S: Final = 5.0
"""Shortest bout that the model learns from."""
EDGE_S: Final = 2.0
"""Left out at both ends of a bout when learning: half a long window."""
STILL_LOG_ODDS: Final = 3.0
"""For a halt in a window that is still throughout."""
STIRRING_LOG_ODDS: Final = -1.0
"""For a halt in a window with no stillness: riders fidget."""
RELEARN: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """The gaits over time, before changes are placed finely.

    Attributes
    ----------
    t_s : array, shape (n,), s
        Centres of the short windows.
    state : array of int, shape (n,)
        Index into :data:`gait.model.STATES`.
    stride_hz : array, shape (n,)
        Stride rate of the state, NaN for halt and unknown.
    odds : array, shape (n, 5)
        Log density of each state, tempered for the overlap of windows.
    model : Model
        What this ride taught.
    signals : Signals
    """

    t_s: Floats
    state: Ints
    stride_hz: Floats
    odds: Floats
    temper: float
    model: Model
    signals: Signals


def course_of(motion: Motion, path: Path | None) -> Course:
    """Decode the gaits of a ride with motion."""
    signals = signals_of(motion)
    far = look_of(motion, signals, path, LONG_S, LONG_HOP_S)
    tried = try_gaits(far.windows, starting_model(), RATE_SPAN)
    model, state = _named(far, tried)
    near = look_of(motion, signals, path, SHORT_S, SHORT_HOP_S)
    nearest = np.searchsorted(far.windows.t_s, near.windows.t_s - 0.5 * LONG_HOP_S)
    return _look_closer(near, signals, model, state[np.minimum(nearest, state.size - 1)])


def _named(far: Look, tried: Mapping[str, Tried]) -> tuple[Model, Ints]:
    """What the ride teaches and its gaits, by the naming that goes best with what is known."""
    start = starting_model()
    model, scored, state = _settled(far, tried, fit_horse(far, tried, start))
    best, likely = (model, state), plausibility(far, tried, scored, state, start)[0]
    for other in other_namings(far, tried, state):
        _, horse = plausibility(far, tried, scored, other, start)
        first = learn(far, tried, scored, well_inside(other, LONG_HOP_S), horse)
        model_so, scored_so, state_so = _settled(far, tried, first)
        value, _ = plausibility(far, tried, scored_so, state_so, start)
        if value > likely:
            best, likely = (model_so, state_so), value
    return best


def _settled(far: Look, tried: Mapping[str, Tried], model: Model) -> tuple[Model, Scored, Ints]:
    """Decode and learn in turn: what was learned, its scores and the gaits by them."""
    for _ in range(RELEARN):
        scored = scored_with_still(far, tried, model)
        state = _decode(scored, model, far.windows)
        model = learn(far, tried, scored, well_inside(state, LONG_HOP_S), model)
    scored = scored_with_still(far, tried, model)
    return model, scored, _decode(scored, model, far.windows)


def look_of(
    motion: Motion, signals: Signals, path: Path | None, length_s: float, hop_s: float
) -> Look:
    """Windows of one length with the speed at their centres."""
    windows = windows_of(motion, signals, length_s=length_s, hop_s=hop_s)
    speed, sd = speed_at(path, windows.t_s)
    # A path lags where the gait changes, which short windows would notice.
    return Look(windows=windows, speed_ms=speed, speed_sd_ms=np.hypot(sd, 0.8 / length_s))


def _look_closer(near: Look, signals: Signals, model: Model, before: Ints) -> Course:
    tried = try_gaits(near.windows, model, KNOWN_RATE_SPAN)
    first = score(near, tried, model)
    model = learn(near, tried, first, well_inside(before, SHORT_HOP_S), model)
    scored = scored_with_still(near, tried, model)
    state = _decode(scored, model, near.windows)
    return Course(
        t_s=near.windows.t_s,
        state=state,
        stride_hz=scored.stride_hz[np.arange(state.size), state],
        odds=scored.log_density * (SHORT_HOP_S / (INDEPENDENT * SHORT_S)),
        temper=SHORT_HOP_S / (INDEPENDENT * SHORT_S),
        model=model,
        signals=signals,
    )


def speed_at(path: Path | None, t_s: Floats) -> tuple[Floats, Floats]:
    """Speed and its sd at some times, NaN where there is no path."""
    nothing = np.full(t_s.size, np.nan)
    if path is None or path.t_s.size < 2:
        return nothing, nothing
    known = (t_s >= path.t_s[0]) & (t_s <= path.t_s[-1])
    speed = np.interp(t_s, path.t_s, path.speed_ms)
    sd = np.interp(t_s, path.t_s, path.speed_sd_ms)
    return np.where(known, speed, np.nan), np.where(known, sd, np.nan)


def scored_with_still(look: Look, tried: Mapping[str, Tried], model: Model) -> Scored:
    """Scores with what the stillness of the rider's body says for a halt."""
    scored = score(look, tried, model)
    still = look.windows.still
    odds = still * STILL_LOG_ODDS + (1.0 - still) * STIRRING_LOG_ODDS
    scored.log_density[:, HALT] += odds * look.windows.usable
    return scored


def well_inside(course: Ints, hop_s: float) -> dict[str, Ints]:
    """Windows of each gait far from the ends of bouts that are long enough to learn from."""
    inside: dict[str, list[Ints]] = {name: [] for name in MOVING}
    edge = round(EDGE_S / hop_s)
    for state, first, last in runs(course):
        if STATES[state] in MOVING and (last - first) * hop_s >= LEARN_FROM_S:
            inside[STATES[state]].append(np.arange(first + edge, last - edge))
    return {name: np.concatenate(parts) for name, parts in inside.items() if parts}


def _decode(scored: Scored, model: Model, windows: Windows) -> Ints:
    odds = scored.log_density * (windows.hop_s / (INDEPENDENT * windows.length_s))
    return likeliest(odds, log_change(model, windows.hop_s))


def log_change(model: Model, hop_s: float) -> Floats:
    """Log probability of going from gait to gait in one step of ``hop_s``."""
    leave = hop_s / model.seconds_between_changes_s
    states = len(STATES)
    table = np.full((states, states), np.log(leave / (states - 1)))
    np.fill_diagonal(table, np.log1p(-leave))
    return table
