"""Sessions compared: did something change, and how small a change could have been seen.

The unit is the session: one value per ride, however many strides stand behind it. What varies from
day to day is told by the rides themselves, never taken from a table. Pure statistics: nothing here
knows of gaits or of files.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from scipy.optimize import brentq
from scipy.stats import nct
from scipy.stats import t as student

from track.path import Floats

ALPHA: Final = 0.05
"""Chance of one false "changed" or more in a whole comparison."""
POWER: Final = 0.8
"""Chance with which a change of the smallest size told would have been called."""
MOST_SESSIONS: Final = 60
"""More rides than this on either side are not recommended: nobody rides them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Contrast:
    """A change between sessions with its standard error and degrees of freedom."""

    value: float
    se: float
    df: float

    @property
    def chance(self) -> float:
        """Two-sided p value of no change."""
        return float(2.0 * student.sf(abs(self.value) / self.se, self.df))

    def interval(self, level: float = 0.95) -> tuple[float, float]:
        """Interval of the change."""
        reach = float(student.ppf(0.5 + level / 2.0, self.df)) * self.se
        return self.value - reach, self.value + reach


@dataclass(frozen=True, slots=True, kw_only=True)
class LineEnd:
    """A fitted line at one session: its value and 95 % interval."""

    value: float
    interval: tuple[float, float]


def mean_interval(values: Floats, level: float = 0.95) -> tuple[float, float] | None:
    """Interval of the mean of sessions, Student's t; None with fewer than two.

    Examples
    --------
    >>> low, high = mean_interval(np.array([1.0, 2.0, 3.0]))
    >>> round(low, 3), round(high, 3)
    (-0.484, 4.484)
    """
    if values.size < 2:
        return None
    reach = float(student.ppf(0.5 + level / 2.0, values.size - 1) * _se(values))
    mean = float(values.mean())
    return mean - reach, mean + reach


def between(
    before: Floats, after: Floats, before_sd: Floats | None = None, after_sd: Floats | None = None
) -> Contrast | None:
    """Mean of the sessions after less the mean before.

    None with fewer than two on either side, or where all are alike and no doubt is known: what
    differs from day to day cannot be told from them.

    Parameters
    ----------
    before, after : array, shape (n,) and (m,)
        One value per session.
    before_sd, after_sd : array, optional
        Standard uncertainty of each value. Few sessions may agree by luck: the standard error is
        never taken as less than half of what these alone would make it.

    Notes
    -----
    Welch's t with Satterthwaite's degrees of freedom (Welch, Biometrika 1947;34:28, eq. 28), so
    that a more variable season does not pass for a change. These are an estimate, and at the small
    levels that many rows share it is too large too often where sides agree by luck. The fewer
    sessions' own count less one never is (Hsu's bound, as in Scheffé, JASA 1970;65:1501
    [recalled]), but it hides much: the harmonic mean of both is taken, which holds the level of 30
    rows for sides of 3 to 12 sessions whose spreads differ up to threefold
    (``tests.accuracy compare``).

    Examples
    --------
    >>> found = between(np.array([78.0, 79.0, 80.0]), np.array([80.0, 81.0, 82.0]))
    >>> found.value, round(found.se, 4), round(found.df, 2)
    (2.0, 0.8165, 2.67)
    """
    if min(before.size, after.size) < 2:
        return None
    parts = np.array([_se(before) ** 2, _se(after) ** 2])
    least = 0.5 * np.hypot(_known(before_sd), _known(after_sd))
    se, value = float(np.sqrt(parts.sum())), float(after.mean() - before.mean())
    sizes = np.array([before.size, after.size]) - 1.0
    if max(se, least) <= 1e-12 * max(1.0, float(np.abs(before).max())):
        return None
    if se <= least:
        return Contrast(value=value, se=float(least), df=float(sizes.sum()))
    welch = float(parts.sum() ** 2 / (parts**2 / sizes).sum())
    return Contrast(value=value, se=se, df=_freedom(welch, float(sizes.min())))


def _freedom(welch: float, least: float) -> float:
    """Harmonic mean of Welch's degrees of freedom and of Hsu's bound."""
    return 2.0 / (1.0 / welch + 1.0 / least)


def along(values: Floats, order: Floats) -> Contrast | None:
    """Change along a straight line from the first session to the last.

    None with fewer than three, or where they lie on it without any spread.

    Parameters
    ----------
    values : array, shape (n,)
    order : array, shape (n,)
        Ascending places of the sessions; the change is told over their whole span.

    Examples
    --------
    >>> found = along(np.array([78.0, 79.1, 79.9, 81.0]), np.arange(4.0))
    >>> round(found.value, 2), round(found.se, 3), found.df
    (2.94, 0.127, 2.0)
    """
    if values.size < 3:
        return None
    x = order - order.mean()
    span, squares = float(np.ptp(order)), float(x @ x)
    slope = float(x @ values) / squares
    rest = values - values.mean() - slope * x
    se = span * float(np.sqrt(rest @ rest / (values.size - 2) / squares))
    if se <= 1e-12 * max(1.0, float(np.abs(values).max())):
        return None
    return Contrast(value=slope * span, se=se, df=float(values.size - 2))


