"""Coarse gaits from speed alone, with the doubt said.

Speed cannot tell a slow canter from a forward trot: where the speeds of two gaits overlap the
confidence says so, and no strides are claimed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from gait.bouts import Bout, Gait, Gaits, Transition
from gait.model import STATES, starting_model
from gait.viterbi import likeliest, runs
from ingest.recording import Note
from track.path import Floats, Ints, Path

HOP_S: Final = 0.5
INDEPENDENT_S: Final = 3.0
"""Errors of speed are alike over about this long."""
HORSE_LOG_SD: Final = 0.10
"""Horses differ so much in all their speeds together: a large horse is quick in every gait (Froude
scaling of 1.2 to 1.75 m spans 0.19 in log speed either way of its middle; half of it as sd)."""
GAIT_LOG_SD: Final = 0.07
"""And so much in one gait against the others [judgement]."""
SEEN_LOG_SD: Final = 0.04
"""How well the median of a minute of one gait tells its speed [judgement]."""
SEEN_SECONDS_S: Final = 60.0
WITHIN_RIDE_SD_MS: Final = {"halt": 0.15, "walk": 0.2, "trot": 0.3, "canter": 0.35}
"""How a gait's speed varies within a ride [judgement]."""
ROUNDS: Final = 6
ONSET_SD_S: Final = 2.0
NOTE: Final = Note(
    code="gait-from-speed-only",
    text="No motion sensors: gaits are a coarse guess from speed, without strides; trot and "
    "canter at like speeds cannot be told apart. Log the accelerometer too.",
    severity="warning",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Speeds:
    t_s: Floats
    speed_ms: Floats
    sd_ms: Floats


def gaits_from_positions(path: Path | None) -> Gaits:
    """Halt, walk, trot and canter from the path's speed; empty where there is no path."""
    if path is None or path.t_s.size < 2:
        return Gaits(bouts=(), strides=(), stride_sd_s=float("nan"), transitions=(), events=())
    grid = np.arange(path.t_s[0], path.t_s[-1], HOP_S)
    seen = _Speeds(
        t_s=grid,
        speed_ms=np.interp(grid, path.t_s, path.speed_ms),
        sd_ms=np.interp(grid, path.t_s, path.speed_sd_ms),
    )
    means = _own_speeds(seen)
    odds = _odds(seen, means)
    bouts = _bouts(seen, _course(odds), odds, means, float(path.t_s[-1]))
    return Gaits(
        bouts=tuple(bouts), strides=(), stride_sd_s=float("nan"),
        transitions=tuple(_changes(bouts)), events=(), notes=(NOTE,),
    )  # fmt: skip


def _start() -> Floats:
    gaits = starting_model().gaits
    return np.array([gaits[name].speed_ms[0] for name in STATES[:-1]])


def _own_speeds(seen: _Speeds) -> Floats:
    """Mean speed of each gait of this horse: walk, like nothing else, tells its scale."""
    prior = _start()
    means = prior.copy()
    for _ in range(ROUNDS):
        course = _course(_odds(seen, means))
        own = [seen.speed_ms[course == state] for state in range(1, prior.size)]
        means[1:] = prior[1:] * np.exp(_scales(own, prior[1:]))
    return means


def _scales(own: Sequence[Floats], prior: Floats) -> Floats:
    """Log speed of each gait against its starting number, gaits of one horse going together."""
    together = HORSE_LOG_SD**2 * np.ones((prior.size, prior.size))
    precision = np.linalg.inv(together + GAIT_LOG_SD**2 * np.eye(prior.size))
    seconds = HOP_S * np.array([speeds.size for speeds in own])
    weight = seconds / SEEN_SECONDS_S / SEEN_LOG_SD**2
    middle = [float(np.median(speeds)) if speeds.size else 1.0 for speeds in own]
    told = np.where(seconds > 0.0, np.log(np.maximum(middle, 0.1) / prior), 0.0)
    return np.asarray(np.linalg.solve(precision + np.diag(weight), weight * told))


def _odds(seen: _Speeds, means: Floats) -> Floats:
    within = np.array([WITHIN_RIDE_SD_MS[name] for name in STATES[:-1]])
    sd = np.hypot(within, seen.sd_ms[:, None])
    z2 = np.minimum(((seen.speed_ms[:, None] - means) / sd) ** 2, 16.0)
    return np.asarray((-0.5 * z2 - np.log(sd)) * (HOP_S / INDEPENDENT_S))


def _course(odds: Floats) -> Ints:
    leave = HOP_S / starting_model().seconds_between_changes_s
    states = odds.shape[1]
    table = np.full((states, states), np.log(leave / (states - 1)))
    np.fill_diagonal(table, np.log1p(-leave))
    # Trot and halt are a step from walk, canter a step from trot; a leap is rarer.
    steps = np.abs(np.subtract.outer(np.arange(states), np.arange(states)))
    return likeliest(odds, table - 0.7 * np.maximum(steps - 1, 0))


def _bouts(seen: _Speeds, course: Ints, odds: Floats, means: Floats, end_s: float) -> list[Bout]:
    out = []
    for state, first, last in runs(course):
        part = odds[first:last] * (INDEPENDENT_S / HOP_S)
        # The whole bout's mean speed decides; its error shrinks with the root of its length.
        mean = part.mean(axis=0) * np.sqrt(max((last - first) * HOP_S / INDEPENDENT_S, 1.0))
        chance = np.exp(mean - mean.max())
        out.append(
            Bout(
                gait=_name(state),
                start_s=float(seen.t_s[first]),
                end_s=float(seen.t_s[last]) if last < seen.t_s.size else end_s,
                confidence=round(float(chance[state] / chance.sum()), 3),
                because=_because(float(np.median(seen.speed_ms[first:last])), state, means),
            )
        )
    return out


def _because(speed_ms: float, state: int, means: Floats) -> str:
    text = f"speed {speed_ms:.1f} m/s; no motion sensors"
    others = [STATES[i] for i in range(means.size) if i != state and abs(speed_ms - means[i]) < 0.9]
    return text + (f"; {' or '.join(others)} is as fast" if others else "")


def _name(state: int) -> Gait:
    name: Gait = STATES[state]
    return name


def _changes(bouts: list[Bout]) -> list[Transition]:
    return [
        Transition(
            from_gait=old.gait, to_gait=new.gait, t_s=new.start_s, t_sd_s=ONSET_SD_S,
            between_strides=0.0,
        )
        for old, new in pairwise(bouts)
    ]  # fmt: skip
