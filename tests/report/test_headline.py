"""What is said first: chosen for difference and for weight, never invented."""

from dataclasses import replace

import pytest

from report.headline import cost, every_finding, family, first_few, headline, settles_most
from report.measured import About, Measured
from report.result import Finding, SettlesRow
from report.settle import Means, ways_to_settle
from report.verdict import around
from tests.report.invented_line import layout
from tests.report.invented_result import STATES, finding, whole


def test_three_at_most_and_no_two_of_one_kind() -> None:
    head = headline(whole(), layout())
    assert len(head.school) == 3 and len(head.well) == 3
    assert len({t.movement for t in head.school}) == 3
    assert len({family(t.finding.measure) for t in head.school}) == 3


def test_only_what_the_data_bear_out_is_said() -> None:
    head = headline(whole(), layout())
    assert {t.finding.verdict for t in head.school} == {"outside"}
    assert {t.finding.verdict for t in head.well} == {"within"}
    nothing = headline(STATES["cannot-tell"](), layout())
    assert nothing.school == () and nothing.well == ()
    assert nothing.untold > 5


def test_no_homework_without_an_action() -> None:
    result = whole()
    silent = [
        m.model_copy(update={"findings": [f.model_copy(update={"do": ""}) for f in m.findings]})
        for m in result.movements
    ]
    head = headline(result.model_copy(update={"movements": silent}), layout())
    assert head.school == () and head.outside > 0


def test_a_mark_that_counts_twice_weighs_twice() -> None:
    told = {t.movement: t for t in every_finding(whole(), layout())}
    assert told[3].coefficient == 2 and told[1].coefficient == 1


@pytest.mark.parametrize(
    ("value", "low", "high", "over"),
    [
        (20.0, 16.9, 19.9, 0.1),
        (15.4, 16.9, 19.9, 1.5),
        (18.0, 16.9, 19.9, 0.0),
        (3.0, None, 1.5, 1.5),
    ],
)  # fmt: skip
def test_cost_is_the_distance_outside_in_half_bands(
    value: float, low: float | None, high: float | None, over: float
) -> None:
    told = next(every_finding(whole(), layout()))
    target = 18.4 if low is not None else 0.0
    made = finding("diameter", value, 0.3, "m", target=target, low=low, high=high)
    assert cost(replace(told, finding=made, coefficient=1)) == pytest.approx(over / 1.5)


def test_an_open_verdict_names_its_ways_in_a_field_of_their_own() -> None:
    about = About(of="ride:1", start_s=0.0, end_s=9.0, gait="trot", what="the circle", where="at E")
    measured = Measured(
        measure="placement", value=3.4, sd=2.4, unit="m", band=around(0.0, 3.6), about=about,
        verdict="cannot tell", chance=0.5,
    )  # fmt: skip
    poor = Means(gyro=True, speed=True, course=True, boards=False)
    ways = ways_to_settle(measured, poor)
    assert ways[0].what == "a walk lap along the boards on each rein first"
    assert ways[0].more is None


def test_ways_that_differ_only_in_number_are_one() -> None:
    def unsure(what: str = "", more: int | None = None) -> Finding:
        ways = [SettlesRow(what=what, more=more)] if what else []
        return finding("diameter", 1.0, 1.0, "m", verdict="cannot tell", settles=ways)

    logger = unsure("a logger that saves speed and course")
    found = [unsure("circle", 2), unsure("circle", 5), logger, unsure()]
    assert settles_most(found) == ("the average with 5 more such circles", 2)


def test_one_thing_is_not_named_twice_however_little_there_is() -> None:
    circle = [
        replace(
            next(every_finding(whole(), layout())),
            finding=finding(measure, 3.0, 0.1, "m", verdict="outside", of="ride:1", say=measure),
        )
        for measure in ("diameter", "out_of_round", "centre_offset")
    ]
    assert len(first_few(circle, ())) == 1
    other = replace(circle[1], movement=7)
    assert len(first_few([*circle, other], ())) == 2
