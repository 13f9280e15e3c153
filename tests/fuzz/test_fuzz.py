"""A small run of the spoilt recordings; the large one is ``python -m tests.fuzz``."""

import contextlib
import time
from pathlib import Path

import numpy as np
import pytest

from tests.fuzz.__main__ import Limits, outcome, peak_mb, run
from tests.fuzz.mutations import seeds, spoilt


def test_sound_recordings_are_read(tmp_path: Path) -> None:
    for name, data in seeds().items():
        path = tmp_path / name
        path.write_bytes(data)
        assert outcome(path)[0] == "0", name


def test_spoilt_recordings_are_read_or_refused(tmp_path: Path) -> None:
    counts, findings, slowest_s = run(150, 11, tmp_path)
    assert not findings, findings[0]
    assert counts["0"] > 15 and counts["2"] > 15
    assert slowest_s < Limits().slow_s


def test_the_limits_are_those_promised() -> None:
    assert Limits() == Limits(slow_s=10.0, large_mb=1000.0)


def test_a_file_that_never_ends_is_stopped_and_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def endless(*_: object, **__: object) -> None:
        while True:
            with contextlib.suppress(Exception):
                time.sleep(0.01)

    monkeypatch.setattr("ingest.reading.read_recording", endless)
    start = time.perf_counter()
    counts, findings, slowest_s = run(2, 11, tmp_path, limits=Limits(slow_s=0.3))
    assert counts == {"bug": 2} and len(findings) == 2
    assert "TooSlowError" in findings[0]
    assert slowest_s >= 0.3 and time.perf_counter() - start < 5.0


def test_a_file_that_is_only_late_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One that swallows everything, the stop as well, and then ends in peace."""

    def late(*_: object, **__: object) -> None:
        end = time.perf_counter() + 0.3
        while time.perf_counter() < end:
            with contextlib.suppress(BaseException):
                time.sleep(0.01)

    monkeypatch.setattr("ingest.reading.read_recording", late)
    monkeypatch.setattr("report.check_lines.check_lines", lambda _: ("a", "b", "c"))
    counts, findings, _ = run(1, 11, tmp_path, limits=Limits(slow_s=0.1))
    assert counts == {"bug": 1} and len(findings) == 1


def test_a_file_that_takes_too_much_memory_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    limit_mb = peak_mb() + 50.0

    def large(*_: object, **__: object) -> None:
        np.ones(int((limit_mb + 100.0) * 2**17))

    monkeypatch.setattr("ingest.reading.read_recording", large)
    monkeypatch.setattr("report.check_lines.check_lines", lambda _: ("a", "b", "c"))
    counts, findings, _ = run(1, 11, tmp_path, limits=Limits(large_mb=limit_mb))
    assert counts == {"bug": 1} and "memory came to" in findings[0]


def test_the_same_seed_spoils_alike() -> None:
    first, second = (spoilt(np.random.default_rng([4, 9]), seeds()) for _ in range(2))
    assert first == second
