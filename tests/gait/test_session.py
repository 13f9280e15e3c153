"""The shape of a session: breaks, parts and the range of the tempo on made-up rides."""

from itertools import pairwise

import numpy as np
import pytest

from gait.bouts import Bout, Gait, Gaits, Stride
from gait.session import (
    BREAK_S,
    RANGE_STRIDES,
    first_of,
    longest_between,
    parts_of,
    session_of,
    tempo_range_of,
    walk_breaks,
)
from tests.report.made import path_through

ORDER: tuple[tuple[Gait, float], ...] = (
    ("walk", 120.0), ("trot", 100.0), ("walk", 60.0), ("trot", 50.0), ("canter", 40.0),
    ("walk", 10.0), ("canter", 30.0), ("halt", 25.0), ("trot", 20.0), ("walk", 90.0),
)  # fmt: skip


def bouts() -> tuple[Bout, ...]:
    edges = np.cumsum([0.0, *(seconds for _, seconds in ORDER)]).tolist()
    return tuple(
        Bout(gait=gait, start_s=start, end_s=end, confidence=1.0, because="made up")
        for (gait, _), (start, end) in zip(ORDER, pairwise(edges), strict=True)
    )


def test_breaks_are_walk_or_halt_between_stretches_of_work() -> None:
    rows = bouts()
    assert walk_breaks(rows) == [(220.0, 280.0), (410.0, 435.0)]
    assert BREAK_S > 10.0  # the ten seconds between the canters are none
    assert longest_between(rows, walk_breaks(rows)) == 130.0
    assert longest_between(rows[:1], []) is None
    assert first_of(rows, "trot") == 120.0
    assert first_of(rows, "canter") == 330.0
    assert first_of(rows[:2], "canter") is None


def test_seconds_and_strides_fall_on_the_rein_that_was_ridden() -> None:
    # Two circles of 9 m radius to the left, then three to the right, at 3 m/s.
    t_s = np.arange(0.0, 5 * 2 * np.pi * 9.0 / 3.0, 0.5)
    turned = 3.0 / 9.0 * t_s
    left = turned < 4.0 * np.pi
    angle = np.where(left, turned, 8.0 * np.pi - turned)
    x = np.where(left, 9.0 * np.sin(angle), -9.0 * np.sin(angle))
    y = np.where(left, -9.0 * np.cos(angle), 9.0 * np.cos(angle) - 18.0)
    path = path_through(x, y, t_s)
    end = float(t_s[-1])
    strides = tuple(
        Stride(t_s=0.75 * i, duration_s=0.75, gait="trot") for i in range(int(end / 0.75))
    )
    whole = Bout(gait="trot", start_s=0.0, end_s=end + 1, confidence=1.0, because="made up")
    gaits = Gaits(bouts=(whole,), strides=strides, stride_sd_s=0.005, transitions=(), events=())
    parts = {part.rein: part for part in parts_of(gaits, path)}
    circle_s = 2 * np.pi * 9.0 / 3.0
    assert parts["left"].seconds == pytest.approx(2 * circle_s, abs=2.0)
    assert parts["right"].seconds == pytest.approx(3 * circle_s, abs=2.0)
    assert parts["left"].stride_count == pytest.approx(2 * circle_s / 0.75, abs=3)
    assert sum(part.stride_count for part in parts.values()) == len(strides)
    session = session_of(gaits, path)
    assert session.changes_of_rein == 1
    assert session.first_trot_s == 0.0
    assert session.settled.at_s is None


def test_without_a_path_there_is_no_rein() -> None:
    gaits = Gaits(bouts=bouts(), strides=(), stride_sd_s=0.005, transitions=(), events=())
    session = session_of(gaits, None)
    assert session.parts == ()
    assert session.changes_of_rein is None
    assert len(session.walk_breaks) == 2


def test_range_of_the_tempo_is_that_of_a_planted_wave() -> None:
    # A slow sine of ±3 strides/min: nine in ten of its values span 6 cos(pi/20) = 5.926.
    t, strides = 0.0, []
    while t < 1200.0:
        duration = 60.0 / (79.0 + 3.0 * np.sin(2 * np.pi * t / 120.0))
        strides.append(Stride(t_s=t, duration_s=float(duration), gait="trot", sd_s=0.004))
        t += float(duration)
    found = tempo_range_of(strides)
    assert found is not None
    assert found.value == pytest.approx(6.0 * np.cos(np.pi / 20.0), abs=0.1)
    assert 0.0 < found.sd < 0.2


def test_range_needs_strides_that_follow_one_another() -> None:
    apart = [Stride(t_s=2.0 * i, duration_s=0.75, gait="trot") for i in range(200)]
    assert tempo_range_of(apart) is None
    assert tempo_range_of(apart[: RANGE_STRIDES - 1]) is None
