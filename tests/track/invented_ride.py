"""Invented paths made from a layout itself, for tests of matching (no phone, no horse)."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter1d

from track.layout import Layout
from track.path import Floats, Ints, Path

SPEED_MS = {"halt": 1.0, "walk": 1.6, "trot": 3.4, "canter": 3.8}


class NoPosterior:
    def covariance(self, epochs: Ints) -> Floats:
        return np.eye(2 * len(epochs)) * 0.25


@dataclass(frozen=True, kw_only=True)
class Invented:
    """A path, its gait at every epoch, and when each piece of the line was passed."""

    path: Path
    gaits: tuple[str, ...]
    pieces: tuple[tuple[Floats, Floats], ...]

    def time_at(self, s_m: float, piece: int = 0) -> float:
        s, t = self.pieces[piece]
        return float(np.interp(s_m, s, t))


def ride(
    layout: Layout,
    pieces: Sequence[tuple[float, float]],
    *,
    seed: int = 0,
    between: Sequence[Sequence[tuple[float, float]]] = (),
    before: Sequence[tuple[float, float]] = (),
    after: Sequence[tuple[float, float]] = (),
    drift_m: float = 0.6,
    speed_spread: float = 0.1,
) -> Invented:
    """Ride parts of a layout one after another, with other riding around and between.

    ``before``, ``after`` and each of ``between`` are points of a way ridden in trot.
    """
    rng = np.random.default_rng(seed)
    xs, ys, speeds, gaits, marks, done = [], [], [], [], [], 0

    def way(points: Sequence[tuple[float, float]]) -> None:
        nonlocal done
        if len(points) < 2:
            return
        p = np.array(points, dtype=float)
        along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(p, axis=0).T))])
        s = np.arange(0, along[-1], 0.1)
        xs.append(np.interp(s, along, p[:, 0]))
        ys.append(np.interp(s, along, p[:, 1]))
        speeds.append(np.full(s.size, 3.4))
        gaits.extend(["trot"] * s.size)
        done += s.size

    way(before)
    for number, (start, end) in enumerate(pieces):
        if number and number - 1 < len(between):
            way(between[number - 1])
        here = np.flatnonzero((layout.s_m >= start) & (layout.s_m <= end))
        xs.append(layout.x_m[here])
        ys.append(layout.y_m[here])
        speeds.append(np.array([SPEED_MS[layout.gait[i]] for i in here.tolist()]))
        gaits.extend(layout.gait[i] for i in here.tolist())
        marks.append((layout.s_m[here], done, done + here.size))
        done += here.size
    way(after)
    x = gaussian_filter1d(np.concatenate(xs), 8)
    y = gaussian_filter1d(np.concatenate(ys), 8)
    speed = gaussian_filter1d(np.concatenate(speeds), 20)
    speed *= 1 + speed_spread * smooth_noise(rng, speed.size, 300)
    step = np.hypot(np.diff(x), np.diff(y))
    stand = np.array([4.0 if gait == "halt" else 0.0 for gait in gaits])
    t_point = np.concatenate([[0], np.cumsum(step / speed[:-1] + stand[:-1])])
    t = np.arange(0, t_point[-1], 0.5)
    px, py = np.interp(t, t_point, x), np.interp(t, t_point, y)
    px = px + drift_m * smooth_noise(rng, t.size, 20)
    py = py + drift_m * smooth_noise(rng, t.size, 20)
    vx, vy = np.gradient(px, t), np.gradient(py, t)
    heading = np.unwrap(np.arctan2(vy, vx))
    index = np.clip(np.searchsorted(t_point, t, side="right") - 1, 0, len(gaits) - 1)
    half = np.full(t.size, 0.5)
    path = Path(
        t_s=t,
        x_m=px,
        y_m=py,
        sd_x_m=half,
        sd_y_m=half,
        speed_ms=np.hypot(vx, vy),
        speed_sd_ms=half * 0.2,
        heading_rad=heading,
        heading_sd_rad=half * 0.1,
        turn_rads=np.gradient(heading, t),
        posterior=NoPosterior(),
        frame="arena",
    )
    return Invented(
        path=path,
        gaits=tuple(gaits[i] for i in index.tolist()),
        pieces=tuple((s, t_point[a:b]) for s, a, b in marks),
    )


def smooth_noise(rng: np.random.Generator, count: int, epochs: float) -> Floats:
    """Unit noise that wanders over so many samples."""
    noise = gaussian_filter1d(rng.normal(size=count), epochs, mode="wrap")
    scaled: Floats = noise / max(float(noise.std()), 1e-12)
    return scaled
