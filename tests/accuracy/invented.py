"""Invented rides on a 20x40 arena for the accuracy run: laps, figures, halts, and their truth.

Invented data: the line is geometry with a rider's imperfections; the noise is that of the two
columns of the accuracy table. Nothing here shares code with the stage under test.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d
from scipy.signal import lfilter

from ingest.recording import Recording
from track.motion import Motion

Floats = NDArray[np.float64]

OFFSET_M = 0.8
HALF_WIDTH_M, HALF_LENGTH_M = 10.0 - OFFSET_M, 20.0 - OFFSET_M
STEP_M = 0.05
SPEED_MS = {"halt": 0.0, "walk": 1.65, "trot": 3.4, "canter": 3.8}
RATE_HZ = 50.0


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A stretch whose truth is known: times, and what it is."""

    kind: str
    start_s: float
    end_s: float
    rein: str = ""


@dataclass(kw_only=True)
class Line:
    """A line being laid: points every :data:`STEP_M`, speed asked for, and named stretches."""

    x: list[float] = field(default_factory=list)
    y: list[float] = field(default_factory=list)
    speed: list[float] = field(default_factory=list)
    heading: float = np.pi / 2
    here: tuple[float, float] = (HALF_WIDTH_M, 0.0)
    gait: str = "walk"
    spans: list[tuple[str, int, int, str]] = field(default_factory=list)
    halts: list[tuple[int, float]] = field(default_factory=list)
    changes: list[int] = field(default_factory=list)
    gaits: list[str] = field(default_factory=list)

    def straight(self, length_m: float) -> None:
        n = max(round(length_m / STEP_M), 1)
        along = np.arange(1, n + 1) * (length_m / n)
        self._put(
            self.here[0] + along * np.cos(self.heading), self.here[1] + along * np.sin(self.heading)
        )

    def arc(self, radius_m: float, angle_deg: float) -> None:
        angle = np.radians(angle_deg)
        n = max(round(radius_m * abs(angle) / STEP_M), 1)
        side = np.sign(angle)
        cx = self.here[0] - side * radius_m * np.sin(self.heading)
        cy = self.here[1] + side * radius_m * np.cos(self.heading)
        turned = self.heading + np.arange(1, n + 1) * angle / n
        self._put(cx + side * radius_m * np.sin(turned), cy - side * radius_m * np.cos(turned))
        self.heading += angle

    def oval(self, radius_m: float, side: int, waves: list[tuple[int, float, float]]) -> None:
        """A circle whose radius waves; it starts and ends on the plain circle's line."""
        n = round(2 * np.pi * radius_m / STEP_M)
        phi = np.arange(1, n + 1) * 2 * np.pi / n
        fade = np.minimum(1.0, np.minimum(phi, 2 * np.pi - phi) / 0.35)
        fade = fade * fade * (3 - 2 * fade)
        radius = radius_m + fade * sum(a * np.cos(k * phi - p) for k, a, p in waves)
        cx = self.here[0] - side * radius_m * np.sin(self.heading)
        cy = self.here[1] + side * radius_m * np.cos(self.heading)
        turned = self.heading + side * phi
        self._put(cx + side * radius * np.sin(turned), cy - side * radius * np.cos(turned))
        self.heading += side * 2 * np.pi

    def _put(self, x: Floats, y: Floats) -> None:
        self.x += x.tolist()
        self.y += y.tolist()
        self.speed += [SPEED_MS[self.gait]] * len(x)
        self.here = (float(x[-1]), float(y[-1]))

    def halt(self, seconds: float) -> None:
        self.halts.append((len(self.x) - 1, seconds))

    def change(self, gait: str) -> None:
        self.gait = gait
        self.changes.append(len(self.x))
        self.gaits.append(gait)


def lap(line: Line, side: int, corner_m: float) -> None:
    """Once round from the middle of a long side."""
    line.straight(HALF_LENGTH_M - corner_m)
    for half in (HALF_WIDTH_M, HALF_LENGTH_M, HALF_WIDTH_M):
        line.arc(corner_m, side * 90)
        line.straight(2 * (half - corner_m))
    line.arc(corner_m, side * 90)
    line.straight(HALF_LENGTH_M - corner_m)


