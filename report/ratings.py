"""The three overall ratings: verdict counts per rein, a pooled value, one sentence; no score."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from report.pooling import pooled
from report.result import Finding, RatingRow, Ratings, Value
from report.settle import SHARED
from report.words import number
from track.path import Estimate

Side = Literal["left", "right", "straight"]
SIDES: Final[tuple[Side, ...]] = ("left", "right", "straight")
VERDICTS: Final = ("within", "near", "cannot tell", "outside")

SHAPE: Final = frozenset({
    "diameter", "width", "out_of_round", "length_minus_width", "quarter_spread", "second_half",
    "centre_offset",
})  # fmt: skip
RHYTHM: Final = frozenset({
    "tempo_range", "tempo_change", "jog_strides", "break_strides", "stride_time_cv",
})  # fmt: skip
PLACE: Final = frozenset({"placement", "halt_place"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Sided:
    """A finding with the rein it was ridden on."""

    finding: Finding
    side: Side


Words = Callable[[Estimate | None, str], str]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rating:
    name: Literal["circle_shape", "rhythm_regularity", "transition_placement"]
    measures: frozenset[str]
    lead: str
    unit: str
    words: Words


def ratings_of(found: Sequence[Sided]) -> Ratings:
    """Sum the findings of a ride up into the three ratings."""
    return Ratings(
        circle_shape=_row(_SHAPE_RATING, found),
        rhythm_regularity=_row(_RHYTHM_RATING, found),
        transition_placement=_row(_PLACE_RATING, found),
    )


def _row(rating: _Rating, found: Sequence[Sided]) -> RatingRow | None:
    own = [s for s in found if s.finding.measure in rating.measures]
    own = [s for s in own if s.finding.value is not None]
    if not own:
        return None
    value = pooled(_repeats(own, rating.lead), SHARED.get(rating.lead, 0.0))
    return RatingRow(
        name=rating.name,
        counts={side: _counts(own, side) for side in SIDES},
        pooled=None if value is None else Value(value=value.value, sd=value.sd),
        unit=rating.unit,
        sentence=rating.words(value, _tally(own)),
    )


def _repeats(found: Sequence[Sided], lead: str) -> list[Estimate]:
    """Values of the leading measure; a window between letters has no place to be pooled."""
    return [
        Estimate(value=s.finding.value, sd=s.finding.sd)
        for s in found
        if s.finding.measure == lead
        and s.finding.value is not None
        and s.finding.sd is not None
        and (s.finding.low is None or s.finding.low != s.finding.high)
    ]


def _counts(found: Sequence[Sided], side: Side) -> dict[str, int]:
    verdicts = Counter(s.finding.verdict for s in found if s.side == side)
    return {verdict: verdicts[verdict] for verdict in VERDICTS}


def _tally(found: Sequence[Sided]) -> str:
    verdicts = [s.finding.verdict for s in found if s.finding.verdict is not None]
    if not verdicts:
        return "nothing of it could be rated"
    within, outside = verdicts.count("within"), verdicts.count("outside")
    told = [f"{within} of {len(verdicts)} measures within"]
    if outside:
        told.append(f"{outside} outside")
    if len(verdicts) > within + outside:
        told.append(f"{len(verdicts) - within - outside} too fine or too rough to tell")
    return ", ".join(told)


def _shape_words(value: Estimate | None, tally: str) -> str:
    if value is None:
        return f"Circles and half circles: {tally}."
    return f"The circles were {number(value.value)} m out of round on average: {tally}."


def _rhythm_words(value: Estimate | None, tally: str) -> str:
    if value is None:
        return f"Tempo and evenness: {tally}."
    return (
        f"Inside a line or circle the tempo varied by {number(value.value)} strides a minute "
        f"on average: {tally}."
    )


def _place_words(value: Estimate | None, tally: str) -> str:
    if value is None:
        return f"Places of the transitions: {tally}."
    way = "after" if value.value > 0 else "before"
    return f"Transitions came {number(abs(value.value))} m {way} their letters on average: {tally}."


_SHAPE_RATING: Final = _Rating(
    name="circle_shape", measures=SHAPE, lead="out_of_round", unit="m", words=_shape_words
)
_RHYTHM_RATING: Final = _Rating(
    name="rhythm_regularity",
    measures=RHYTHM,
    lead="tempo_range",
    unit="strides/min",
    words=_rhythm_words,
)
_PLACE_RATING: Final = _Rating(
    name="transition_placement", measures=PLACE, lead="placement", unit="m", words=_place_words
)
