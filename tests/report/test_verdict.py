"""The verdict rule of the contract (section 4), against the normal law of scipy.stats."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from report.verdict import Band, around, at_least, at_most, chance_within, verdict_of

finite = st.floats(-50, 50)
sds = st.floats(0.01, 20)
widths = st.floats(0.05, 20)


@settings(deadline=None)
@given(value=finite, sd=sds, target=finite, width=widths)
def test_chance_agrees_with_the_reference_normal_law(
    value: float, sd: float, target: float, width: float
) -> None:
    law = stats.norm(value, sd)
    low, high = target - width, target + width
    assert chance_within(value, sd, low, high) == pytest.approx(law.cdf(high) - law.cdf(low))
    assert chance_within(value, sd, None, high) == pytest.approx(law.cdf(high))
    assert chance_within(value, sd, low, None) == pytest.approx(law.sf(low), abs=1e-12)


@given(value=finite, sd=sds, target=finite, width=widths)
def test_mirrored_findings_have_the_same_chance(
    value: float, sd: float, target: float, width: float
) -> None:
    low, high = target - width, target + width
    assert chance_within(-value, sd, -high, -low) == pytest.approx(
        chance_within(value, sd, low, high), abs=1e-12
    )


@given(value=finite, target=finite, width=widths)
def test_a_count_is_in_or_out(value: float, target: float, width: float) -> None:
    inside = target - width <= value <= target + width
    assert chance_within(value, 0.0, target - width, target + width) == float(inside)


@given(value=finite, sd=sds, target=finite, width=widths)
def test_definite_verdicts_are_as_sure_as_they_say(
    value: float, sd: float, target: float, width: float
) -> None:
    band = around(target, width)
    chance = chance_within(value, sd, band.low, band.high)
    verdict = verdict_of(chance, sd, band.half_width)
    assert (verdict == "within") == (chance >= 0.95)
    assert (verdict == "outside") == (chance <= 0.05 + 1e-12)
    if verdict == "near":
        assert band.half_width is not None
        assert sd <= band.half_width / 2
    if verdict == "cannot tell":
        assert band.half_width is not None
        assert sd > band.half_width / 2


def test_half_width_is_the_distance_from_the_target_to_the_one_limit() -> None:
    assert at_most(1.2).half_width == 1.2
    assert at_least(1.4, target=2.0).half_width == pytest.approx(0.6)
    assert at_least(3.0).half_width is None
    assert Band(target=0.0, low=0.0, high=0.0, slack=8.0).half_width == 8.0
    assert not Band(target=79.0).rated


def test_an_open_band_without_target_is_never_near() -> None:
    assert verdict_of(0.5, 0.01, at_least(3.0).half_width) == "cannot tell"