def half_circles(line: Line, side: int) -> None:
    """From B to X to E (or back): two half circles of 10 m, a change of rein."""
    for turn in (side, -side):
        start = len(line.x)
        line.arc(HALF_WIDTH_M / 2, turn * 180)
        line.spans.append(("half circle", start, len(line.x), "left" if turn > 0 else "right"))


def circle(line: Line, side: int, rng: np.random.Generator) -> None:
    waves = [(k, float(rng.normal(0, 0.25)), float(rng.uniform(0, 6.28))) for k in (2, 3)]
    start = len(line.x)
    line.oval(HALF_WIDTH_M + float(rng.normal(0, 0.2)), side, waves)
    line.spans.append(("circle", start, len(line.x), "left" if side > 0 else "right"))


def across_with_halt(line: Line, side: int, seconds: float) -> None:
    """Turn across the middle, halt at X, go on and turn onto the other rein's track."""
    line.straight(HALF_LENGTH_M - 3)
    for half in (HALF_WIDTH_M, HALF_LENGTH_M, HALF_WIDTH_M):
        line.arc(3, side * 90)
        line.straight(2 * (half - 3))
    line.arc(3, side * 90)
    line.straight(HALF_LENGTH_M - 6)
    line.arc(3, side * 90)
    line.straight(HALF_WIDTH_M - 3)
    line.halt(seconds)
    line.straight(HALF_WIDTH_M - 3)
    line.arc(3, -side * 90)
    line.straight(HALF_LENGTH_M - 6)
    for half in (HALF_WIDTH_M, HALF_LENGTH_M, HALF_WIDTH_M):
        line.arc(3, -side * 90)
        line.straight(2 * (half - 3))
    line.arc(3, -side * 90)
    line.straight(HALF_LENGTH_M - 3)


@dataclass(frozen=True, kw_only=True)
class Ride:
    """The truth, 50 times a second, in arena metres."""

    t_s: Floats
    x_m: Floats
    y_m: Floats
    heading_rad: Floats
    speed_ms: Floats
    figures: tuple[Figure, ...]
    halts: tuple[tuple[float, float], ...]
    changes_s: tuple[float, ...]
    gaits: tuple[str, ...] = ()
    """The gait that each change leads to; the ride begins in walk."""


def ride(gait: str, rng: np.random.Generator) -> Ride:
    """About six minutes: laps, circles and half circles on both reins, transitions, a halt."""
    other = {"walk": "trot", "trot": "walk", "canter": "trot"}[gait]
    line = Line(gait="walk")
    line.x, line.y, line.speed = [HALF_WIDTH_M], [0.0], [SPEED_MS["walk"]]
    lap(line, 1, 3.0)
    line.change(gait)
    for side in (1, -1):
        lap(line, side, 3.5)
        circle(line, side, rng)
        line.straight(10)
        line.change(other)
        line.straight(HALF_LENGTH_M - 13.5)
        for half in (HALF_WIDTH_M, HALF_LENGTH_M, HALF_WIDTH_M):
            line.arc(3.5, side * 90)
            if half == HALF_LENGTH_M:
                line.straight(HALF_LENGTH_M - 3.5)
                line.change(gait)
                line.straight(HALF_LENGTH_M - 3.5)
            else:
                line.straight(2 * (half - 3.5))
        line.arc(3.5, side * 90)
        line.straight(HALF_LENGTH_M - 3.5)
        circle(line, side, rng)
        half_circles(line, side)
    across_with_halt(line, 1, 6.0)
    return timed(line, rng)


