"""One invented ride written in hundreds of ways reads as the same samples every time."""

from itertools import combinations, product
from pathlib import Path

import numpy as np
import pytest

from ingest.columns import ACCEL_MS2, GYRO_RADS, T_S
from ingest.errors import RecordingError
from ingest.reading import ReadOptions, read_recording
from tests.ingest.dialects import Way, ways, write
from tests.ingest.signals import invented

RIDE = invented()
WAYS = list(ways())


def test_the_matrix_is_as_large_as_promised() -> None:
    assert len({way.name for way in WAYS}) >= 300


def test_every_two_values_meet_in_some_way() -> None:
    kinds = [
        [(way.delimiter, way.decimal) for way in WAYS],
        [(way.acceleration, way.turn_rate) for way in WAYS],
        *(
            [getattr(way, kind) for way in WAYS]
            for kind in ("time", "words", "gravity", "order", "layout", "dressing")
        ),
    ]
    for one, other in combinations(kinds, 2):
        assert set(zip(one, other, strict=True)) == set(product(one, other))


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.name)
def test_each_way_reads_as_the_same_samples(way: Way, tmp_path: Path) -> None:
    recording = read_recording(write(way, RIDE, tmp_path))
    motion = recording.motion
    assert motion is not None
    assert recording.gravity_included == (way.gravity != "out")
    free = RIDE.accel_ms2 - RIDE.gravity_ms2
    accel = free if way.gravity == "out" else RIDE.accel_ms2
    np.testing.assert_allclose(motion[T_S], RIDE.t_s, atol=2e-6)
    np.testing.assert_allclose(motion[list(ACCEL_MS2)], accel, atol=1e-6)
    np.testing.assert_allclose(motion[list(GYRO_RADS)], RIDE.gyro_rads, atol=1e-7)


def _bare(acceleration: str, turn_rate: str) -> Way:
    return Way(
        delimiter=",",
        decimal=".",
        time="epoch ms",
        acceleration=acceleration,
        turn_rate=turn_rate,
        words="snake",
        gravity="in",
        order="t xyz xyz",
        layout="wide",
        dressing="plain",
    )


def test_gravity_out_and_no_unit_anywhere_is_asked_for(tmp_path: Path) -> None:
    quiet = (RIDE.accel_ms2 - RIDE.gravity_ms2) * 0.2
    rows = ["time_s,lin_acc_x,lin_acc_y,lin_acc_z"]
    rows += [
        f"{t:.3f},{a:.6f},{b:.6f},{c:.6f}" for t, (a, b, c) in zip(RIDE.t_s, quiet, strict=True)
    ]
    path = tmp_path / "a.csv"
    path.write_text("\n".join(rows))
    with pytest.raises(RecordingError, match=r"^a\.csv: .*--motion-unit ms2") as fault:
        read_recording([path])
    assert "\n" not in str(fault.value)
    recording = read_recording([path], options=ReadOptions(motion_unit="g"))
    assert recording.motion is not None and not recording.gravity_included
    np.testing.assert_allclose(recording.motion[list(ACCEL_MS2)], quiet * 9.80665, atol=1e-4)


def test_a_turn_rate_that_moves_nothing_is_asked_for(tmp_path: Path) -> None:
    """A phone lying level and only turning shows no unit: gravity stays where it is."""
    rng = np.random.default_rng(3)
    rows = ["time_s,acc_x,acc_y,acc_z,gyro_x,gyro_y,gyro_z"]
    for k in range(3000):
        a = rng.normal([0.0, 0.0, 9.81], 0.02)
        g = rng.normal(0.0, 1e-3, 2)
        rows.append(f"{k / 50:.2f}," + ",".join(f"{v:.6f}" for v in (*a, *g, 0.5)))
    path = tmp_path / "spin.csv"
    path.write_text("\n".join(rows))
    with pytest.raises(RecordingError, match="rad/s or deg/s cannot be told"):
        read_recording([path])
    recording = read_recording([path], options=ReadOptions(motion_unit="degs"))
    assert recording.motion is not None
    assert recording.motion[GYRO_RADS[2]].median() == pytest.approx(np.radians(0.5))


@pytest.mark.parametrize("turn_rate", ["rad/s", "deg/s"])
def test_the_ground_of_each_decision_is_told(turn_rate: str, tmp_path: Path) -> None:
    recording = read_recording(write(_bare("g", turn_rate), RIDE, tmp_path))
    told = {note.code: note.text for note in recording.notes}
    assert "at rest log0.csv reads gravity in g" in told["acceleration-g"]
    code = "turn-rate-rads" if turn_rate == "rad/s" else "turn-rate-degs"
    assert "gravity turns against it" in told[code]
    assert told["time-epoch"].startswith("Times of log0.csv: milliseconds, UTC")
