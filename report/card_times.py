"""The time before a test, reckoned backwards from the bell."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from ingest.errors import TanbarkError

WARM_UP_MIN: Final = 25
"""At novice level 25:23 ± 10:02 min at competitions (Murray 2006)."""
SHARES: Final = {"walk": 0.39, "trot": 0.40, "canter": 0.20}
"""Of walk, trot and canter in it (Murray 2006)."""
READY_MIN: Final = 2
"""At the ring before the bell [common practice, no source]."""
GET_READY_MIN: Final = 20
"""From the box to mounting: tack, boots off, number on [common practice, no source]."""
LEAVE_RING_MIN: Final = 2
"""From the final halt of one test to walking on the warm-up ground [common practice]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing to begin, in whole minutes before the start."""

    what: str
    before_min: int


def parse_starts(text: str | None, tests: int) -> list[int | None]:
    """Read ``--starts``: times of day of the starts, in minutes after midnight.

    Parameters
    ----------
    text : str or None
        ``"10:40,11:02"``; None where the starts are not known.
    tests : int
        How many are needed.

    Raises
    ------
    TanbarkError
        Not that many times, not a time of day, or not in order.

    Examples
    --------
    >>> parse_starts("10:40,11:02", 2)
    [640, 662]
    """
    if text is None:
        return [None] * tests
    words = [word.strip() for word in text.split(",")]
    if len(words) != tests:
        raise TanbarkError(
            f"--starts '{text}': {len(words)} times for {tests} tests; "
            "write one time for each test, parted by commas, such as 10:40,11:02"
        )
    starts: list[int | None] = [_minute_of_day(word, text) for word in words]
    known = [start for start in starts if start is not None]
    if known != sorted(set(known)):
        raise TanbarkError(f"--starts '{text}': the second test must start after the first")
    return starts


def _minute_of_day(word: str, text: str) -> int:
    found = re.fullmatch(r"(\d{1,2}):(\d{2})", word)
    hour, minute = (int(part) for part in found.groups()) if found else (99, 0)
    if hour > 23 or minute > 59:
        raise TanbarkError(f"--starts '{text}': '{word}' is not a time of day; write it as 10:40")
    return 60 * hour + minute


def steps_before(*, canter: bool, minutes: int = WARM_UP_MIN, mounted: bool = False) -> list[Step]:
    """What to begin when, for a warm-up of some minutes that ends at the ring.

    Parameters
    ----------
    canter : bool
        Whether the test asks for canter.
    minutes : int
        From mounting, or from the end of the test before, to the bell.
    mounted : bool
        Already in the saddle: nothing to get ready.

    Examples
    --------
    >>> [(step.what, step.before_min) for step in steps_before(canter=False)]
    [('tack', 45), ('walk', 25), ('trot', 14), ('ring', 2)]
    """
    ready = min(READY_MIN, max(0, minutes - 1))
    work = minutes - ready
    shares = SHARES if canter else {k: v for k, v in SHARES.items() if k != "canter"}
    total = sum(shares.values())
    steps = [] if mounted else [Step(what="tack", before_min=minutes + GET_READY_MIN)]
    left = float(work)
    for gait, share in shares.items():
        if round(work * share / total) >= 1:
            what = "walk on" if mounted and gait == "walk" else gait
            steps.append(Step(what=what, before_min=ready + round(left)))
        left -= work * share / total
    return [*steps, Step(what="ring", before_min=ready)]


def gap_minutes(starts: Sequence[int | None], test_s: float) -> int:
    """Whole minutes between the end of one test and the start of the next.

    Examples
    --------
    >>> gap_minutes([640, 662], test_s=305)
    14
    """
    first, second = starts
    if first is None or second is None:
        return WARM_UP_MIN
    return max(1, int(second - first - test_s / 60 - LEAVE_RING_MIN))


def time_of_day(minute: int) -> str:
    """A minute of the day as it is written on a start list.

    Examples
    --------
    >>> time_of_day(615)
    '10:15'
    """
    return f"{minute // 60 % 24}:{minute % 60:02d}"
