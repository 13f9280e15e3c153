"""Invented rides that never were in a school, and walks round the boards of one.

Positions only, with the errors measured on phones: a constant offset, a slow wander, little
jitter. Nothing here shares code with the stage under test.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d
from scipy.signal import lfilter

from ingest.recording import Recording

Floats = NDArray[np.float64]

STEP_M: Final = 0.1
KINDS: Final = (
    "straight",
    "there and back",
    "lanes",
    "winding",
    "field loop",
    "small pen",
    "mown rows",
    "circles",
    "still",
)


def line_through(
    corners: list[tuple[float, float]], speed_ms: float, rng: np.random.Generator, round_m: float
) -> tuple[Floats, Floats]:
    """Once a second along straight lines with rounded corners, straying by some decimetres."""
    places = np.array(corners, dtype=np.float64)
    s = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(places, axis=0).T))])
    at = np.arange(0.0, s[-1], STEP_M)
    xy = []
    for axis in (0, 1):
        line = gaussian_filter1d(
            np.interp(at, s, places[:, axis]), 0.6 * round_m / STEP_M, mode="nearest"
        )
        stray = gaussian_filter1d(rng.normal(size=len(at)), 5.0 / STEP_M)
        xy.append(line + stray * (0.3 / stray.std()))
    gone = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(xy[0]), np.diff(xy[1])))])
    t_s = np.arange(0.0, gone[-1] / speed_ms)
    return np.interp(t_s * speed_ms, gone, xy[0]), np.interp(t_s * speed_ms, gone, xy[1])


def drift(n: int, rng: np.random.Generator, wander_m: float, lasts_s: float = 60.0) -> Floats:
    """A receiver's error along one axis, once a second: offset, wander and jitter, m."""
    kept = np.exp(-1.0 / lasts_s)
    start = [kept * rng.normal(0, wander_m)]
    steps = rng.normal(0, wander_m * np.sqrt(1 - kept**2), n)
    slow = lfilter([1.0], [1.0, -kept], steps, zi=start)[0]
    error: Floats = slow + rng.normal(0, 1.0) + rng.normal(0, 0.08, n)
    return error


def fixes_of(
    x_m: Floats,
    y_m: Floats,
    rng: np.random.Generator,
    *,
    wander_m: float = 1.0,
    bearing_deg: float | None = None,
) -> Recording:
    """Positions once a second of a line in metres, C on a bearing, X at 52 N 5 E."""
    turn = np.radians(rng.uniform(0, 360) if bearing_deg is None else bearing_deg)
    x, y = x_m + drift(len(x_m), rng, wander_m), y_m + drift(len(y_m), rng, wander_m)
    blank = np.full(len(x), np.nan)
    table = pd.DataFrame(
        {
            "t_s": np.arange(len(x), dtype=np.float64),
            "lat_deg": 52.0 + (y * np.cos(turn) - x * np.sin(turn)) / 111267.353,
            "lon_deg": 5.0 + (x * np.cos(turn) + y * np.sin(turn)) / 68678.016,
            "accuracy_m": blank,
            "speed_ms": blank,
            "course_deg": blank,
            "segment": np.zeros(len(x), dtype=np.int64),
        }
    )
    return Recording(fixes=table)


def never_in_school(kind: str, seed: int) -> Recording:
    """A ride of one of :data:`KINDS`."""
    rng = np.random.default_rng([seed, KINDS.index(kind)])
    speed_ms = float(rng.choice([1.6, 3.3]))
    if kind == "still":
        x, y = (np.cumsum(rng.normal(0, 0.05, 600)) for _ in "xy")
        return fixes_of(x, y, rng, wander_m=2.0)
    if kind == "circles":
        radius_m = rng.uniform(6.0, 12.0)
        angle = np.arange(600) * speed_ms / radius_m
        return fixes_of(radius_m * np.cos(angle), radius_m * np.sin(angle), rng)
    corners, round_m = _corners(kind, rng), 8.0 if kind == "winding" else 3.0
    return fixes_of(*line_through(corners, speed_ms, rng, round_m), rng)


def _corners(kind: str, rng: np.random.Generator) -> list[tuple[float, float]]:
    if kind == "straight":
        return [(0, 0), (rng.uniform(300, 1500), 0)]
    if kind == "there and back":
        far = rng.uniform(150, 500)
        return [(0, 0), (far, 0), (far, 0.5), (0, 0.5)]
    if kind == "mown rows":
        far = rng.uniform(40, 120)
        return [(6.0 * (k // 2), far * ((k + 1) // 2 % 2)) for k in range(24)]
    if kind in ("lanes", "winding"):
        return _walked(kind, rng)
    if kind == "small pen":
        wide, long, laps = rng.uniform(8, 14), rng.uniform(15, 30), 10
    else:
        wide, long, laps = rng.uniform(26, 80), rng.uniform(70, 200), int(rng.integers(1, 6))
    return [(0, 0), (wide, 0), (wide, long), (0, long)] * laps + [(0, 0)]


def _walked(kind: str, rng: np.random.Generator) -> list[tuple[float, float]]:
    """Corners of lanes with right-angled turns, or of a winding way."""
    at, way, out = (0.0, 0.0), 0.0, [(0.0, 0.0)]
    for _ in range(int(rng.integers(8, 20)) if kind == "lanes" else 40):
        length = rng.uniform(*([(15, 60), (60, 300)][int(rng.integers(2))]))
        if kind == "winding":
            length = rng.uniform(10, 60)
        at = (at[0] + length * np.cos(way), at[1] + length * np.sin(way))
        out.append(at)
        way += rng.normal(0, 0.7) if kind == "winding" else rng.choice([-1, 1]) * np.pi / 2
    return out