def line_ends(values: Floats, order: Floats) -> tuple[LineEnd, LineEnd] | None:
    """Fitted line at the first and the last session, with its 95 % interval.

    None with fewer than three sessions. Student's t with n - 2 degrees of freedom; the interval is
    that of the line, not of a session.

    Examples
    --------
    >>> first, last = line_ends(np.array([78.0, 79.1, 79.9, 81.0]), np.arange(4.0))
    >>> round(first.value, 2), round(last.value, 2)
    (78.03, 80.97)
    """
    away = order - order.mean()
    spread = float((away**2).sum())
    if values.size < 3 or spread == 0.0:
        return None
    slope, mean = float(away @ values) / spread, float(values.mean())
    rest = values - mean - slope * away
    noise = float(np.sqrt((rest**2).sum() / (values.size - 2)))
    edge = float(student.ppf(0.975, values.size - 2))

    def at(place: float) -> LineEnd:
        reach = edge * noise * float(np.sqrt(1.0 / values.size + place**2 / spread))
        value = mean + slope * place
        return LineEnd(value=value, interval=(value - reach, value + reach))

    return at(float(away[0])), at(float(away[-1]))


def _se(values: Floats) -> float:
    return float(np.sqrt(values.var(ddof=1) / values.size))


def _known(sd: Floats | None) -> float:
    return 0.0 if sd is None or not sd.size else float(np.sqrt((sd**2).sum()) / sd.size)


def shares(weights: Sequence[float]) -> Floats:
    """Level that each test begins with: its share of :data:`ALPHA`."""
    weight = np.asarray(weights, dtype=np.float64)
    return np.asarray(ALPHA * weight / weight.sum())


def called(chances: Sequence[float], weights: Sequence[float], alpha: float = ALPHA) -> list[bool]:
    """Which changes are called, with at most ``alpha`` chance of any false one among them all.

    Weighted Holm (Holm, Scand J Stat 1979;6:65, section 4): of those left, the one with the least
    chance for its weight is called if it is under its share of alpha; then the rest share anew.

    Parameters
    ----------
    chances : sequence of float
        p value of each test.
    weights : sequence of float
        Positive.

    Examples
    --------
    >>> called([0.01, 0.04, 0.03], [1.0, 1.0, 1.0])
    [True, False, False]
    """
    p, weight = np.asarray(chances, dtype=np.float64), np.asarray(weights, dtype=np.float64)
    out = np.zeros(p.size, dtype=np.bool_)
    for index in np.argsort(p / weight, kind="stable"):
        if p[index] > alpha * weight[index] / weight[~out].sum():
            break
        out[index] = True
    return [bool(one) for one in out]


def smallest_change(se: float, df: float, alpha: float, power: float = POWER) -> float:
    """Smallest true change that would have been called with the given chance.

    Parameters
    ----------
    se, df : float
        Standard error and degrees of freedom of the change.
    alpha : float
        Two-sided level of the test.
    power : float

    Notes
    -----
    Non-central t: the least delta with P(|T'(df, delta / se)| > t(1 - alpha / 2, df)) = power.

    Examples
    --------
    >>> round(smallest_change(1.0, 14.0, 0.05), 3)
    3.013
    """
    # Degrees of freedom to a twentieth: the answer moves by less than a part in a thousand.
    return se * _effect(round(20.0 * df) / 20.0 if df < 60 else round(df), alpha, power)


@lru_cache(maxsize=4096)
def _effect(df: float, alpha: float, power: float) -> float:
    edge = float(student.isf(alpha / 2.0, df))

    def short(shift: float) -> float:
        return power_of(shift, df, edge) - power

    high = 2.0 * edge + 4.0
    while short(high) < 0.0:
        high *= 2.0
    return float(brentq(short, 0.0, high, xtol=1e-4))


def power_of(shift: float, df: float, edge: float) -> float:
    """Chance that a two-sided t test with this edge calls a change of ``shift`` standard errors.

    Examples
    --------
    >>> round(power_of(3.013, 14.0, 2.1448), 3)
    0.8
    """
    upper, lower = nct.sf(edge, df, shift), nct.cdf(-edge, df, shift)
    return float(upper) + (float(lower) if np.isfinite(lower) else 0.0)


def sessions_needed(change: float, sd: float, alpha: float, power: float = POWER) -> int | None:
    """Sessions on either side that would show a change of this size; None beyond a season.

    Parameters
    ----------
    change : float
        Size of the change looked for.
    sd : float
        Standard deviation between sessions.
    alpha, power : float

    Examples
    --------
    Cohen (1988), table 2.4.1: d = 0.8, two-sided 5 %, power 0.8 needs 26 on either side; with the
    degrees of freedom of :func:`between` it is one more.

    >>> sessions_needed(0.8, 1.0, 0.05)
    27
    """
    low, high = 2, MOST_SESSIONS
    if abs(change) <= 0.0 or _reach(high, sd, alpha, power) > abs(change):
        return None
    while low < high:
        middle = (low + high) // 2
        if _reach(middle, sd, alpha, power) <= abs(change):
            high = middle
        else:
            low = middle + 1
    return low


def _reach(count: int, sd: float, alpha: float, power: float) -> float:
    df = _freedom(2.0 * count - 2.0, count - 1.0)
    return smallest_change(sd * float(np.sqrt(2.0 / count)), df, alpha, power)
