"""Law of the fixes' errors: how much they jitter and drift, and whether they jump.

The drift's steps follow Student's law, written as a loosening of each: positions may jump when a
wall or a tree comes between, and a jump must not pass for a late turn. Where Gauss's law explains
the fixes better it is taken: under the other, the loosening would take up what a wrong lag leaves,
and the lag be believed too well.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product
from typing import Final

import numpy as np

from track.clocks_model import Course, Noise, Track, low_passed, trial
from track.path import Floats

JITTERS_M: Final = (0.03, 0.06, 0.12, 0.25, 0.5, 1.0)
DRIFTS_M: Final = (0.02, 0.04, 0.08, 0.16, 0.32, 0.64)
FIRST_NOISE: Final = Noise(jitter_m=0.06, drift_m=0.08)
TAILS: Final = (3.0, 1e4)
"""Degrees of freedom of the drift's law: of a drift that jumps, and of one that does not."""
_PLAIN_SLIP: Final = 18.0
"""Three standard deviations squared, both axes: a larger one is a jump."""
_REWEIGHINGS: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Law:
    """Law of the fixes' errors: degrees of freedom of the drift, where it jumps, sizes."""

    tails: float
    track: Track
    noise: Noise

    def jump_cost(self, joints: Floats) -> float:
        """Cost of loosening the drift: the least over it of this and the rest is Student's law."""
        spread, half = self.track.loose / joints, self.tails / 2
        level = (half + 1) * np.log1p(1 / half) - 1
        return float(np.sum(half * (np.log(spread) + 1 / spread - 1) + level))


def likeliest_law(track: Track, course: Course, noise: Noise, at: tuple[float, float]) -> Law:
    """Jumps and noise about one shift and lag, from three beginnings.

    What is white noise to one is many small jumps to the other, and neither finds the other's
    answer in small steps: at first every unevenness is a jump, or none, or none ever.
    """
    even = _noise_of(track, course, noise, at)
    shown = low_passed(course, at[1])
    begun = [
        Law(tails=tails, track=track, noise=start)
        for tails, start in ((TAILS[0], noise), (TAILS[0], even), (TAILS[1], even))
    ]

    def cost(law: Law) -> float:
        here = trial(law.track, course, law.noise, at[0], shown).cost
        return here + law.jump_cost(track.loose)

    return min((law_about(law, track.loose, course, at) for law in begun), key=cost)


def law_about(law: Law, joints: Floats, course: Course, at: tuple[float, float]) -> Law:
    """Loosen the track where it jumps (iterated weights of Student's law), then the noise."""
    track, shown = law.track, low_passed(course, at[1])
    for _ in range(_REWEIGHINGS):
        slip = trial(track, course, law.noise, at[0], shown).slip_m
        usual = slip**2 * track.loose / joints
        # what the jitter hides of the drift: without it all of it would be tightened
        hidden = max(2.0 - float(np.minimum(usual, _PLAIN_SLIP).mean()), 0.0)
        track = replace(track, loose=joints * (law.tails + usual + hidden) / (law.tails + 2))
    return replace(law, track=track, noise=_noise_of(track, course, law.noise, at))


def _noise_of(track: Track, course: Course, noise: Noise, at: tuple[float, float]) -> Noise:
    """Likeliest sizes of jitter and drift: downhill from neighbour to neighbour."""
    shown = low_passed(course, at[1])
    known: dict[tuple[int, int], float] = {}

    def cost(place: tuple[int, int]) -> float:
        if place not in known:
            sizes = Noise(jitter_m=JITTERS_M[place[0]], drift_m=DRIFTS_M[place[1]])
            known[place] = trial(track, course, sizes, at[0], shown).cost
        return known[place]

    here = (JITTERS_M.index(noise.jitter_m), DRIFTS_M.index(noise.drift_m))
    while True:
        near = [
            (here[0] + i, here[1] + j)
            for i, j in product((-1, 0, 1), repeat=2)
            if abs(i) + abs(j) < 2
            and 0 <= here[0] + i < len(JITTERS_M)
            and 0 <= here[1] + j < len(DRIFTS_M)
        ]
        best = min(near, key=cost)
        if best == here:
            return Noise(jitter_m=JITTERS_M[here[0]], drift_m=DRIFTS_M[here[1]])
        here = best
