"""Repeats, ratings and planted faults."""

import numpy as np
import pytest

from report.detection import chance_shown
from report.pooling import mean_in_ride, pooled, spread_of_repeats
from report.ratings import Sided, ratings_of
from report.repeats import of_one_size
from report.result import FigureRow, Finding, Verdict
from report.verdict import around, at_most
from track.path import Estimate


def test_the_spread_between_repeats_counts_and_shared_error_stays() -> None:
    alike = [Estimate(value=18.0, sd=0.5)] * 4
    own, common = 0.5 * np.sqrt(1 - 0.25) / 2, 0.25
    known = pooled(alike, shared=0.5)
    assert known is not None
    assert known.value == 18.0
    assert known.sd == pytest.approx(np.hypot(own, common))
    apart = pooled([Estimate(value=v, sd=0.1) for v in (16.0, 18.0, 20.0)], shared=0.0)
    assert apart is not None
    assert apart.sd == pytest.approx(2.0 / np.sqrt(3))
    assert pooled([], shared=0.0) is None


def test_pooled_doubt_is_true_when_a_ride_has_errors_in_common() -> None:
    rng = np.random.default_rng(7)
    held = 0
    for _ in range(600):
        common = rng.normal(0, 0.3)
        repeats = [Estimate(value=common + rng.normal(0, 0.4), sd=0.5) for _ in range(5)]
        mean = pooled(repeats, shared=0.6)
        assert mean is not None
        held += abs(mean.value) <= 1.96 * mean.sd
    assert 0.93 <= held / 600 <= 0.99


def test_the_mean_of_a_ride_leaves_the_habit_out() -> None:
    three = [Estimate(value=v, sd=0.6) for v in (16.0, 18.0, 20.0)]
    ride, habit = mean_in_ride(three, shared=0.5), pooled(three, shared=0.5)
    assert ride is not None
    assert habit is not None
    assert ride.value == habit.value == 18.0
    assert ride.sd == pytest.approx(0.6 * np.sqrt(0.75 / 3 + 0.25))
    assert ride.sd < habit.sd
    assert spread_of_repeats(three) == pytest.approx(2.0)
    assert spread_of_repeats(three[:1]) is None


def finding(measure: str, value: float, verdict: Verdict | None) -> Finding:
    return Finding(
        measure=measure,
        of="ride:1",
        start_s=0.0,
        end_s=10.0,
        gait="trot",
        value=value,
        sd=0.3,
        unit="m",
        target=0.0,
        low=None,
        high=1.0,
        chance_within=0.5,
        verdict=verdict,
        shown="",
        say="",
        do="",
        because="",
    )


def test_ratings_count_verdicts_per_rein_and_are_never_one_score() -> None:
    found = [
        Sided(finding=finding("out_of_round", 0.6, "within"), side="left"),
        Sided(finding=finding("out_of_round", 1.4, "outside"), side="right"),
        Sided(finding=finding("diameter", 18.0, "near"), side="right"),
        Sided(finding=finding("placement", 2.0, "within"), side="straight"),
    ]
    ratings = ratings_of(found)
    assert ratings.circle_shape is not None
    assert ratings.circle_shape.counts["left"]["within"] == 1
    assert ratings.circle_shape.counts["right"] == {
        "within": 0, "near": 1, "cannot tell": 0, "outside": 1,
    }  # fmt: skip
    assert ratings.circle_shape.pooled is not None
    assert ratings.circle_shape.pooled.value == pytest.approx(1.0)
    assert ratings.transition_placement is not None
    assert ratings.transition_placement.sentence.startswith("Transitions came 2.0 m after")
    assert ratings.rhythm_regularity is None


def test_chance_that_a_planted_fault_is_called() -> None:
    assert chance_shown(10.0, 0.5, at_most(1.0)) == pytest.approx(1.0)
    assert chance_shown(0.0, 0.5, around(0.0, 1.5)) == 0.0
    rising = [chance_shown(size, 0.8, around(0.0, 1.5)) for size in (1, 2, 3, 4, 5)]
    assert rising == sorted(rising)
    # On the limit itself it is called in the one case of twenty that the rule allows.
    assert chance_shown(1.5, 0.3, around(0.0, 1.5)) == pytest.approx(0.05, abs=0.02)


def free_circle(size_m: float, at_s: float) -> FigureRow:
    size = finding("diameter", size_m, None)
    return FigureRow(
        kind="circle", rein="left", start_s=at_s, end_s=at_s + 20, movement=None, findings=[size]
    )


def test_free_circles_of_about_one_size_are_repeats_wherever_the_size_lies() -> None:
    for middle in np.arange(9.0, 20.0, 0.25):
        near = [free_circle(middle + off, 30.0 * i) for i, off in enumerate((0.2, -0.3, 0.4))]
        groups = of_one_size([*near, free_circle(middle + 5.0, 200.0)])
        assert [len(group) for group in groups] == [3, 1]
        assert [row.start_s for row in groups[0]] == [0.0, 30.0, 60.0]


def test_a_chain_of_sizes_is_not_one_figure() -> None:
    groups = of_one_size([free_circle(size, size) for size in (10.0, 11.2, 12.4, 13.6, 14.8)])
    sizes = [[f.findings[0].value or 0.0 for f in group] for group in groups]
    assert all(max(group) - min(group) <= 3.0 for group in sizes)
