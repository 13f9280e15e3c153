"""Paths and gaits made up for the tests of findings: known lines, known doubt."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from gait.bouts import Bout, Gait, Gaits, Stride, Transition
from report.bands import bands_of
from report.ridden import Ridden
from report.settle import Means
from report.words import Names
from track.layout import Layout
from track.path import Floats, Ints, Path
from track.sheet import Level


@dataclass(frozen=True, slots=True, kw_only=True)
class MadePosterior:
    """A slow drift common to all points, and independent doubt of each."""

    t_s: Floats
    drift_m: float
    own_m: float
    memory_s: float = 60.0

    def covariance(self, epochs: Ints) -> Floats:
        t_s = self.t_s[epochs]
        apart = np.abs(t_s[:, None] - t_s[None, :])
        block = self.drift_m**2 * np.exp(-((apart / self.memory_s) ** 2))
        block = block + self.own_m**2 * np.eye(t_s.size)
        return np.asarray(np.kron(block, np.eye(2)), dtype=np.float64)


def path_through(
    x_m: Floats, y_m: Floats, t_s: Floats, *, drift_m: float = 0.5, own_m: float = 0.05
) -> Path:
    """A path through given points at given times."""
    speed = np.hypot(np.gradient(x_m, t_s), np.gradient(y_m, t_s))
    heading = np.unwrap(np.arctan2(np.gradient(y_m, t_s), np.gradient(x_m, t_s)))
    sd = np.full(t_s.size, np.hypot(drift_m, own_m))
    return Path(
        t_s=t_s,
        x_m=x_m,
        y_m=y_m,
        sd_x_m=sd,
        sd_y_m=sd,
        speed_ms=speed,
        speed_sd_ms=np.full(t_s.size, 0.05),
        heading_rad=heading,
        heading_sd_rad=np.full(t_s.size, 0.02),
        turn_rads=np.gradient(heading, t_s),
        posterior=MadePosterior(t_s=t_s, drift_m=drift_m, own_m=own_m),
        frame="arena",
    )


def ride_of(layout: Layout, speed_ms: float, *, drift_m: float = 0.5, own_m: float = 0.05) -> Path:
    """The whole test ridden exactly on its line at one speed."""
    t_s = np.arange(0.0, layout.length_m / speed_ms, 0.5)
    x_m = np.interp(t_s * speed_ms, layout.s_m, layout.x_m)
    y_m = np.interp(t_s * speed_ms, layout.s_m, layout.y_m)
    return path_through(x_m, y_m, t_s, drift_m=drift_m, own_m=own_m)


def gaits_of(
    spans: list[tuple[Gait, float, float]], stride_s: dict[str, float], t_sd_s: float = 0.2
) -> Gaits:
    """Bouts one after the other with even strides."""
    bouts = tuple(
        Bout(gait=gait, start_s=start, end_s=end, confidence=1.0, because="made up")
        for gait, start, end in spans
    )
    strides = tuple(
        Stride(t_s=float(t_s), duration_s=stride_s[bout.gait], gait=bout.gait)
        for bout in bouts
        if bout.gait in stride_s
        for t_s in np.arange(bout.start_s, bout.end_s - stride_s[bout.gait], stride_s[bout.gait])
    )
    transitions = tuple(
        Transition(
            from_gait=before.gait,
            to_gait=after.gait,
            t_s=after.start_s,
            t_sd_s=t_sd_s,
            between_strides=0.0,
        )
        for before, after in pairwise(bouts)
    )
    return Gaits(
        bouts=bouts, strides=strides, stride_sd_s=0.008, transitions=transitions, events=()
    )


def ridden_of(path: Path | None, gaits: Gaits, level: Level = "walk and trot") -> Ridden:
    """A ride ready for its findings, with everything recorded."""
    return Ridden(
        path=path,
        gaits=gaits,
        bands=bands_of(level),
        names=Names(size="20x40", known=True),
        means=Means(gyro=True, speed=True, course=True, boards=True),
        clock_sd_s=0.05,
        track_offset_m=0.8,
    )
