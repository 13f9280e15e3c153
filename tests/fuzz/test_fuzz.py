"""A small run of the spoilt recordings; the large one is ``python -m tests.fuzz``."""

from pathlib import Path

import numpy as np

from tests.fuzz.__main__ import SLOW_S, outcome, run
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
    assert slowest_s < SLOW_S


def test_the_same_seed_spoils_alike() -> None:
    first, second = (spoilt(np.random.default_rng([4, 9]), seeds()) for _ in range(2))
    assert first == second
