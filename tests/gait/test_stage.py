"""A made-up ride goes in; the same gaits, strides and changes must come out."""

import numpy as np
import pytest

from gait.bouts import Gaits, gait_at
from gait.stage import decode
from tests.gait.made import Made, made_ride

PLAN = [
    ("halt", 6.0), ("walk", 35.0), ("trot", 45.0), ("canter", 30.0), ("trot", 25.0),
    ("walk", 3.2), ("halt", 6.0), ("walk", 20.0),
]  # fmt: skip


def share_right(made: Made, gaits: Gaits) -> float:
    t = made.motion.t_s[::10]
    true = np.array(["" for _ in t], dtype=object)
    for gait, start, end in made.bouts:
        true[(t >= start) & (t < end)] = gait
    return float(np.mean(np.array(gait_at(gaits, t), dtype=object) == true))


@pytest.mark.parametrize("rising", [False, True])
@pytest.mark.parametrize("scale", [0.87, 1.0, 1.15])
def test_gaits_of_small_and_large_horses(scale: float, rising: bool) -> None:
    made = made_ride(PLAN, seed=3, scale=scale, rising=rising)
    gaits = decode(made.motion, None)
    assert share_right(made, gaits) > 0.985
    assert [bout.gait for bout in gaits.bouts] == [gait for gait, _, _ in made.bouts]


def test_the_unknown_azimuth_does_not_matter() -> None:
    seen = [
        decode(made_ride(PLAN, seed=5, azimuth_rad=a).motion, None) for a in (0.0, 1.2, 2.9, 4.4)
    ]
    for other in seen[1:]:
        assert [b.gait for b in other.bouts] == [b.gait for b in seen[0].bouts]
        np.testing.assert_allclose(
            [b.start_s for b in other.bouts], [b.start_s for b in seen[0].bouts], atol=0.1
        )


def test_later_clock_same_ride() -> None:
    made = made_ride(PLAN[:4], seed=6)
    there = decode(made.motion, None)
    moved = decode(_later(made, 1234.5), None)
    np.testing.assert_allclose(
        [s.t_s + 1234.5 for s in there.strides], [s.t_s for s in moved.strides], atol=1e-6
    )


def _later(made: Made, shift_s: float):  # type: ignore[no-untyped-def]
    from dataclasses import replace

    return replace(made.motion, t_s=made.motion.t_s + shift_s)


def test_strides_are_counted() -> None:
    made = made_ride(PLAN, seed=7)
    gaits = decode(made.motion, None)
    for gait in ("walk", "trot", "canter"):
        true = sum(1 for *_, g in made.strides if g == gait)
        found = sum(1 for s in gaits.strides if s.gait == gait)
        assert abs(found - true) <= max(2, 0.01 * true)


def test_walk_strides_on_the_way_to_a_halt_belong_to_one_transition() -> None:
    gaits = decode(made_ride(PLAN, seed=8).motion, None)
    pairs = [(t.from_gait, t.to_gait) for t in gaits.transitions]
    assert ("trot", "halt") in pairs
    row = next(t for t in gaits.transitions if t.to_gait == "halt")
    assert row.between_strides == pytest.approx(3.0, abs=0.7)
    assert row.t_sd_s > 0.0


def test_a_jog_is_an_event_and_no_transition() -> None:
    plan = [("walk", 25.0), ("trot", 2.3), ("walk", 25.0)]
    gaits = decode(made_ride(plan, seed=9).motion, None)
    assert [e.kind for e in gaits.events] == ["jog"]
    assert gaits.transitions == ()


def test_a_break_in_canter() -> None:
    plan = [("trot", 20.0), ("canter", 20.0), ("trot", 2.4), ("canter", 20.0)]
    gaits = decode(made_ride(plan, seed=10).motion, None)
    assert [e.kind for e in gaits.events] == ["break"]
    assert [(t.from_gait, t.to_gait) for t in gaits.transitions] == [("trot", "canter")]


def test_nothing_in_nothing_out() -> None:
    gaits = decode(None, None)
    assert gaits.strides == ()
    assert gaits.transitions == ()


@pytest.mark.parametrize("seed", [11, 12, 13, 14])
def test_a_first_stride_at_the_old_pace_is_of_the_new_gait(seed: int) -> None:
    plan = [("walk", 30.0), ("trot", 40.0), ("walk", 25.0), ("trot", 30.0)]
    made = made_ride(plan, seed=seed, late_pace=True)
    gaits = decode(made.motion, None)
    true = [start for _, start, _ in made.bouts[1:]]
    found = [change.t_s for change in gaits.transitions]
    off = np.abs(np.array(found) - true)
    assert np.median(off) < 0.25 and off.max() < 0.6
