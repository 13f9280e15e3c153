"""A few walk steps inside a trot are found, and steps before a halt end where they end."""

import numpy as np
import pytest

from gait.envelope import change_point, place_standing
from gait.passages import largest_sum
from gait.stage import decode
from tests.gait.made import made_ride

STEPS_S = {"three steps": 1.6, "five steps": 2.7}


@pytest.mark.parametrize("steps", STEPS_S)
@pytest.mark.parametrize("about", ["trot", "canter"])
def test_walk_for_a_few_steps_is_two_transitions(about: str, steps: str) -> None:
    plan = [("walk", 20.0), (about, 25.0), ("walk", STEPS_S[steps]), (about, 25.0), ("walk", 12.0)]
    made = made_ride(plan, seed=21)
    found = [(t.from_gait, t.to_gait, t.t_s) for t in decode(made.motion, None).transitions]
    for (old, _, end), (new, *_) in list(zip(made.bouts, made.bouts[1:], strict=False))[1:3]:
        near = [t for a, b, t in found if (a, b) == (old, new) and abs(t - end) < 0.6]
        assert len(near) == 1


def test_an_even_trot_has_no_walk_in_it() -> None:
    made = made_ride([("walk", 20.0), ("trot", 120.0), ("walk", 20.0)], seed=22, rising=True)
    assert [b.gait for b in decode(made.motion, None).bouts] == ["walk", "trot", "walk"]


@pytest.mark.parametrize("gait", ["walk", "trot"])
def test_standing_begins_and_ends_within_a_quarter_of_a_second(gait: str) -> None:
    made = made_ride([("walk", 20.0), (gait, 20.0), ("halt", 6.0), (gait, 20.0)], seed=23)
    halt = next(b for b in decode(made.motion, None).bouts if b.gait == "halt")
    _, start, end = next(b for b in made.bouts if b[0] == "halt")
    assert halt.start_s == pytest.approx(start, abs=0.25)
    assert halt.end_s == pytest.approx(end, abs=0.25)


def test_change_point_and_largest_sum_by_trying_all() -> None:
    rng = np.random.default_rng(4)
    for _ in range(30):
        row = rng.random(12) < np.linspace(1.0, 0.0, 12)
        wrong = [int((~row[:k]).sum() + row[k:].sum()) for k in range(12)]
        assert wrong[change_point(row)] == min(wrong)
        values = rng.normal(size=9)
        best = max(values[a:b].sum() for a in range(9) for b in range(a + 1, 10))
        assert largest_sum(values)[2] == pytest.approx(max(best, 0.0))


def test_standing_cannot_be_placed_without_steps() -> None:
    t = np.arange(0.0, 1.0, 0.04)
    assert place_standing(t, np.zeros(t.size), 0.5, limits_s=(0.4, 0.6), into=True) is None
