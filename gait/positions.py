"""Coarse gaits from speed alone, with the doubt said.

Speed cannot tell a slow canter from a forward trot: where the speeds of two gaits overlap the
confidence says so, and no strides are claimed. Which speeds are this horse's is not known either:
every set it may have is asked, and the answers weighed by how well each explains the ride.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from gait.bouts import Bout, Gait, Gaits, Transition
from gait.model import STATES, TROT, WALK, starting_model
from gait.viterbi import chances, likeliest, runs
from ingest.recording import Note
from track.path import Floats, Path

HOP_S: Final = 0.5
INDEPENDENT_S: Final = 3.0
"""Errors of speed are alike over about this long."""
HORSE_LOG_SD: Final = 0.10
"""Horses differ so much in all their speeds together: a large horse is quick in every gait (Froude
scaling of 1.2 to 1.75 m spans 0.19 in log speed either way of its middle; half of it as sd)."""
GAIT_LOG_SD: Final = 0.10
"""And so much in one gait against the others [judgement]."""
LOG_RATIO: Final = (0.096, 0.08)
"""Log of canter's speed over trot's, mean and sd: Clayton's collected, working, medium and extended
gaits (see the starting numbers) have ratios of 1.02, 1.08, 1.10 and 1.21, an sd of 0.07."""
WITHIN_RIDE_SD_MS: Final = {"halt": 0.15, "walk": 0.2, "trot": 0.25, "canter": 0.3}
"""How a gait's speed varies within a ride [judgement]."""
ROUNDS: Final = 4
SPAN_SD: Final = 2.4
TROTS: Final = 11
RATIOS: Final = 11
"""Speeds of trot and ratios tried, over so many sds either way."""
LEAP_COST: Final = 0.7
"""Nats by which a change that leaves a gait out is rarer [judgement]."""
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
    means, weight, chance = _asked(seen)
    bouts = _bouts(seen, chance, weight @ means, float(path.t_s[-1]))
    return Gaits(
        bouts=tuple(bouts), strides=(), stride_sd_s=float("nan"),
        transitions=tuple(_changes(bouts)), events=(), notes=(NOTE,),
    )  # fmt: skip


def _asked(seen: _Speeds) -> tuple[Floats, Floats, Floats]:
    """Speeds this horse may have, (h, 4); how likely each is, (h,); chance of every gait, (n, 4).

    No one set of speeds is chosen: where canter may as well be as quick as trot, the chances say
    so.
    """
    means, log_prior = _horses(_walk_ms(seen))
    table = _log_change()
    chance, evidence = chances(_odds(seen, means), table)
    log_weight = evidence + log_prior
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    return means, weight, np.einsum("nhk,h->nk", chance, weight)


def _start() -> Floats:
    gaits = starting_model().gaits
    return np.array([gaits[name].speed_ms[0] for name in STATES[:-1]])


def _walk_ms(seen: _Speeds) -> float:
    """Speed of this horse's walk, which is like nothing else."""
    means = _start()
    usual = means[WALK]
    for _ in range(ROUNDS):
        course = likeliest(_odds(seen, means[None])[:, 0], _log_change())
        own = seen.speed_ms[course == WALK]
        if own.size * HOP_S < INDEPENDENT_S:
            break
        prior_sd, seen_sd = np.hypot(HORSE_LOG_SD, GAIT_LOG_SD), _log_sd_of_walk(own)
        share = prior_sd**2 / (prior_sd**2 + seen_sd**2)
        means[WALK] = usual * np.exp(share * np.log(max(float(np.median(own)), 0.1) / usual))
    return float(means[WALK])


def _log_sd_of_walk(speed_ms: Floats) -> float:
    independent = max(speed_ms.size * HOP_S / INDEPENDENT_S, 1.0)
    return float(WITHIN_RIDE_SD_MS["walk"] / _start()[WALK] / np.sqrt(independent))


def _horses(walk_ms: float) -> tuple[Floats, Floats]:
    """Sets of speeds, shape (h, 4), and the log of how likely each is before the ride is seen."""
    usual = _start()
    alike = HORSE_LOG_SD**2 / (HORSE_LOG_SD**2 + GAIT_LOG_SD**2)
    trot_sd = np.sqrt((1.0 - alike**2) * (HORSE_LOG_SD**2 + GAIT_LOG_SD**2))
    log_trot = np.log(usual[TROT]) + alike * np.log(walk_ms / usual[WALK])
    z_trot, z_ratio = (
        part.ravel()
        for part in np.meshgrid(
            np.linspace(-SPAN_SD, SPAN_SD, TROTS), np.linspace(-SPAN_SD, SPAN_SD, RATIOS)
        )
    )
    trot = np.exp(log_trot + trot_sd * z_trot)
    canter = trot * np.exp(LOG_RATIO[0] + LOG_RATIO[1] * z_ratio)
    means = np.stack([0.0 * trot, walk_ms + 0.0 * trot, trot, canter], axis=1)
    return means, -0.5 * (z_trot**2 + z_ratio**2)


def _odds(seen: _Speeds, means: Floats) -> Floats:
    """Tempered log density of the speeds for sets of means, shape (n, h, 4)."""
    within = np.array([WITHIN_RIDE_SD_MS[name] for name in STATES[:-1]])
    sd = np.hypot(within, seen.sd_ms[:, None])[:, None]
    z2 = np.minimum(((seen.speed_ms[:, None, None] - means) / sd) ** 2, 16.0)
    return np.asarray((-0.5 * z2 - np.log(sd)) * (HOP_S / INDEPENDENT_S))


def _log_change() -> Floats:
    leave = HOP_S / starting_model().seconds_between_changes_s
    states = len(STATES) - 1
    # Trot and halt are a step from walk, canter a step from trot; a leap is rarer.
    steps = np.abs(np.subtract.outer(np.arange(states), np.arange(states)))
    share = np.exp(-LEAP_COST * np.maximum(steps - 1, 0)) * (steps > 0)
    table = leave * share / share.sum(axis=1, keepdims=True)
    np.fill_diagonal(table, 1.0 - leave)
    return np.asarray(np.log(table))


def _bouts(seen: _Speeds, chance: Floats, means: Floats, end_s: float) -> list[Bout]:
    out = []
    for state, first, last in runs(chance.argmax(axis=1)):
        out.append(
            Bout(
                gait=_name(state),
                start_s=float(seen.t_s[first]),
                end_s=float(seen.t_s[last]) if last < seen.t_s.size else end_s,
                confidence=round(float(chance[first:last, state].mean()), 3),
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
