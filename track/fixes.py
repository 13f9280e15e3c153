"""Fixes made fit for the smoother: what is refused, what is dropped, what counts as one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from ingest.columns import ACCURACY_M, COURSE_DEG, LAT_DEG, LON_DEG, SEGMENT, SPEED_MS, T_S
from ingest.errors import RecordingError
from ingest.recording import Note
from track.geodesy import LocalPlane
from track.path import Floats

LEAST_FIXES: Final = 5
COARSEST_DEG: Final = 5e-5
"""Positions cut to a coarser grid than this (four decimals: 11 m) show no figures."""
FROZEN_S: Final = 2.5
"""A receiver that repeats itself for so long is not measuring."""
WORST_ACCURACY_M: Final = 40.0
FASTEST_MS: Final = 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CleanFixes:
    """Fixes that are left, in time order, on a plane.

    Attributes
    ----------
    t_s, east_m, north_m, spread : array, shape (k,)
        ``spread`` is the standard deviation relative to a normal fix.
    speed_ms, course_rad : array, shape (k,)
        NaN where not measured; the course anticlockwise from east.
    reset_s : array
        Times at which the receiver's slow error starts afresh.
    frozen : tuple of (float, float)
        Spans in which the receiver repeated one position.
    plane : LocalPlane
    notes : tuple of Note
    """

    t_s: Floats
    east_m: Floats
    north_m: Floats
    spread: Floats
    speed_ms: Floats
    course_rad: Floats
    reset_s: Floats
    frozen: tuple[tuple[float, float], ...]
    plane: LocalPlane
    notes: tuple[Note, ...] = ()


def clean(fixes: pd.DataFrame) -> CleanFixes:
    """Drop what cannot be meant, thin frozen runs to their first fix.

    Raises
    ------
    RecordingError
        The fixes are all the same, too few, or rounded so far that no figure could be seen.
    """
    _refuse_useless(fixes)
    notes: list[Note] = []
    table = fixes[np.isfinite(fixes[LAT_DEG]) & np.isfinite(fixes[LON_DEG])]
    table = table.drop_duplicates(T_S).reset_index(drop=True)
    table = _without_poor(table, notes)
    plane = LocalPlane(
        lat_deg=float(table[LAT_DEG].median()), lon_deg=float(table[LON_DEG].median())
    )
    east, north = plane.to_plane(table[LAT_DEG].to_numpy(), table[LON_DEG].to_numpy())
    t_s = table[T_S].to_numpy(dtype=np.float64)
    keep, spans = _thawed(t_s, east, north)
    keep &= ~_leaps(t_s, east, north)
    segment = table[SEGMENT].to_numpy()
    reset = np.concatenate([t_s[1:][np.diff(segment) != 0], [end for _, end in spans]])
    course = np.radians(90.0 - table[COURSE_DEG].to_numpy(dtype=np.float64))
    accuracy = table[ACCURACY_M].to_numpy(dtype=np.float64)
    usual = np.nanmedian(accuracy) if np.isfinite(accuracy).any() else 1.0
    worse = np.nan_to_num(accuracy / max(float(usual), 1.0), nan=1.0)
    interval = float(np.median(np.diff(t_s)))
    return CleanFixes(
        t_s=t_s[keep],
        east_m=east[keep],
        north_m=north[keep],
        # Fixes more often than twice a second repeat the same error.
        spread=np.maximum(worse[keep] / 2.0, 1.0) * np.sqrt(max(0.5 / max(interval, 0.01), 1.0)),
        speed_ms=table[SPEED_MS].to_numpy(dtype=np.float64)[keep],
        course_rad=course[keep],
        reset_s=np.sort(reset),
        frozen=spans,
        plane=plane,
        notes=tuple(notes),
    )


def _refuse_useless(fixes: pd.DataFrame) -> None:
    places = fixes[[LAT_DEG, LON_DEG]].dropna()
    if len(places) < LEAST_FIXES:
        raise RecordingError(
            f"positions: only {len(places)} of them; record the whole ride with one fix a second"
        )
    distinct = places.drop_duplicates()
    if len(distinct) < 3:
        raise RecordingError(
            "positions: all the same place; the phone did not measure, allow precise location "
            "while the screen is locked and record again"
        )
    values = np.unique(distinct.to_numpy().ravel())
    for decimals, grid_deg in ((3, 1e-3), (4, 1e-4)):
        if grid_deg > COARSEST_DEG and np.abs(values - np.round(values, decimals)).max() < 1e-9:
            raise RecordingError(
                f"positions: cut to {decimals} decimals, a grid of "
                f"{round(grid_deg * 111_000)} m; export them with at least 6 decimals"
            )


def _without_poor(table: pd.DataFrame, notes: list[Note]) -> pd.DataFrame:
    accuracy = table[ACCURACY_M].to_numpy(dtype=np.float64)
    if not np.isfinite(accuracy).any():
        return table
    poor = accuracy > max(WORST_ACCURACY_M, 4 * float(np.nanmedian(accuracy)))
    if not poor.any() or (~poor).sum() < LEAST_FIXES:
        return table
    notes.append(
        Note(
            code="poor-fixes",
            text=f"{int(poor.sum())} fixes with a reported accuracy above "
            f"{WORST_ACCURACY_M:.0f} m were left out.",
        )
    )
    return table[~poor].reset_index(drop=True)


def _thawed(
    t_s: Floats, east: Floats, north: Floats
) -> tuple[np.ndarray[tuple[int], np.dtype[np.bool_]], tuple[tuple[float, float], ...]]:
    """The first fix of every frozen run and all others; spans of the runs."""
    same = np.concatenate([[False], (np.diff(east) == 0) & (np.diff(north) == 0), [False]])
    starts = np.flatnonzero(~same[:-1] & same[1:])
    ends = np.flatnonzero(same[:-1] & ~same[1:])
    keep = np.ones(len(t_s), dtype=np.bool_)
    spans = []
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        keep[start + 1 : end + 1] = False
        if t_s[end] - t_s[start] >= FROZEN_S:
            spans.append((float(t_s[start]), float(t_s[min(end + 1, len(t_s) - 1)])))
    return keep, tuple(spans)


def _leaps(t_s: Floats, east: Floats, north: Floats) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Fixes from which both neighbours are out of a horse's reach."""
    reach = np.hypot(np.diff(east), np.diff(north)) / np.maximum(np.diff(t_s), 0.2)
    far = reach > FASTEST_MS
    return np.concatenate([far[:1], far[1:] & far[:-1], far[-1:]])
