"""Stamps of any kind -> ascending seconds: unit, epoch or not, disorder, duplicates, bursts."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ingest.errors import RecordingError
from ingest.formats import factor
from ingest.streams import Bools, Clock, Floats, Ints

EPOCH_FROM_S: Final = 946_684_800.0
"""2000-01-01: earlier numbers count from a boot or a start."""
EPOCH_TO_S: Final = 4_102_444_800.0
"""2100-01-01."""
FAR_S: Final = 2 * 86_400.0
"""A stamp further than this from the median belongs to no ride."""
NO_TIME_S: Final = 1e11
"""Beyond any date."""
MOTION_SPACING_S: Final = 0.0158
"""Middle, in the logarithm, of 2 Hz and 2000 Hz."""
FIX_SPACING_S: Final = 1.0
BLOCK: Final = 100
"""Samples over which spacing is taken, so that bursts do not hide it."""
ENOUGH: Final = 5000
"""Rows that are enough for a median."""
BURST_SHARE: Final = 0.2
"""Share of steps far shorter than the mean step from which stamps count as bursty."""

_AWARE: Final = re.compile(r"(Z|[+-]\d{2}:?(\d{2})?)$", re.IGNORECASE)
_TIME_OF_DAY: Final = re.compile(r"\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamps:
    """Times of the rows of a file, as they stand, NaN where there are none."""

    t_s: Floats
    clock: Clock
    unit: str


def spacing(values: Floats) -> float:
    """Typical distance of neighbouring values once sorted, whatever bursts and gaps there are.

    Examples
    --------
    >>> spacing(np.array([0.0, 0.0, 2.0, 2.0, 4.0, 4.0]))
    0.8
    """
    if len(values) < 2:
        return 0.0
    ordered = values
    # One comparison for the usual case; NaN and infinity fail it or stand at an end.
    rising = bool((values[1:] >= values[:-1]).all() and math.isfinite(values[-1] - values[0]))
    if not rising:
        ordered = np.sort(values[np.isfinite(values)])
    if len(ordered) < 2:
        return 0.0
    block = min(BLOCK, len(ordered) - 1)
    every = max(1, len(ordered) // ENOUGH)
    first = ordered[:-block:every]
    return float(np.median(ordered[block::every][: len(first)] - first)) / block


def numeric_stamps(values: Floats, *, unit: str, typical_s: float, name: str, owner: str) -> Stamps:
    """Seconds from a column of numbers.

    Parameters
    ----------
    values : array, shape (n,)
        As written.
    unit : str
        As the header says ("s", "ms", "us", "ns"), or empty: then the unit is the one in which
        rows lie about ``typical_s`` apart, powers of a thousand being far from one another.
    typical_s : float
        Usual distance of rows.
    name, owner : str
        The file, and whose start an elapsed clock counts from.

    Raises
    ------
    RecordingError
        When there are no two different times.
    """
    step = spacing(values)
    if not (math.isfinite(step) and step > 0):
        raise RecordingError(f"{name}: the times do not advance; export the recording again")
    centre = float(np.nanmedian(values[:: max(1, len(values) // ENOUGH)]))

    def misfit(candidate: str) -> float:
        scale = factor("time", candidate)
        epoch = EPOCH_FROM_S < centre * scale < EPOCH_TO_S
        return abs(math.log10(step * scale / typical_s)) - epoch

    best = min(("s", "ms", "us", "ns"), key=misfit)
    if unit and misfit(unit) < misfit(best) + 1.5:
        best = unit
    t_s = values * factor("time", best)
    epoch = EPOCH_FROM_S < centre * factor("time", best) < EPOCH_TO_S
    clock = Clock(kind="epoch") if epoch else Clock(kind="elapsed", owner=owner)
    return Stamps(t_s=t_s, clock=clock, unit=best)


def text_stamps(texts: NDArray[np.object_], *, name: str, owner: str) -> Stamps:
    """Seconds from a column of ISO 8601 times, or of times of day.

    Raises
    ------
    RecordingError
        When most of them cannot be read.

    Examples
    --------
    >>> found = text_stamps(
    ...     np.array(["1970-01-02T00:00:00Z"], dtype=object), name="a.csv", owner="a.csv")
    >>> found.clock.kind, found.t_s
    ('epoch', array([86400.]))
    """
    column = pd.Series(texts, dtype=object)
    written = column[column.notna()].astype(str).str.strip()
    sample = str(written.iloc[0]) if len(written) else ""
    if _TIME_OF_DAY.fullmatch(sample):
        return _times_of_day(written, len(column), name, owner)
    if len(sample) > 10 and sample[10] == ",":  # "2026-05-01, 10:00"
        written = written.str.replace(",", " ", n=1, regex=False)
    written = written.str.replace(",", ".", regex=False)
    parsed = pd.to_datetime(written, format="ISO8601", utc=True, errors="coerce")
    if parsed.notna().sum() < 0.5 * max(len(column), 1):
        raise RecordingError(
            f"{name}: times such as {sample[:30]!r} cannot be read; "
            "export them as ISO 8601 (2026-05-01T10:00:00Z) or as numbers"
        )
    t_s = np.full(len(column), np.nan)
    us = parsed.astype("datetime64[us, UTC]").astype(np.int64).to_numpy()
    seconds = np.where(parsed.notna().to_numpy(), us / 1e6, np.nan)
    t_s[written.index.to_numpy()] = seconds
    aware = bool(_AWARE.search(sample[10:]))
    return Stamps(t_s=t_s, clock=Clock(kind="epoch" if aware else "zoneless"), unit="iso")


def _times_of_day(written: pd.Series[str], rows: int, name: str, owner: str) -> Stamps:
    full = written.where(written.str.count(":") > 1, written + ":00")
    parsed = pd.to_timedelta(full.str.replace(",", ".", regex=False), errors="coerce")
    if parsed.notna().sum() < 0.5 * rows:
        raise RecordingError(f"{name}: the times of day cannot be read; export them as ISO 8601")
    t_s = np.full(rows, np.nan)
    t_s[written.index.to_numpy()] = parsed.dt.total_seconds().to_numpy()
    return Stamps(t_s=t_s, clock=Clock(kind="elapsed", owner=owner), unit="time of day")


def even_stamps(rows: int, rate_hz: float, *, owner: str) -> Stamps:
    """Stamps of a file that only counts its samples."""
    t_s = np.arange(rows, dtype=np.float64) / rate_hz
    return Stamps(t_s=t_s, clock=Clock(kind="elapsed", owner=owner), unit="counter")


@dataclass(frozen=True, slots=True, kw_only=True)
class Tidy:
    """Rows in the order of time, and what had to be done for it.

    Attributes
    ----------
    order : array of int
        Rows of the file to be taken, in this order.
    t_s : array, s
        Their times, ascending.
    disordered, doubled, unreadable : int
        Rows that stood out of order, were there twice, or had no use.
    bursty : bool
        True when stamps came in bursts and were spread.
    """

    order: Ints
    t_s: Floats
    disordered: int
    doubled: int
    unreadable: int
    bursty: bool


def tidied(t_s: Floats, values: Floats, usable: Bools, *, spread: bool) -> Tidy:
    """Put rows in order of time, each once.

    Parameters
    ----------
    t_s : array, shape (n,), s
    values : array, shape (n, k)
        A row is double when its time and all its values are those of another.
    usable : array of bool, shape (n,)
        Rows to be kept.
    spread : bool
        Lay the stamps of bursts evenly.
    """
    if _is_tidy(t_s, usable):
        bursty = spread and _is_bursty(t_s, np.diff(t_s))
        return Tidy(
            order=np.arange(len(t_s)),
            t_s=_spread(t_s) if bursty else t_s,
            disordered=0,
            doubled=0,
            unreadable=0,
            bursty=bursty,
        )
    good = usable & (np.abs(t_s) < NO_TIME_S)
    if good.any():
        few = np.flatnonzero(good)[:: max(1, len(t_s) // ENOUGH)]
        good &= np.abs(t_s - np.median(t_s[few])) < FAR_S
    order = np.flatnonzero(good)
    times = t_s if len(order) == len(t_s) else t_s[order]
    steps = np.diff(times)
    disordered = int((steps < 0).sum())
    if disordered:
        by_time = np.argsort(times, kind="stable")
        order, times = order[by_time], times[by_time]
        steps = np.diff(times)
    keep = _first_of_doubles(times, values, order) if (steps <= 0).any() else None
    doubled = 0
    if keep is not None:
        doubled = int(len(order) - keep.sum())
        order, times = order[keep], times[keep]
        steps = np.diff(times)
    bursty = spread and _is_bursty(times, steps)
    return Tidy(
        order=order,
        t_s=_spread(times) if bursty else times,
        disordered=disordered,
        doubled=doubled,
        unreadable=int(len(t_s) - good.sum()),
        bursty=bursty,
    )


def _is_tidy(t_s: Floats, usable: Bools) -> bool:
    """Whether every row is of use, and after the one before; NaN is after nothing."""
    if len(t_s) < 2 or not usable.all() or not (t_s[1:] > t_s[:-1]).all():
        return False
    return bool(t_s[-1] - t_s[0] < FAR_S and max(-t_s[0], t_s[-1]) < NO_TIME_S)


def _first_of_doubles(times: Floats, values: Floats, order: Ints) -> Bools:
    frame = pd.DataFrame(values[order])
    frame["t"] = times
    return ~frame.duplicated().to_numpy()


def _is_bursty(times: Floats, steps: Floats) -> bool:
    if len(times) < 20:
        return False
    return bool((steps < 0.1 * spacing(times)).mean() > BURST_SHARE)


def _spread(times: Floats) -> Floats:
    """Samples of a burst were taken evenly since the burst before; the stamp is the last one's.

    A clock that only ticks in whole seconds is the other way round: its samples follow the tick.
    """
    step = spacing(times)
    first = np.flatnonzero(np.concatenate([[True], np.diff(times) > 0.5 * step]))
    sizes = np.diff(np.append(first, len(times)))
    last = first + sizes - 1
    ends = times[last]
    gaps = np.diff(ends)
    ticks = bool(np.all(times == np.round(times)))
    if ticks:
        every = np.append(gaps, step * sizes[-1]) / sizes
    else:
        every = np.append(step * sizes[0], gaps) / sizes
    every = np.minimum(every, 2.0 * step)  # across a gap of the log
    burst = np.repeat(np.arange(len(first)), sizes)
    place = np.arange(len(times)) - first[burst]
    if ticks:
        return times[first][burst] + place * every[burst]
    spread = ends[burst] - (sizes[burst] - 1 - place) * every[burst]
    return np.maximum.accumulate(spread)
