"""What a ride's files hold once they are read: tables with their own stamps, and notes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import pandas as pd

Severity = Literal["info", "warning"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """One thing the reader of a page should know about the recording.

    Attributes
    ----------
    code : str
        Short, stable, lower case with hyphens, for example ``"units-g"``.
    text : str
        One plain sentence that gives the ground of the decision.
    severity : {"info", "warning"}
        ``"warning"`` where a number on the page is wider or missing because of it.
    """

    code: str
    text: str
    severity: Severity = "info"


@dataclass(frozen=True, slots=True, kw_only=True)
class Recording:
    """One ride as the phone wrote it, units settled, no geometry.

    Attributes
    ----------
    fixes : pandas.DataFrame or None
        Positions with ``ingest.columns.FIX_COLUMNS``; ``t_s`` counts from the earliest-timed
        fix in the files, even when that fix is later discarded.
    motion : pandas.DataFrame or None
        Accelerometer and gyroscope with ``ingest.columns.MOTION_COLUMNS``. ``t_s`` has the
        zero of ``fixes`` when ``clocks_shared``, else it counts from the first motion sample.
    waypoints : pandas.DataFrame or None
        Named places of the files (``ingest.columns.WAYPOINT_COLUMNS``).
    clocks_shared : bool
        True when both tables were stamped with epoch times, or by one clock of one logger, so
        that the difference of their clocks is a few seconds at most and can be told as
        ``clock_offset_s``.
    gravity_included : bool
        True when the accelerometer columns contain gravity.
    sources : tuple of str
        Names (never paths) of the files that were used.
    notes : tuple of Note
        Decisions taken and defects seen.
    """

    fixes: pd.DataFrame | None = None
    motion: pd.DataFrame | None = None
    waypoints: pd.DataFrame | None = None
    clocks_shared: bool = False
    gravity_included: bool = True
    sources: tuple[str, ...] = ()
    notes: tuple[Note, ...] = field(default=())
