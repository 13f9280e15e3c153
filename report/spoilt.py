"""What spoils a stretch, so that neither its shape nor its tempo is hers to be measured."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from gait.bouts import Gaits
from report.ridden import RiddenSheet, Term

SPOILT_WORDS: Final = {"spook": "a spook", "break": "a break of gait"}
"""Events that leave no shape and no tempo to be measured."""
ASTRAY_WORDS: Final = "an error of course"
SHARED_S: Final = 1.0
"""An error of course that a stretch shares for less is its neighbour's."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoiler:
    """Something that happened, in words, and when."""

    words: str
    start_s: float
    end_s: float

    def within(self, start_s: float, end_s: float) -> bool:
        """True where it fell into a stretch."""
        least = SHARED_S if self.words == ASTRAY_WORDS else 0.0
        return min(self.end_s, end_s) - max(self.start_s, start_s) > least


def spoilers_of(gaits: Gaits, sheet: RiddenSheet | None = None) -> Iterator[Spoiler]:
    """Spooks, breaks and errors of course of a ride."""
    for start_s, end_s in () if sheet is None else sheet.astray_s:
        yield Spoiler(words=ASTRAY_WORDS, start_s=start_s, end_s=end_s)
    for event in gaits.events:
        if event.kind in SPOILT_WORDS:
            yield Spoiler(words=SPOILT_WORDS[event.kind], start_s=event.start_s, end_s=event.end_s)


def spoilt_by(
    gaits: Gaits, start_s: float, end_s: float, sheet: RiddenSheet | None = None
) -> Spoiler | None:
    """Find what spoilt a stretch; None where nothing did."""
    return next((s for s in spoilers_of(gaits, sheet) if s.within(start_s, end_s)), None)


def told_before(spoiler: Spoiler, sheet: RiddenSheet, term: Term) -> bool:
    """True where an earlier term of the same movement tells of it already."""
    return any(
        spoiler.within(other.start_s, other.end_s)
        for other in sheet.terms_of(term.movement, term.run)
        if other.start_s < term.start_s and not other.stretch.filled
    )
