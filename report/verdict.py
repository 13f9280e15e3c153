"""The verdict rule: how likely the true value lies in its band, and the word for that.

The sd beside a value is its standard uncertainty (JCGM 100), taken as that of a normal law.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from scipy.special import ndtr

from report.result import Verdict

SURE: Final = 0.95
"""``within`` at this chance or more, ``outside`` at one less this or less."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """What is asked for, and how far from it is still good.

    Attributes
    ----------
    target : float or None
        The asked value, in the unit of the measure.
    low, high : float or None
        Limits of the band; None where it is open. Both None: measured, not rated.
    slack : float or None
        Half-width of the band where the limits do not tell it (a window between two letters).
    """

    target: float | None = None
    low: float | None = None
    high: float | None = None
    slack: float | None = None

    @property
    def rated(self) -> bool:
        """True when there is a limit to be rated against."""
        return self.low is not None or self.high is not None

    @property
    def half_width(self) -> float | None:
        """Half the width of the band, or the distance from the target to its one limit.

        Examples
        --------
        >>> Band(target=18.4, low=16.9, high=19.9).half_width
        1.5
        """
        if self.slack is not None:
            return self.slack
        if self.low is not None and self.high is not None:
            return (self.high - self.low) / 2
        limit = self.low if self.low is not None else self.high
        if limit is None or self.target is None:
            return None
        return abs(limit - self.target)


def around(target: float, tolerance: float) -> Band:
    """Return the two-sided band ``target`` ± ``tolerance``."""
    return Band(target=target, low=target - tolerance, high=target + tolerance)


def at_most(limit: float, target: float | None = 0.0) -> Band:
    """Return the band that is open below."""
    return Band(target=target, high=limit)


def at_least(limit: float, target: float | None = None) -> Band:
    """Return the band that is open above."""
    return Band(target=target, low=limit)


def chance_below(limit: float, value: float, sd: float) -> float:
    """Probability that the true value is at or below ``limit``."""
    if sd <= 0:
        return 1.0 if value <= limit else 0.0
    return float(ndtr((limit - value) / sd))


def chance_within(value: float, sd: float, low: float | None, high: float | None) -> float:
    """Probability that the true value lies in the band, given ``value`` and its ``sd``.

    Parameters
    ----------
    value, sd : float
        In the unit of the measure; ``sd`` 0 for a plain count.
    low, high : float or None
        None where the band is open.

    Examples
    --------
    >>> round(chance_within(0.0, 1.0, -1.96, 1.96), 3)
    0.95
    """
    if sd <= 0:
        above = low is None or value >= low
        return 1.0 if above and (high is None or value <= high) else 0.0
    below_high = 1.0 if high is None else chance_below(high, value, sd)
    below_low = 0.0 if low is None else chance_below(low, value, sd)
    return min(1.0, max(0.0, below_high - below_low))


def verdict_of(chance: float, sd: float, half_width: float | None) -> Verdict:
    """Return the word for a chance, after the contract's rule.

    Parameters
    ----------
    chance : float
        From :func:`chance_within`.
    sd : float
        Standard uncertainty of the value.
    half_width : float or None
        Of the band: :attr:`Band.half_width`.

    Examples
    --------
    >>> verdict_of(0.97, 0.4, 1.5), verdict_of(0.6, 0.4, 1.5), verdict_of(0.6, 0.9, 1.5)
    ('within', 'near', 'cannot tell')
    """
    if chance >= SURE:
        return "within"
    if chance <= 1 - SURE + 1e-12:
        return "outside"
    if half_width is not None and sd <= half_width / 2 and not math.isnan(half_width):
        return "near"
    return "cannot tell"
