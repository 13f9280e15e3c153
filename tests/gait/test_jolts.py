"""A single jolt is told; an even trot, a loose phone and a gap in the log are not."""

from dataclasses import replace

import numpy as np

from gait.stage import decode
from tests.gait.made import made_ride
from track.motion import Motion

PLAN = [("walk", 20.0), ("trot", 70.0), ("walk", 20.0)]


def _jolted(motion: Motion, at_s: list[float], axis: str) -> Motion:
    """A drop and catch, or a leap aside and back, within half a second."""
    values = getattr(motion, axis).copy()
    for at in at_s:
        u = (motion.t_s - at) / 0.12
        values += 18.0 * u * np.exp(-0.5 * u**2)
    return replace(motion, **{axis: values})


def _kinds(motion: Motion) -> list[str]:
    return [e.kind for e in decode(motion, None).events if e.kind in ("stumble", "spook")]


def test_a_drop_is_a_stumble_and_a_leap_aside_a_spook() -> None:
    motion = made_ride(PLAN, seed=31, rising=True).motion
    assert _kinds(motion) == []
    assert _kinds(_jolted(motion, [50.0], "up_ms2")) == ["stumble"]
    assert _kinds(_jolted(motion, [50.0], "level_a_ms2")) == ["spook"]


def test_a_phone_that_jolts_again_and_again_is_loose() -> None:
    motion = made_ride(PLAN, seed=32).motion
    for at_s in ([35.0, 60.0], [35.0, 45.0, 55.0, 65.0, 75.0]):
        jolted = _jolted(motion, at_s, "level_a_ms2")
        assert _kinds(jolted) == []
        assert "jolts-not-told" in [note.code for note in decode(jolted, None).notes]


def test_a_phone_that_moved_in_its_pocket_tells_of_no_stumble() -> None:
    motion = _jolted(made_ride(PLAN, seed=31, rising=True).motion, [50.0], "up_ms2")
    assert _kinds(motion) == ["stumble"]
    assert "jolts-not-told" not in [note.code for note in decode(motion, None).notes]
    moved = replace(motion, moved_s=(80.0,))
    assert _kinds(moved) == []
    assert "jolts-not-told" in [note.code for note in decode(moved, None).notes]


def test_a_gap_in_the_log_is_no_jolt() -> None:
    motion = made_ride(PLAN, seed=33).motion
    valid = motion.valid & ~((motion.t_s > 50.0) & (motion.t_s < 50.8))
    assert _kinds(replace(motion, valid=valid)) == []
