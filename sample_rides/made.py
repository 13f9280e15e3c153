"""Everything a ride was made of, for those who tell the truth about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from sample_rides.course import Slice
from sample_rides.course_errors import Sliced
from sample_rides.faults import Fault
from sample_rides.motion_log import MotionLog
from sample_rides.phone import PhoneMotion
from sample_rides.plan import Plan
from sample_rides.receiver import FixLog
from sample_rides.ridden import RiddenLine
from sample_rides.scenario import Scenario
from sample_rides.schedule import Timeline
from sample_rides.strides import StridedSpan
from sample_rides.trunk import TrunkMotion
from track.arena import LETTERS
from track.layout import Layout

SAME_PLACE_M: Final = 0.6
NEAR_LETTER_M: Final = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ride:
    """Everything a ride was made of."""

    layout: Layout
    scenario: Scenario
    faults: tuple[Fault, ...]
    seed: int
    sliced: Sliced
    line: RiddenLine
    plan: Plan
    timeline: Timeline
    strides: tuple[StridedSpan, ...]
    trunk: TrunkMotion
    phone: PhoneMotion
    motion: MotionLog
    fixes: FixLog

    @property
    def zero_s(self) -> float:
        """Simulation time of ``t_s = 0``: the first fix shows what was a delay before it."""
        return float(self.fixes.t_s[0]) - self.scenario.receiver_delay_s

    def passing_m(self, piece: Slice, layout_m: float) -> float:
        """Ridden distance of a place on the layout; a letter counts at its nearest approach."""
        about_m = self.line.along(piece.course_m(layout_m))
        for passage in self.layout.passages:
            if abs(passage.s_m - layout_m) < SAME_PLACE_M:
                place = LETTERS[self.layout.sheet.arena].get(passage.letter)
                if place is not None:
                    return self.line.nearest(place, about_m, NEAR_LETTER_M)
        return about_m
