"""Why a verdict is what it is, and what would settle it where it is open."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from report.measured import Measured
from report.result import SettlesRow
from report.words import number, plus_minus

NOTHING_SETTLES: Final = "riding it again would not settle it"
MOST_REPEATS: Final = 6
"""More repeats than this are not proposed: horses are not to be drilled."""

SHARED: Final[Mapping[str, float]] = {
    "diameter": 0.4,
    "width": 0.4,
    "length_minus_width": 0.3,
    "out_of_round": 0.3,
    "second_half": 0.3,
    "centre_offset": 0.6,
    "placement": 0.5,
    "halt_place": 0.5,
    "leave_place": 0.6,
    "arrive_place": 0.6,
    "line_offset": 0.8,
    "loop_depth": 0.6,
}
"""Share of the sd that all repeats of one ride have in common: receiver lag, clocks, speed scale
and the arena's placement [sizes: measured on made-up rides, 0.38 of 1575 pairs; else judgement].
Measures not named have none."""

PLACED: Final = frozenset({
    "centre_offset", "placement", "halt_place", "leave_place", "arrive_place", "line_offset",
    "loop_depth", "corner_depth",
})  # fmt: skip
"""Measures that lean on where the arena lies."""
SIZED: Final = frozenset({"diameter", "width", "turn_radius", "corner_radius"})
"""Measures that lean on the speed."""
SHAPED: Final = frozenset({
    "out_of_round", "length_minus_width", "second_half", "wander", "heading_wobble", "overshoot",
    "corner_contrast",
})  # fmt: skip
"""Measures that lean on the turn rate."""

ONCE_MORE: Final[Mapping[str, str]] = {
    "diameter": "circle", "width": "half circle", "out_of_round": "circle",
    "length_minus_width": "circle", "second_half": "circle", "centre_offset": "circle",
    "quarter_spread": "circle", "placement": "transition", "between_strides": "transition",
    "settle_strides": "transition", "halt_place": "halt", "halt_time": "halt", "wander": "line",
    "heading_wobble": "line", "line_offset": "line", "overshoot": "turn", "turn_radius": "turn",
    "corner_radius": "corner", "corner_contrast": "corner",
}  # fmt: skip
"""What one repeat of a measure is called."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Means:
    """What the recording gave the measures to lean on.

    Attributes
    ----------
    gyro, speed, course : bool
        Whether the turn rate, the speed and the course were recorded.
    boards : bool
        Whether enough riding along the boards was seen, or an arena file was given.
    """

    gyro: bool
    speed: bool
    course: bool
    boards: bool


def because_of(m: Measured, ways: Sequence[SettlesRow]) -> str:
    """Say in plain words why a verdict is what it is.

    Parameters
    ----------
    m : Measured
    ways : sequence of SettlesRow
        What would settle it: :func:`ways_to_settle`.
    """
    if m.verdict is None:
        return "measured, not rated: there is no band for it at this level"
    chance = m.chance or 0.0
    if m.verdict == "within":
        return f"{_percent(chance)} sure that it is {_band_words(m)}"
    if m.verdict == "outside":
        return f"{_percent(1 - chance)} sure that it is not {_band_words(m)}"
    if m.verdict == "near":
        return f"about right: finer than a phone can tell, which is ± {_doubt(m)} here"
    settled = " or ".join(way_words(way) for way in ways)
    settled = f"{settled} would settle it" if settled else _why_not(m)
    return f"± {_doubt(m)} is too rough to say whether it is {_band_words(m)}; {settled}"


def _percent(chance: float) -> str:
    return "more than 99 %" if chance > 0.99 else f"{100 * chance:.0f} %"


def _doubt(m: Measured) -> str:
    return plus_minus(0, m.sd, m.unit, 2 if m.unit == "ratio" else 1).split("± ")[-1]


def _band_words(m: Measured) -> str:
    low, high = m.band.low, m.band.high
    if m.band.slack is not None:
        return "between the places asked for"
    if low is not None and high is not None:
        places = {"ratio": 2, "deg": 0}.get(m.unit, 1)
        return f"between {number(low + m.shift, places)} and {_limit(high + m.shift, m.unit)}"
    if high is not None:
        return f"{_limit(high, m.unit)} or less"
    return f"{_limit(low or 0.0, m.unit)} or more"


def _limit(limit: float, unit: str) -> str:
    if unit == "ratio":
        return f"{number(limit, 2)} times"
    if unit == "deg":
        return f"{number(limit, 0)}°"
    if unit == "strides" and limit == round(limit):
        return f"{number(limit, 0)} stride{'' if limit == 1 else 's'}"
    return f"{number(limit, 1)} {unit}"


def ways_to_settle(m: Measured, means: Means) -> tuple[SettlesRow, ...]:
    """What would settle a verdict that is open; empty where nothing would, or none is open."""
    if m.verdict != "cannot tell":
        return ()
    return tuple(way for way in (_missing(m, means), _repeats(m)) if way is not None)


def way_words(way: SettlesRow) -> str:
    """Say one way to settle a verdict.

    Examples
    --------
    >>> way_words(SettlesRow(what="circle", more=4))
    'the average with 4 more such circles'
    """
    if way.more is None:
        return way.what
    if way.more == 1:
        return f"the average with one more such {way.what}"
    return f"the average with {way.more} more such {way.what}s"


def _why_not(m: Measured) -> str:
    if m.measure in SHARED:
        return f"all repeats of a ride share most of this doubt, so {NOTHING_SETTLES}"
    return "it is close to the limit, and a few more repeats would not settle it"


def _missing(m: Measured, means: Means) -> SettlesRow | None:
    what = None
    if m.measure in PLACED and not means.boards:
        what = "a walk lap along the boards on each rein first"
    elif m.measure in SIZED | PLACED and not means.speed:
        what = "a logger that saves speed and course"
    elif m.measure in SHAPED and not means.gyro:
        what = "a logger that saves the gyroscope"
    return None if what is None else SettlesRow(what=what, more=None)


def _repeats(m: Measured) -> SettlesRow | None:
    count = repeats_needed(m.sd, m.band.half_width, SHARED.get(m.measure, 0.0))
    name = ONCE_MORE.get(m.measure)
    if m.measure == "diameter" and m.about.what.startswith("the half"):
        name = "half circle"
    if count is None or name is None or count > MOST_REPEATS:
        return None
    return SettlesRow(what=name, more=count)


def repeats_needed(sd: float, half_width: float | None, shared: float) -> int | None:
    """Return how many more repeats bring the doubt of their mean down to half the band.

    Parameters
    ----------
    sd : float
        Of one repeat.
    half_width : float or None
        Of the band; None or 0 where there is none.
    shared : float
        Share of ``sd`` that all repeats have in common, which no repeat settles.

    Returns
    -------
    int or None
        None where repeats do not help.

    Examples
    --------
    >>> repeats_needed(1.0, 1.0, 0.0), repeats_needed(1.0, 1.0, 0.6)
    (3, None)
    """
    if not half_width:
        return None
    own2 = sd**2 * (1 - shared**2)
    room2 = (half_width / 2) ** 2 - (sd * shared) ** 2
    if room2 <= 0:
        return None
    return max(1, math.ceil(own2 / room2 - 1e-9) - 1)
