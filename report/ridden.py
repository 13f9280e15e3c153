"""A ride with everything its findings are read from."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from gait.bouts import Gait, Gaits, Stride
from report.bands import Bands
from report.doubts import with_doubt
from report.measured import About, Measured, finding, not_made, rating_of
from report.result import Finding
from report.settle import Means, because_of, ways_to_settle
from report.verdict import Band
from report.words import Names
from report.words_findings import WORDINGS
from track.layout import Change, Layout, Stretch
from track.motion import Motion
from track.path import Estimate, Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Ridden:
    """A ride laid onto the arena, with what the measures lean on.

    Attributes
    ----------
    path : Path or None
        In the arena's frame; None when no school was found.
    local : Path or None
        The path in whatever frame it has.
    motion : Motion or None
        On the path's clock.
    clock_sd_s : float, s
        Doubt of the motion clock against the positions' clock.
    lag_s : Estimate or None, s
        Time constant of the receiver's smoothing, which was taken out of the path.
    track_offset_m, track_offset_sd_m : float, m
        Boards to the rider's body along the track.
    """

    path: Path | None
    gaits: Gaits
    bands: Bands
    names: Names
    means: Means
    local: Path | None = None
    motion: Motion | None = None
    clock_sd_s: float = 0.0
    lag_s: Estimate | None = None
    track_offset_m: float = 0.0
    track_offset_sd_m: float = 0.0

    @property
    def stride_sd_s(self) -> float:
        """Doubt of one stride instant, seconds; that of 50 Hz samples where it is not known."""
        known = self.gaits.stride_sd_s
        return known if np.isfinite(known) else 0.01

    def judged(
        self,
        measure: str,
        about: About,
        estimate: Estimate,
        band: Band,
        *,
        chance: float | None = None,
        asked: float | None = None,
        shift: float = 0.0,
        stride_m: float | None = None,
        detail: str = "",
    ) -> Finding:
        """Rate an estimate and put it into words."""
        known = with_doubt(measure, estimate, gyro=self.means.gyro)
        likely, verdict = rating_of(known, band, chance)
        measured = Measured(
            measure=measure,
            unit=self.bands.unit(measure),
            about=about,
            value=known.value,
            sd=known.sd,
            band=band,
            chance=likely,
            verdict=verdict,
            asked=asked,
            shift=shift,
            stride_m=stride_m,
            detail=detail,
        )
        return self.worded(measured)

    def worded(self, measured: Measured) -> Finding:
        """Put a rated measure into words."""
        said = WORDINGS[measured.measure](measured)
        ways = ways_to_settle(measured, self.means)
        return finding(measured, said, because_of(measured, ways), ways)

    def missing(
        self, measure: str, about: About, because: str, band: Band | None = None
    ) -> Finding:
        """Write down a finding that could not be made."""
        return not_made(measure, self.bands.unit(measure), about, band or Band(), because)

    def strides_in(self, gait: Gait, start_s: float, end_s: float) -> tuple[Stride, ...]:
        """Whole strides of a gait inside ``[start_s, end_s)``."""
        return tuple(
            stride
            for stride in self.gaits.strides
            if stride.gait == gait
            and stride.t_s >= start_s
            and stride.t_s + stride.duration_s <= end_s
        )

    def stride_m(self, gait: Gait, around_s: float) -> float | None:
        """Mean stride length of a gait near a time, metres; None where it is not known."""
        near = self.strides_in(gait, around_s - 8.0, around_s + 8.0)
        if self.path is None or not near:
            return None
        middle = np.array([stride.t_s + stride.duration_s / 2 for stride in near])
        durations = np.array([stride.duration_s for stride in near])
        speeds = np.interp(middle, self.path.t_s, self.path.speed_ms)
        return float(np.mean(speeds * durations)) or None

    def main_gait(self, start_s: float, end_s: float) -> Gait:
        """Gait that fills most of an interval."""
        seconds: dict[Gait, float] = {}
        for bout in self.gaits.bouts:
            shared = min(bout.end_s, end_s) - max(bout.start_s, start_s)
            if shared > 0:
                seconds[bout.gait] = seconds.get(bout.gait, 0.0) + shared
        return max(seconds, key=lambda gait: seconds[gait]) if seconds else "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """One term of a movement's ride, as it was ridden.

    Attributes
    ----------
    movement, run : int
    of : str or None
        ``"ride:2"``; None for a stretch the sheet left out.
    stretch : Stretch
    start_s, end_s : float, s
    """

    movement: int
    run: int
    of: str | None
    stretch: Stretch
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One change of gait the sheet asks for, with when it is expected in the ride.

    Attributes
    ----------
    movement, run : int
    of : str
        ``"change:1"``.
    change : Change
    start_s, end_s : float, s
        When the ride passes the two ends of its window.
    """

    movement: int
    run: int
    of: str
    change: Change
    start_s: float
    end_s: float


TimeAt = Callable[[int, float], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class RiddenSheet:
    """A sheet laid out and found in the ride.

    Attributes
    ----------
    layout : Layout
    terms : sequence of Term
        In riding order; a movement that was not found has none.
    asked : sequence of Asked
        In riding order.
    time_at : callable
        From run and metres along the sheet's line to the time it was ridden, s; NaN where not.
    astray_s : sequence of (float, float), s
        When the ride had left the test.
    """

    layout: Layout
    terms: Sequence[Term]
    asked: Sequence[Asked]
    time_at: TimeAt
    astray_s: Sequence[tuple[float, float]] = ()

    def terms_of(self, number: int, run: int) -> list[Term]:
        """Terms of one movement, the filled-in ones included."""
        return [t for t in self.terms if (t.movement, t.run) == (number, run)]
