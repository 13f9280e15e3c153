"""What must never change the result: column order, units, time base, row order, doubled rows."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from ingest.columns import (
    ACCEL_MS2,
    ACCURACY_M,
    COURSE_DEG,
    GYRO_RADS,
    LAT_DEG,
    LON_DEG,
    SPEED_MS,
    T_S,
)
from ingest.reading import read_recording
from ingest.times import tidied
from tests.ingest.signals import EPOCH_S, Floats, invented

RIDE = invented()
HEADERS = ["acc_x", "acc_y", "acc_z", "gyro_x", "gyro_y", "gyro_z"]
SENSORS = np.hstack([RIDE.accel_ms2, RIDE.gyro_rads])
QUICK = settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


def read(header: list[str], values: Floats) -> tuple[Floats, Floats]:
    lines = [",".join(header), *(",".join(f"{v:.9f}" for v in row) for row in values)]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        path.write_text("\n".join(lines) + "\n")
        motion = read_recording([path]).motion
    assert motion is not None
    return motion[T_S].to_numpy(), motion[[*ACCEL_MS2, *GYRO_RADS]].to_numpy()


def same(header: list[str], values: Floats) -> None:
    t_s, sensors = read(header, values)
    np.testing.assert_allclose(t_s, RIDE.t_s, atol=3e-6)
    np.testing.assert_allclose(sensors, SENSORS, atol=2e-6)


@QUICK
@given(order=st.permutations(range(7)))
def test_column_order_changes_nothing(order: list[int]) -> None:
    header = ["time_s", *HEADERS]
    values = np.column_stack([RIDE.t_s, SENSORS])
    same([header[k] for k in order], values[:, order])


@QUICK
@given(
    g=st.sampled_from([1.0, 1 / 9.80665, 1e3 / 9.80665]),
    turn=st.sampled_from([1.0, 180 / np.pi]),
    named=st.booleans(),
)
def test_units_change_nothing(g: float, turn: float, named: bool) -> None:
    acc = {1.0: "m/s²", 1 / 9.80665: "g"}.get(g, "mg")
    rate = "rad/s" if turn == 1.0 else "deg/s"
    header = [f"{h} ({acc if h[0] == 'a' else rate})" if named else h for h in HEADERS]
    values = np.column_stack([RIDE.t_s, RIDE.accel_ms2 * g, RIDE.gyro_rads * turn])
    same(["time", *header], values)


@QUICK
@given(
    start_s=st.floats(0, 3e9).filter(lambda s: not 9.4e8 < s < 9.5e8),
    factor=st.sampled_from([1.0, 1e3, 1e6]),
)
def test_time_base_changes_nothing(start_s: float, factor: float) -> None:
    values = np.column_stack([(start_s + RIDE.t_s) * factor, SENSORS])
    same(["time", *HEADERS], values)


@QUICK
@given(seed=st.integers(0, 2**32 - 1), doubled=st.integers(0, 200))
def test_row_order_and_doubled_rows_change_nothing(seed: int, doubled: int) -> None:
    rng = np.random.default_rng(seed)
    rows = np.concatenate([np.arange(len(RIDE.t_s)), rng.integers(0, len(RIDE.t_s), doubled)])
    rng.shuffle(rows)
    values = np.column_stack([RIDE.t_s, SENSORS])
    same(["time_s", *HEADERS], values[rows])


PLACE = ["time", "latitude", "longitude", "speed", "course", "accuracy"]
FIXES = np.column_stack(
    [RIDE.lat_deg, RIDE.lon_deg, RIDE.speed_ms, RIDE.course_deg, np.full(len(RIDE.fix_s), 4.0)]
)
COLUMNS = [LAT_DEG, LON_DEG, SPEED_MS, COURSE_DEG, ACCURACY_M]


def same_fixes(header: list[str], values: Floats) -> None:
    lines = [",".join(header), *(",".join(f"{v:.9f}" for v in row) for row in values)]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "location.csv"
        path.write_text("\n".join(lines) + "\n")
        fixes = read_recording([path]).fixes
    assert fixes is not None
    np.testing.assert_allclose(fixes[T_S], RIDE.fix_s, atol=3e-6)
    np.testing.assert_allclose(fixes[COLUMNS], FIXES, atol=1e-7, rtol=0)


@QUICK
@given(
    order=st.permutations(range(6)),
    seed=st.integers(0, 2**32 - 1),
    doubled=st.integers(0, 30),
)
def test_order_and_doubled_rows_change_no_fix(order: list[int], seed: int, doubled: int) -> None:
    rng = np.random.default_rng(seed)
    rows = np.concatenate([np.arange(len(FIXES)), rng.integers(0, len(FIXES), doubled)])
    rng.shuffle(rows)
    values = np.column_stack([EPOCH_S + RIDE.fix_s, FIXES])
    same_fixes([PLACE[k] for k in order], values[rows][:, order])


@QUICK
@given(
    start_s=st.floats(0, 3e9).filter(lambda s: not 9.4e8 < s < 9.5e8),
    factor=st.sampled_from([1.0, 1e3, 1e6]),
    speed=st.sampled_from([("m/s", 1.0), ("km/h", 3.6), ("kn", 3600 / 1852)]),
    named=st.booleans(),
)
def test_time_base_and_unit_of_speed_change_no_fix(
    start_s: float, factor: float, speed: tuple[str, float], named: bool
) -> None:
    """A unit that is not named shows in the distance between fixes (1 kn is 1852 m an hour)."""
    values = np.column_stack([(start_s + RIDE.fix_s) * factor, FIXES])
    values[:, 3] *= speed[1]
    header = [f"{word} ({speed[0]})" if named and word == "speed" else word for word in PLACE]
    same_fixes(header, values)


@given(
    times=st.lists(st.floats(-1e4, 1e4), min_size=1, max_size=60),
    broken=st.lists(st.sampled_from([np.nan, np.inf, -np.inf, 1e300]), max_size=5),
)
def test_tidied_rows_ascend_and_hold_every_usable_row_once(
    times: list[float], broken: list[float]
) -> None:
    t_s = np.array(times + broken)
    values = np.arange(len(t_s), dtype=np.float64)[:, None]
    tidy = tidied(t_s, values, np.ones(len(t_s), dtype=bool), spread=False)
    assert (np.diff(tidy.t_s) >= 0).all()
    assert sorted(tidy.order) == list(range(len(times)))
    assert tidy.unreadable == len(broken)
