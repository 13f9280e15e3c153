"""Rides one asked change of gait after another, early or late, with strides in between."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.random import Generator

from sample_rides.asked import Asked
from sample_rides.faults import Fault, of_kind
from sample_rides.horse import own_rate_hz, own_speed_ms
from sample_rides.imperfections import GRID_M
from sample_rides.plan import Onset, Pace, Step
from sample_rides.scenario import Scenario
from sample_rides.schedule import STOP_MS2
from track.sheet import GaitName

LEAST_BOUT_M: Final = 3.0
HALT_PLACE_SD_M: Final = 0.7
FREE_WALK_SPEED: Final = 1.12

BETWEEN: Final[dict[tuple[GaitName, GaitName], tuple[GaitName, tuple[float, ...]]]] = {
    ("trot", "halt"): ("walk", (0.3, 0.3, 0.25, 0.15)),
    ("canter", "halt"): ("trot", (0.2, 0.3, 0.3, 0.2)),
    ("canter", "walk"): ("trot", (0.3, 0.2, 0.2, 0.2, 0.1)),
    ("halt", "trot"): ("walk", (0.6, 0.3, 0.1)),
    ("halt", "canter"): ("trot", (0.4, 0.4, 0.2)),
    ("walk", "canter"): ("trot", (0.5, 0.3, 0.2)),
}
"""Gait slipped in between, and the chances of 0, 1, 2, ... of its strides [judgement]."""


class Rider:
    """Takes one asked change after another."""

    def __init__(self, scenario: Scenario, faults: Sequence[Fault], rng: Generator) -> None:
        self.scenario = scenario
        self.faults = faults
        self.rng = rng
        self.steps: list[Step] = []
        self.onsets: list[Onset] = []
        self.free_from_m: list[tuple[float, float | None]] = []

    @property
    def gait(self) -> GaitName:
        """The present gait."""
        return self.steps[-1].gait

    def stride_m(self, gait: GaitName) -> float:
        """Ordinary stride length of a gait, metres."""
        return own_speed_ms(self.scenario, gait) / own_rate_hz(self.scenario, gait)

    def take(self, asked: Asked, end_m: float) -> None:
        """Ride one change."""
        if not self.steps:
            self.steps.append(Step(s_m=0.0, gait=asked.to_gait, lead=asked.lead))
            return
        free = asked.change is not None and asked.change.free
        self._end_free(asked.wanted_m)
        via = asked.change.via if asked.change is not None else None
        if asked.to_gait == self.gait and (via is None or via == self.gait):
            if free:
                self.free_from_m.append((asked.wanted_m, None))
            return
        onset_m = float(np.clip(self._onset_m(asked), self._least_m(), end_m - 1.0))
        if asked.to_gait == "halt":
            onset_m = round(onset_m / GRID_M) * GRID_M
        if asked.to_gait == self.gait and via is not None:
            self._through(asked, onset_m, via)
        else:
            self._change(asked, onset_m, via)
        if free:
            self.free_from_m.append((onset_m, None))

    def paces(self, end_m: float) -> tuple[Pace, ...]:
        """Free walk covers more ground at the same rate."""
        self._end_free(end_m)
        return tuple(
            Pace(start_m=start_m, end_m=stop_m or end_m, speed_factor=FREE_WALK_SPEED)
            for start_m, stop_m in self.free_from_m
        )

    def _end_free(self, at_m: float) -> None:
        if self.free_from_m and self.free_from_m[-1][1] is None:
            self.free_from_m[-1] = (self.free_from_m[-1][0], at_m)

    def _least_m(self) -> float:
        """A gait is kept for a few metres at least; from a halt one moves off on the spot."""
        last = self.steps[-1]
        return last.s_m if last.gait == "halt" else last.s_m + LEAST_BOUT_M

    def _onset_m(self, asked: Asked) -> float:
        if self.gait == "halt":
            return self.steps[-1].s_m
        if asked.window_m is None:
            return asked.wanted_m
        low, high = asked.window_m
        sd_m = HALT_PLACE_SD_M if asked.to_gait == "halt" else self.scenario.placement_sd_m
        error_m = sd_m * self.scenario.imperfection * self.rng.standard_normal()
        late_m = self._late_m(asked)
        if asked.change is not None and asked.change.where in {"between", "part"}:
            if late_m:
                return (high if late_m > 0 else low) + 0.3 * error_m + late_m
            error_m = 0.3 * error_m + self.rng.uniform(0.2, 0.8) * (high - low)
        return low + error_m + late_m

    def _late_m(self, asked: Asked) -> float:
        late = [
            fault
            for fault in of_kind(self.faults, "late")
            if fault.movement == asked.movement and fault.change == asked.number
        ]
        metres = sum(fault.amount for fault in late if fault.unit == "m")
        strides = sum(fault.amount for fault in late if fault.unit == "strides")
        gait = self.gait if asked.to_gait == "halt" else asked.to_gait
        return metres + strides * self.stride_m(gait)

    def _strides_between(self, asked: Asked, via: GaitName | None) -> tuple[GaitName, float] | None:
        if via is not None:
            low, high = (asked.change.via_steps if asked.change else None) or (6, 10)
            return via, int(self.rng.integers(low, high + 1)) / 2.0
        between = BETWEEN.get((self.gait, asked.to_gait))
        if between is None:
            return None
        count = int(self.rng.choice(len(between[1]), p=between[1]))
        return (between[0], count) if count else None

    def _row(self, asked: Asked, to_gait: GaitName, s_m: float, between_m: float | None) -> Onset:
        return Onset(
            from_gait=self.gait,
            to_gait=to_gait,
            s_m=s_m,
            moving_off=self.gait == "halt" and between_m is None,
            between_m=between_m,
            movement=asked.movement,
            change=asked.number,
            run=asked.run,
            window_m=asked.window_m,
        )

    def _through(self, asked: Asked, onset_m: float, via: GaitName) -> None:
        """Some strides of another gait, and on in the old one: two transitions."""
        lead = asked.lead
        between = self._strides_between(asked, via)
        length_m = (between[1] if between else 1) * self.stride_m(via)
        self.onsets.append(self._row(asked, via, onset_m, None))
        self.steps.append(Step(s_m=onset_m, gait=via))
        back = replace(asked, window_m=None)
        self.onsets.append(self._row(back, asked.to_gait, onset_m + length_m, None))
        self.steps.append(Step(s_m=onset_m + length_m, gait=asked.to_gait, lead=lead))

    def _change(self, asked: Asked, onset_m: float, via: GaitName | None) -> None:
        """One change, with strides of neither gait before it where they happen."""
        between = self._strides_between(asked, via)
        between_m: float | None = None
        if between is not None:
            gait, count = between
            length_m = self._between_length_m(gait, count, asked.to_gait)
            if self.gait == "halt":
                between_m, onset_m = onset_m, onset_m + length_m
            elif onset_m - length_m > self._least_m():
                between_m = onset_m - length_m
        self.onsets.append(self._row(asked, asked.to_gait, onset_m, between_m))
        if between is not None and between_m is not None:
            self.steps.append(Step(s_m=between_m, gait=between[0], after_halt=self.gait == "halt"))
        stand_s = 0.0
        if asked.to_gait == "halt":
            asked_s = asked.change.halt_s if asked.change is not None else None
            stand_s = (asked_s or 4.0) + float(self.rng.uniform(-0.8, 1.2))
        self.steps.append(
            Step(
                s_m=onset_m,
                gait=asked.to_gait,
                lead=asked.lead,
                stand_s=stand_s,
                after_halt=self.gait == "halt",
            )
        )

    def _between_length_m(self, gait: GaitName, count: float, to_gait: GaitName) -> float:
        """Ground covered by the strides between; the last ones before a halt are slower."""
        length_m = count * self.stride_m(gait)
        if to_gait != "halt":
            return length_m
        duration_s = count / own_rate_hz(self.scenario, gait)
        speed_ms, brake_ms2 = own_speed_ms(self.scenario, gait), STOP_MS2
        braking_s = speed_ms / brake_ms2
        if duration_s < braking_s:
            return 0.5 * brake_ms2 * duration_s**2
        return speed_ms * (duration_s - braking_s / 2.0)
