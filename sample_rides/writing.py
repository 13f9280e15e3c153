"""A made-up ride as the files a phone would have written, and its truth."""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Final

import numpy as np

from sample_rides.receiver import FixLog
from sample_rides.simulate import SimulatedRide

BOOTED_BEFORE_S: Final = 8123.0
"""A phone whose motion is stamped since boot was switched on this long before the log."""
FIX_NAMESPACE: Final = "urn:tanbark:fix"


def ride_files(ride: SimulatedRide, *, zipped: bool = False) -> dict[str, bytes]:
    """Write a ride.

    Parameters
    ----------
    ride : SimulatedRide
    zipped : bool
        Compress every file with gzip and add ``.gz`` to its name.

    Returns
    -------
    dict of str to bytes
        ``ride.gpx``, ``motion.csv`` and ``truth.json``; the same ride gives the same bytes.
    """
    truth = json.dumps(ride.truth.as_json(), allow_nan=False, separators=(",", ":"))
    contents = {
        "ride.gpx": gpx_text(ride).encode(),
        "motion.csv": motion_text(ride).encode(),
        "truth.json": truth.encode() + b"\n",
    }
    if not zipped:
        return contents
    return {
        f"{name}.gz": gzip.compress(content, compresslevel=9, mtime=0)
        for name, content in contents.items()
    }


def motion_text(ride: SimulatedRide) -> str:
    """Accelerometer and gyroscope as one wide CSV; no gyroscope columns where there is none."""
    since = float(ride.scenario.start_epoch_s) + ride.scenario.clock_offset_s
    if not ride.scenario.clocks_shared:
        since = BOOTED_BEFORE_S
    kind = "acceleration" if ride.scenario.gravity else "linear acceleration"
    table = {"time (s)": ride.motion.t_s + since}
    for index, axis in enumerate("xyz"):
        table[f"{kind} {axis} (m/s2)"] = ride.motion.accel_ms2[:, index]
    if ride.scenario.gyro:
        for index, axis in enumerate("xyz"):
            table[f"turn rate {axis} (rad/s)"] = ride.motion.gyro_rads[:, index]
    line = ",".join(["%.4f"] * len(table)) + "\n"
    rows = np.column_stack(list(table.values())).tolist()
    return ",".join(table) + "\n" + "".join(line % tuple(row) for row in rows)


def gpx_text(ride: SimulatedRide) -> str:
    """Positions as GPX 1.1; a new segment after a loss of signal."""
    points = list(_points(ride.fixes, ride.scenario.start_epoch_s))
    opened = np.flatnonzero(np.diff(ride.fixes.segment, prepend=-1))
    segments = [
        "<trkseg>\n" + "".join(points[first:last]) + "</trkseg>\n"
        for first, last in zip(opened, [*opened[1:], len(points)], strict=True)
    ]
    head = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<gpx version="1.1" creator="tanbark simulate"'
        f' xmlns="http://www.topografix.com/GPX/1/1" xmlns:fix="{FIX_NAMESPACE}">\n'
        "<trk><name>made-up ride</name>\n"
    )
    return head + "".join(segments) + "</trk></gpx>\n"


def _points(fixes: FixLog, start_epoch_s: int) -> Iterator[str]:
    for index, t_s in enumerate(fixes.t_s.tolist()):
        moment = datetime.fromtimestamp(start_epoch_s + t_s, UTC)
        time = moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")
        extras = f"<fix:accuracy>{fixes.accuracy_m[index]:.2f}</fix:accuracy>"
        if np.isfinite(fixes.speed_ms[index]):
            extras += f"<fix:speed>{fixes.speed_ms[index]:.2f}</fix:speed>"
        if np.isfinite(fixes.course_deg[index]):
            extras += f"<fix:course>{fixes.course_deg[index]:.1f}</fix:course>"
        yield (
            f'<trkpt lat="{fixes.lat_deg[index]:.7f}" lon="{fixes.lon_deg[index]:.7f}">'
            f"<time>{time}</time><extensions>{extras}</extensions></trkpt>\n"
        )
