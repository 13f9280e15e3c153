"""Repeats pooled: the unit is the repeat, and what all repeats share does not average away."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from track.path import Estimate


def pooled(repeats: Sequence[Estimate], shared: float) -> Estimate | None:
    """Mean of repeats with its doubt.

    Parameters
    ----------
    repeats : sequence of Estimate
        One per repeat.
    shared : float
        Share of each sd that all repeats of a ride have in common (receiver lag, speed scale,
        placement of the arena).

    Returns
    -------
    Estimate or None
        None without repeats. The doubt joins the spread between the repeats, or their own doubt
        where that is larger, over their number, and the shared part whole.

    Examples
    --------
    >>> three = [Estimate(value=v, sd=0.5) for v in (18.0, 18.5, 19.0)]
    >>> round(pooled(three, 0.6).sd, 3)
    0.416
    """
    if not repeats:
        return None
    values = np.array([repeat.value for repeat in repeats])
    variances = np.array([repeat.sd for repeat in repeats]) ** 2
    spread = float(values.var(ddof=1)) if values.size > 1 else 0.0
    own = float(variances.mean()) * (1 - shared**2)
    common = float(variances.mean()) * shared**2
    sd = float(np.sqrt(max(spread, own) / values.size + common))
    return Estimate(value=float(values.mean()), sd=sd)


def mean_in_ride(repeats: Sequence[Estimate], shared: float) -> Estimate | None:
    """Mean of the repeats as they were ridden: the doubt of what happened, not of a habit.

    Parameters
    ----------
    repeats, shared
        As for :func:`pooled`.

    Examples
    --------
    >>> three = [Estimate(value=v, sd=0.5) for v in (18.0, 18.5, 19.0)]
    >>> round(mean_in_ride(three, 0.0).sd, 3)
    0.289
    """
    if not repeats:
        return None
    variance = float(np.mean([repeat.sd**2 for repeat in repeats]))
    own, common = variance * (1 - shared**2) / len(repeats), variance * shared**2
    value = float(np.mean([repeat.value for repeat in repeats]))
    return Estimate(value=value, sd=float(np.sqrt(own + common)))


def spread_of_repeats(repeats: Sequence[Estimate]) -> float | None:
    """Standard deviation between repeats; None with fewer than two."""
    if len(repeats) < 2:
        return None
    return float(np.std([repeat.value for repeat in repeats], ddof=1))
