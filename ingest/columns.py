"""Names, units and dtypes of the tables a recording is made of, and the check at the door.

A table that has passed :func:`checked_fixes` or :func:`checked_motion` can be relied on by every
later stage: columns present, float64, finite times in ascending order.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

T_S: Final = "t_s"

LAT_DEG: Final = "lat_deg"
"""WGS84 latitude, decimal degrees."""
LON_DEG: Final = "lon_deg"
"""WGS84 longitude, decimal degrees."""
ACCURACY_M: Final = "accuracy_m"
"""Horizontal accuracy as the receiver reported it; NaN where it did not."""
SPEED_MS: Final = "speed_ms"
"""Speed over ground as the receiver reported it; NaN where it did not."""
COURSE_DEG: Final = "course_deg"
"""Course over ground, clockwise from true north; NaN where it was not reported."""
SEGMENT: Final = "segment"
"""Counts up by one after every loss of signal; a path is never joined across."""

FIX_COLUMNS: Final = (T_S, LAT_DEG, LON_DEG, ACCURACY_M, SPEED_MS, COURSE_DEG, SEGMENT)

ACCEL_MS2: Final = ("accel_x_ms2", "accel_y_ms2", "accel_z_ms2")
"""Specific force in the phone's right-handed axes: a phone at rest reads +9.81 along 'up'
when gravity is included (see ``Recording.gravity_included``)."""
GYRO_RADS: Final = ("gyro_x_rads", "gyro_y_rads", "gyro_z_rads")
"""Turn rate about the same axes, right-hand rule; all NaN when there is no gyroscope."""

MOTION_COLUMNS: Final = (T_S, *ACCEL_MS2, *GYRO_RADS)

NAME: Final = "name"
WAYPOINT_COLUMNS: Final = (NAME, LAT_DEG, LON_DEG)


def _checked(table: pd.DataFrame, columns: tuple[str, ...], what: str) -> pd.DataFrame:
    missing = [name for name in columns if name not in table.columns]
    if missing:
        raise ValueError(f"{what} lacks the columns {missing}")
    t_s = table[T_S].to_numpy(dtype=np.float64)
    if not np.isfinite(t_s).all() or (np.diff(t_s) < 0).any():
        raise ValueError(f"{what} has times that are not finite and ascending")
    if tuple(table.columns) == columns and table.index.equals(pd.RangeIndex(len(table))):
        return table
    return table.loc[:, list(columns)].reset_index(drop=True)


def checked_fixes(table: pd.DataFrame) -> pd.DataFrame:
    """Return the position table with exactly :data:`FIX_COLUMNS`, or raise ``ValueError``."""
    return _checked(table, FIX_COLUMNS, "the position table")


def checked_motion(table: pd.DataFrame) -> pd.DataFrame:
    """Return the motion table with exactly :data:`MOTION_COLUMNS`, or raise ``ValueError``."""
    return _checked(table, MOTION_COLUMNS, "the motion table")
