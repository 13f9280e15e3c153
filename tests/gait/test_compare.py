"""Statistics of a comparison against published tables and the reference library."""

import numpy as np
import pytest
from scipy.stats import t, ttest_ind

from gait.compare import between, called, power_of, sessions_needed, smallest_change


@pytest.mark.parametrize(("first", "second"), [(9, 9), (3, 8), (8, 5)])
def test_statistic_is_welchs_and_its_freedom_lies_between_two_references(
    first: int, second: int
) -> None:
    # Welch's degrees of freedom: scipy; Hsu's bound, the smaller side's count less one [recalled]
    rng = np.random.default_rng(1)
    before, after = rng.normal(79, 1, first), rng.normal(80, 2, second)
    ours, theirs = between(before, after), ttest_ind(after, before, equal_var=False)
    least = min(first, second) - 1
    assert ours is not None
    assert ours.value / ours.se == pytest.approx(theirs.statistic)
    assert 1 / ours.df == pytest.approx((1 / theirs.df + 1 / least) / 2)
    assert theirs.pvalue < ours.chance < 2 * t.sf(abs(theirs.statistic), least)


@pytest.mark.parametrize(("d", "count"), [(0.5, 64), (0.8, 26)])
def test_sessions_needed_are_those_of_published_tables(d: float, count: int) -> None:
    # Cohen (1988), table 2.4.1: two-sided 5 %, power 0.8 [recalled]
    edge = {64: 1.9791, 26: 2.0086}[count]
    shift = d * np.sqrt(count / 2)
    assert power_of(float(shift), 2 * count - 2, edge) == pytest.approx(0.80, abs=0.012)
    if count <= 60:
        # A little more freedom is given away here than in those tables.
        assert sessions_needed(d, 1.0, 0.05) in {count, count + 1}


def test_false_changes_stay_under_one_in_twenty_and_the_smallest_shows_as_told() -> None:
    rng = np.random.default_rng(2)
    false = shown = 0
    size = smallest_change(float(np.sqrt(2 / 8)), 28 / 3, 0.05)  # 2 / (1 / 14 + 1 / 7)
    for _ in range(1500):
        rows = [between(rng.normal(0, 1, 8), rng.normal(0, 1, 8)) for _ in range(10)]
        false += any(called([r.chance for r in rows if r], [0.5] + [0.5 / 9] * 9))
        one = between(rng.normal(0, 1, 8), rng.normal(size, 1, 8))
        shown += one is not None and one.chance < 0.05
    assert false / 1500 < 0.065  # 5 % and three of its standard errors
    assert shown / 1500 == pytest.approx(0.8, abs=0.035)


def test_two_rides_or_rides_all_alike_tell_nothing() -> None:
    assert between(np.array([1.0]), np.array([2.0])) is None
    assert between(np.ones(4), np.ones(4)) is None