def timed(line: Line, rng: np.random.Generator) -> Ride:
    """A laid line ridden in time, with a rider's straying and a horse's change of speed."""
    smooth = 0.7 / STEP_M
    x = gaussian_filter1d(np.array(line.x), smooth, mode="nearest")
    y = gaussian_filter1d(np.array(line.y), smooth, mode="nearest")
    # The rider strays from the ideal line: 0.25 m, over some seconds.
    n = len(x)
    stray = gaussian_filter1d(rng.normal(size=n), 5.0 / STEP_M)
    stray *= 0.25 / stray.std()
    dx, dy = np.gradient(x), np.gradient(y)
    length = np.hypot(dx, dy)
    x, y = x - stray * dy / length, y + stray * dx / length
    s = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    speed = np.array(line.speed)
    tempo = gaussian_filter1d(rng.normal(size=n), 15 / STEP_M)
    speed = speed * (1 + 0.04 * tempo / tempo.std())
    for place, _ in line.halts:
        speed = np.minimum(speed, np.sqrt(2 * 0.8 * np.abs(s - s[place])) + 0.05)
    speed = gaussian_filter1d(speed, 0.8 / STEP_M)
    for place, _ in line.halts:
        speed = np.minimum(speed, np.sqrt(2 * 0.8 * np.abs(s - s[place])) + 0.05)
    clock = np.concatenate([[0.0], np.cumsum(np.diff(s) / ((speed[1:] + speed[:-1]) / 2))])
    halts = []
    for place, seconds in line.halts:
        halts.append((float(clock[place]), float(clock[place] + seconds)))
        clock[place + 1 :] += seconds
    t = np.arange(0.0, clock[-1], 1 / RATE_HZ)
    along = np.interp(t, clock, s)
    xt, yt = np.interp(along, s, x), np.interp(along, s, y)
    psi_s = np.unwrap(np.arctan2(np.gradient(y), np.gradient(x)))
    psi = np.interp(along, s, psi_s)
    figures = tuple(
        Figure(kind=kind, start_s=float(clock[a]), end_s=float(clock[min(b, n - 1)]), rein=rein)
        for kind, a, b, rein in line.spans
    )
    return Ride(
        t_s=t,
        x_m=xt,
        y_m=yt,
        heading_rad=psi,
        speed_ms=np.gradient(along, 1 / RATE_HZ),
        figures=figures,
        halts=tuple(halts),
        changes_s=tuple(float(clock[i]) for i in line.changes),
        gaits=tuple(line.gaits),
    )


@dataclass(frozen=True, kw_only=True)
class Faults:
    """Noise and faults of the instruments.

    With ``pocket`` the motion is not invented here but that of the simulator's phone, carried in a
    pocket along this ride: it swings, and may slip (:mod:`tests.accuracy.pocket`).
    """

    drift_m: float = 2.0
    drift_s: float = 60.0
    fix_m: float = 0.5
    speed_ms: float | None = 0.2
    course: bool = False
    gyro: bool = True
    turn_rads: float = 0.013
    turn_bias_rads: float = 0.002
    turn_scale: float = 0.0
    lag_s: float = 0.0
    offset_s: float = 0.0
    speed_scale: float = 0.0
    wild_percent: float = 0.0
    frozen: bool = False
    fix_every_s: float = 1.0
    pocket: bool = False
    swing: float = 1.0
    slips: bool = False


PLAIN = Faults()
"""The noise of the table: 2 m slow error over 60 s, 0.5 m white, speed 0.2 m/s, gyroscope."""
PHONE = Faults(drift_m=1.2, fix_m=0.08, speed_ms=None, lag_s=0.5, offset_s=0.4)
"""The noise measured on phones: no speed, first-order smoothing, clocks that differ."""


@dataclass(frozen=True, kw_only=True)
class Pose:
    """Where the arena lies on the earth."""

    lat_deg: float = 52.0
    lon_deg: float = 5.0
    bearing_deg: float = 30.0


def slow_error(
    n: int, every_s: float, sd: float, over_s: float, rng: np.random.Generator
) -> Floats:
    """First-order Gauss-Markov noise, stationary from the start, two columns."""
    kept = np.exp(-every_s / over_s)
    drive = rng.normal(size=(n, 2)) * sd * np.sqrt(1 - kept**2)
    drive[0] = rng.normal(size=2) * sd
    return np.asarray(lfilter([1.0], [1.0, -kept], drive, axis=0))


