"""The truth keeps to the published definitions, over scenarios from the whole population."""

import json
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from sample_rides.scenario import Scenario
from sample_rides.sheets import DEMO_SHEETS
from sample_rides.simulate import SimulatedRide, simulate
from tests.sample_rides.parts import layout_of
from track.arena import LETTERS

SEEDS = range(1, 5)


@cache
def drawn(seed: int) -> SimulatedRide:
    layout = layout_of(DEMO_SHEETS[seed % len(DEMO_SHEETS)])
    return simulate(layout, seed=seed, scenario=Scenario.drawn(seed))


@pytest.mark.parametrize("seed", SEEDS)
def test_placement_is_the_signed_way_from_the_letter_along_the_line(seed: int) -> None:
    """From the ridden line's nearest approach to the letter; negative is before it.

    A halt is told by how far it stands beyond the letter, on the straight it is ridden on.
    """
    one = drawn(seed)
    path = one.truth.path
    layout = layout_of(DEMO_SHEETS[seed % len(DEMO_SHEETS)])
    checked = 0
    for row in one.truth.transitions:
        if row.movement is None or row.from_gait == "halt":
            continue
        change = layout.movements[row.movement - 1].changes[(row.change or 1) - 1]
        second_of_two = row.to_gait != "halt" and row.placement_m is None
        if change.where != "at" or len(change.place) != 1 or second_of_two:
            continue
        letter = LETTERS[layout.sheet.arena][change.place]
        checked += 1
        if row.to_gait == "halt":
            heading = np.radians(np.interp(row.t_s, path.t_s, path.heading_deg))
            ahead = (letter[0] - row.x_m) * np.cos(heading)
            ahead += (letter[1] - row.y_m) * np.sin(heading)
            assert row.placement_m is None
            assert -ahead == pytest.approx(row.halt_place_m, abs=0.25)
            continue
        near = (path.t_s > row.t_s - 6.0) & (path.t_s < row.t_s + 6.0)
        t_s = np.arange(path.t_s[near][0], path.t_s[near][-1], 0.01)
        x_m, y_m = np.interp(t_s, path.t_s, path.x_m), np.interp(t_s, path.t_s, path.y_m)
        passed = int(np.argmin(np.hypot(x_m - letter[0], y_m - letter[1])))
        onset = int(np.searchsorted(t_s, row.t_s))
        low, high = sorted((passed, onset))
        way_m = np.hypot(np.diff(x_m[low : high + 1]), np.diff(y_m[low : high + 1])).sum()
        assert np.sign(onset - passed) * way_m == pytest.approx(row.placement_m, abs=0.25)
    assert checked >= 2


@pytest.mark.parametrize("seed", SEEDS)
def test_gaits_are_consistent_with_strides_and_speed(seed: int) -> None:
    truth = drawn(seed).truth
    for bout in truth.bouts:
        inside = (truth.path.t_s > bout.start_s + 1.0) & (truth.path.t_s < bout.end_s - 1.0)
        speed = truth.path.speed_ms[inside]
        if bout.gait in {"halt", "unknown"}:
            assert (speed < 0.1).all()
        strides = [s for s in truth.strides if bout.start_s - 1e-6 <= s.t_s < bout.end_s - 1e-6]
        assert {stride.gait for stride in strides} <= {bout.gait}
        for stride, following in pairwise(strides):
            assert following.t_s == pytest.approx(stride.t_s + stride.duration_s)


@pytest.mark.parametrize("seed", SEEDS)
def test_movements_follow_one_another_and_figures_lie_in_them(seed: int) -> None:
    truth = drawn(seed).truth
    for movement, following in pairwise(truth.movements):
        assert movement.end_s == pytest.approx(following.start_s)
        assert movement.end_s > movement.start_s
    for figure in truth.figures:
        row = next(item for item in truth.movements if item.number == figure.movement)
        assert row.start_s - 1.0 <= figure.start_s
        assert figure.end_s <= row.end_s + 1.0


@pytest.mark.parametrize("seed", SEEDS)
def test_truth_is_plain_json_and_repeats_the_scenario(seed: int) -> None:
    one = drawn(seed)
    plain = json.loads(json.dumps(one.truth.as_json(), allow_nan=False))
    assert plain["scenario"]["pocket"] == one.scenario.pocket
    assert plain["arena"]["x_lat_deg"] == one.scenario.lat_deg


def test_drawn_scenarios_cover_the_population() -> None:
    scenarios = [Scenario.drawn(seed) for seed in range(300)]
    heights = [one.withers_m for one in scenarios]
    assert min(heights) < 1.25
    assert max(heights) > 1.70
    assert all(0.85 <= one.rate_factor <= 1.15 for one in scenarios)
    assert all(abs(one.clock_offset_s) <= 15.0 for one in scenarios)
    assert all(0.0 <= one.receiver_lag_s <= 1.5 for one in scenarios)
    for name, values in {
        "seat": {"rising", "sitting"},
        "pocket": {"thigh", "jacket", "chest"},
        "noise": {"good", "typical", "poor"},
        "fix_interval_s": {0.5, 1.0, 2.0},
        "motion_rate_hz": {50.0, 100.0},
        "gyro": {True, False},
        "gravity": {True, False},
        "speed_and_course": {True, False},
        "clocks_shared": {True, False},
    }.items():
        assert {getattr(one, name) for one in scenarios} == values
