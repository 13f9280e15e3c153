"""Sentences: one number and a place, an action offered and never ordered, no big promises."""

import re
from typing import Literal

import pytest

from report.bands import shipped_rules
from report.findings_place import said_place
from report.measured import About, Measured
from report.result import Verdict
from report.settle import (
    ONCE_MORE,
    SHARED,
    Means,
    because_of,
    repeats_needed,
    way_words,
    ways_to_settle,
)
from report.verdict import Band
from report.words import Names, length, number, plus_minus, strides
from report.words_findings import WORDINGS
from tests.report.made import gaits_of, ridden_of
from track.layout import Change

AVOIDED = re.compile(
    r"cadence|symmetry score|symmetry index|ride score|accuracy score|virtual judge|"
    r"predicted mark|lameness|heat map|must|never|wrong|bad",
    re.IGNORECASE,
)
VERDICTS: tuple[Verdict | None, ...] = ("within", "near", "cannot tell", "outside", None)
EVERYTHING = Means(gyro=True, speed=True, course=True, boards=True)


def measured(
    measure: str, verdict: Verdict | None, value: float = 1.3, sd: float = 0.4
) -> Measured:
    chance = {"within": 0.97, "near": 0.5, "cannot tell": 0.5, "outside": 0.02}.get(verdict or "")
    return Measured(
        measure=measure,
        unit=shipped_rules()[measure].unit,
        about=About(of="ride:1", start_s=1, end_s=9, gait="trot", what="the circle", where="at E"),
        value=value,
        sd=sd,
        band=Band(target=0.0, low=-1.0, high=1.0),
        chance=chance,
        verdict=verdict,
        asked=20.0 if measure in ("diameter", "width") else None,
        stride_m=2.7,
        detail="E",
    )


def test_every_measure_has_words() -> None:
    assert set(WORDINGS) == set(shipped_rules())


@pytest.mark.parametrize("measure", sorted(WORDINGS))
@pytest.mark.parametrize("verdict", VERDICTS)
@pytest.mark.parametrize("value", [-1.3, 1.3, 4.8])
def test_sentences(measure: str, verdict: Verdict | None, value: float) -> None:
    m = measured(measure, verdict, value)
    said = WORDINGS[measure](m)
    because = because_of(m, ways_to_settle(m, EVERYTHING))
    assert said.shown
    assert re.fullmatch(r"[A-Z].*\.", said.say), said.say
    assert re.search(r"\d|stride|horse|half", said.say), said.say
    assert "  " not in said.say
    if said.do:
        assert verdict == "outside"
        assert re.search(r"you might", said.do, re.IGNORECASE)
        assert said.do.endswith(".")
    for text in (said.shown, said.say, said.do, because):
        assert not AVOIDED.search(text), text
        assert "nan" not in text


@pytest.mark.parametrize("measure", sorted(ONCE_MORE))
def test_what_cannot_be_told_names_what_would_settle_it(measure: str) -> None:
    ways = ways_to_settle(measured(measure, "cannot tell", sd=0.7), EVERYTHING)
    because = because_of(measured(measure, "cannot tell", sd=0.7), ways)
    shared = repeats_needed(0.7, 1.0, SHARED.get(measure, 0.0)) is None
    assert bool(ways) != shared
    assert all(way_words(way) in because for way in ways)
    assert ("would settle it" in because) == bool(ways)
    assert ("would not settle it" in because) == shared
    assert ways_to_settle(measured(measure, "outside"), EVERYTHING) == ()


def test_missing_means_are_named() -> None:
    bare = Means(gyro=False, speed=False, course=False, boards=False)
    for measure, means in (
        ("diameter", "speed and course"), ("out_of_round", "gyroscope"), ("placement", "boards"),
    ):  # fmt: skip
        m = measured(measure, "cannot tell", sd=3)
        assert means in because_of(m, ways_to_settle(m, bare))


def test_repeats_never_settle_what_they_share() -> None:
    assert repeats_needed(1.0, 1.0, shared=0.5) is None
    assert repeats_needed(0.8, 1.5, shared=0.5) == 1
    assert repeats_needed(1.0, None, shared=0.0) is None
    more = [repeats_needed(sd, 1.5, shared=0.3) for sd in (0.8, 1.2, 1.6, 2.0)]
    assert more == sorted(more, key=lambda count: count or 99)


def test_numbers_are_said_plainly() -> None:
    assert number(-0.0) == "0.0"
    assert plus_minus(19.63, 0.004, "m") == "19.6 ± 0.1 m"
    assert length(2.5) == "2.5 m"
    assert strides(-1.0) == "one stride"


def test_places_lose_their_letters_while_the_ends_are_unknown() -> None:
    names = Names(size="20x60", known=False)
    for letter in "AKVESHCMRBPFDLXIG":
        assert not re.search(r"\b[A-Z]\b", names.place(letter))
    assert names.place("A and F") == "short side 1 and long side 2 near short side 1"
    assert Names(size="20x60", known=True).place("A and F") == "A and F"


@pytest.mark.parametrize(
    ("where", "place", "said"),
    [("at", "corner", "the corner"), ("part", "second half", "the second half"), ("at", "E", "E")],
)
def test_a_place_without_a_letter_is_named_as_one_says_it(
    where: Literal["at", "part"], place: str, said: str
) -> None:
    change = Change(
        text="", from_gait="walk", to_gait="trot", where=where, place=place, start_m=0, end_m=1
    )
    assert said_place(ridden_of(None, gaits_of([], {})), change) == said