def recorded(
    truth: Ride, faults: Faults, rng: np.random.Generator, pose: Pose = Pose()
) -> tuple[Recording, Motion | None]:
    """What the phone would have written, and its motion after the attitude has been taken out."""
    place = np.stack([truth.x_m, truth.y_m], axis=1)
    if faults.lag_s:
        kept = np.exp(-1 / RATE_HZ / faults.lag_s)
        start = place[:1] * kept
        place = lfilter([1 - kept], [1, -kept], place, axis=0, zi=start)[0]
    velocity = np.gradient(place, 1 / RATE_HZ, axis=0)
    t = np.arange(0.0, truth.t_s[-1], faults.fix_every_s)
    at = np.round(t * RATE_HZ).astype(int)
    n = len(t)
    fix = place[at] + slow_error(n, faults.fix_every_s, faults.drift_m, faults.drift_s, rng)
    fix += rng.normal(size=(n, 2)) * faults.fix_m
    wild = rng.random(n) < faults.wild_percent / 100
    fix[wild] += rng.normal(size=(int(wild.sum()), 2)) * 12
    if faults.frozen:
        for start, end in truth.halts:
            inside = np.flatnonzero((t >= start + 1) & (t < end))
            fix[inside] = fix[inside[0]]
            after = t >= end
            fix[after] += rng.normal(size=2) * 1.0
    bearing = np.radians(pose.bearing_deg)
    # x to the right facing C: east and north of the arena's axes.
    east = fix[:, 0] * np.cos(bearing) + fix[:, 1] * np.sin(bearing)
    north = -fix[:, 0] * np.sin(bearing) + fix[:, 1] * np.cos(bearing)
    north_m_deg, east_m_deg = _metres_per_degree(pose.lat_deg)
    v = velocity[at] + rng.normal(size=(n, 2)) * (faults.speed_ms or 0.0)
    heading = np.arctan2(v[:, 1], v[:, 0])
    speed = (1 + faults.speed_scale) * np.hypot(*velocity[at].T)
    speed = np.maximum(speed + rng.normal(size=n) * (faults.speed_ms or 0.0), 0.0)
    blank = np.full(n, np.nan)
    fixes = pd.DataFrame(
        {
            "t_s": t,
            "lat_deg": pose.lat_deg + north / north_m_deg,
            "lon_deg": pose.lon_deg + east / east_m_deg,
            "accuracy_m": np.full(n, 4.0),
            "speed_ms": speed if faults.speed_ms is not None else blank,
            "course_deg": (90 - np.degrees(heading) + pose.bearing_deg) % 360
            if faults.course
            else blank,
            "segment": np.zeros(n, dtype=int),
        }
    )
    motion = motion_of(truth, faults, rng)
    return Recording(fixes=fixes, clocks_shared=True, sources=("invented",)), motion


def _metres_per_degree(lat_deg: float) -> tuple[float, float]:
    """Series of the US National Geospatial-Intelligence Agency for a degree's length [recalled]."""
    lat = np.radians(lat_deg)
    north = 111132.954 - 559.822 * np.cos(2 * lat) + 1.175 * np.cos(4 * lat)
    east = 111412.84 * np.cos(lat) - 93.5 * np.cos(3 * lat) + 0.118 * np.cos(5 * lat)
    return float(north), float(east)


def motion_of(truth: Ride, faults: Faults, rng: np.random.Generator) -> Motion | None:
    """Motion after the attitude has been taken out, on its own clock."""
    if not faults.gyro:
        return None
    if faults.pocket:
        from tests.accuracy.pocket import carried

        return carried(truth, faults, rng)
    return _motion(truth, faults, rng)


def _motion(truth: Ride, faults: Faults, rng: np.random.Generator) -> Motion:
    n = len(truth.t_s)
    turn = gaussian_filter1d(np.gradient(truth.heading_rad, 1 / RATE_HZ), 0.25 * RATE_HZ)
    # White noise of so much in the mean over half a second.
    white = rng.normal(size=n) * faults.turn_rads * np.sqrt(0.5 * RATE_HZ)
    white = gaussian_filter1d(white, 0.1 * RATE_HZ)
    turn = (1 + faults.turn_scale) * turn + rng.normal() * faults.turn_bias_rads + white
    still = np.zeros(n, dtype=bool)
    for start, end in truth.halts:
        still |= (truth.t_s >= start + 0.3) & (truth.t_s < end - 0.3)
    nought = np.zeros(n)
    return Motion(
        t_s=truth.t_s + faults.offset_s,
        rate_hz=RATE_HZ,
        up_ms2=nought,
        level_a_ms2=nought,
        level_b_ms2=nought,
        turn_rads=turn,
        turn_sd_rads=faults.turn_rads,
        still=still,
        beat_hz=np.full(n, np.nan),
        beat_regularity=nought,
        valid=np.ones(n, dtype=bool),
        moved_s=(),
        has_gyro=True,
        stride_s=np.full(n, 0.8),
        activity_ms2=0.3 + 0.8 * truth.speed_ms + rng.normal(size=n) * 0.1,
    )
