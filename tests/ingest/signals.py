"""An invented stretch of riding, as small as will do, and ways to write it down.

Not a simulator of a horse: a body that rocks, sways and turns, with an accelerometer and a
gyroscope that belong together by physics (``dR/dt = R [w]x``, ``f = R' (a + g up)``).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

Floats = NDArray[np.float64]

EPOCH_S = 1_777_629_600.0  # 2026-05-01T10:00:00Z
LAT_DEG, LON_DEG = 52.0, 5.0
GRAVITY_MS2 = 9.80665


@dataclass(frozen=True, slots=True, kw_only=True)
class Invented:
    """Motion in the phone's axes and the path that belongs to it."""

    t_s: Floats
    accel_ms2: Floats
    gravity_ms2: Floats
    gyro_rads: Floats
    fix_s: Floats
    lat_deg: Floats
    lon_deg: Floats
    speed_ms: Floats
    course_deg: Floats


def _integrated(values: Floats, t_s: Floats) -> Floats:
    """Trapezoids, from zero."""
    steps = 0.5 * (values[1:] + values[:-1]) * np.diff(t_s)
    return np.concatenate([[0.0], np.cumsum(steps)])


def invented(*, duration_s: float = 40.0, rate_hz: float = 20.0, seed: int = 1) -> Invented:
    """A circle to the left, then to the right, at a trot, the phone askew in the pocket."""
    rng = np.random.default_rng(seed)
    t_s = np.arange(0.0, duration_s, 1.0 / rate_hz)
    yaw_rate = np.where(t_s < 0.6 * duration_s, 0.4, -0.45) + 0.05 * np.sin(0.7 * t_s)
    heading = _integrated(yaw_rate, t_s)
    pitch = 0.15 * np.sin(0.5 * t_s) + 0.05 * np.sin(2 * np.pi * 1.3 * t_s)
    roll = 0.20 * np.sin(0.33 * t_s + 1) + 0.04 * np.sin(2 * np.pi * 2.6 * t_s)
    body = Rotation.from_euler("ZYX", np.column_stack([heading, pitch, roll]))
    phone = body * Rotation.from_euler("xyz", rng.uniform(-1, 1, 3) * [3.0, 1.2, 3.0])
    beat = 4.0 * np.sin(2 * np.pi * 2.6 * t_s) + 1.0 * np.sin(2 * np.pi * 1.3 * t_s)
    free = np.column_stack([0.5 * np.sin(2 * np.pi * 2.6 * t_s + 1), 0 * t_s, beat])
    up = np.tile([0.0, 0.0, GRAVITY_MS2], (len(t_s), 1))
    spline_s = np.gradient(t_s)
    turned = (phone[:-1].inv() * phone[1:]).as_rotvec() / spline_s[:-1, None]
    gyro = np.vstack([turned, turned[-1:]])
    fix_s = np.arange(0.0, duration_s, 1.0)
    speed = 3.6
    east = _integrated(speed * np.cos(heading), t_s)
    north = _integrated(speed * np.sin(heading), t_s)
    noise = 1.0 + 0.01 * rng.normal(size=len(fix_s))
    return Invented(
        t_s=t_s,
        accel_ms2=phone.inv().apply(free + up),
        gravity_ms2=phone.inv().apply(up),
        gyro_rads=gyro,
        fix_s=fix_s,
        lat_deg=LAT_DEG + np.interp(fix_s, t_s, north) / 111_267.0,
        lon_deg=LON_DEG + np.interp(fix_s, t_s, east) / 68_678.0,
        speed_ms=speed * noise,
        course_deg=(90.0 - np.degrees(np.interp(fix_s, t_s, heading))) % 360.0,
    )


def iso(epoch_s: float, *, zone: str = "Z") -> str:
    """ISO 8601, to the microsecond."""
    moment = datetime.fromtimestamp(0, UTC) + timedelta(microseconds=round(epoch_s * 1e6))
    return moment.strftime("%Y-%m-%dT%H:%M:%S.%f") + zone


def gpx_text(
    ride: Invented,
    *,
    start_s: float = EPOCH_S,
    zone: str = "Z",
    extensions: bool = True,
    waypoints: str = "",
) -> str:
    """The ride's path as GPX 1.1."""
    points = []
    for k, t in enumerate(ride.fix_s):
        extra = (
            f"<extensions><speed>{ride.speed_ms[k]:.3f}</speed>"
            f"<course>{ride.course_deg[k]:.2f}</course></extensions>"
            if extensions
            else ""
        )
        points.append(
            f'<trkpt lat="{ride.lat_deg[k]:.8f}" lon="{ride.lon_deg[k]:.8f}">'
            f"<time>{iso(start_s + t, zone=zone)}</time>{extra}</trkpt>"
        )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1">'
        f"{waypoints}<trk><trkseg>{''.join(points)}</trkseg></trk></gpx>\n"
    )


def csv_text(
    header: list[str], columns: list[Floats], *, delimiter: str = ",", decimals: int = 9
) -> str:
    """A plain table of numbers."""
    lines = [delimiter.join(header)]
    for row in zip(*columns, strict=True):
        lines.append(delimiter.join(f"{value:.{decimals}f}" for value in row))
    return "\n".join(lines) + "\n"
