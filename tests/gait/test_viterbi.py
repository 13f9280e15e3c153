"""The likeliest course through a chain, against trying every course."""

from itertools import pairwise, product

import numpy as np

from gait.viterbi import likeliest, runs


def test_as_good_as_trying_every_course() -> None:
    rng = np.random.default_rng(1)
    for _ in range(20):
        emit, change = rng.normal(size=(6, 3)), rng.normal(size=(3, 3))

        def total(course: tuple[int, ...], emit=emit, change=change) -> float:  # type: ignore[no-untyped-def]
            return float(
                sum(emit[i, s] for i, s in enumerate(course))
                + sum(change[a, b] for a, b in pairwise(course))
            )

        best = max(product(range(3), repeat=6), key=total)
        assert tuple(likeliest(emit, change).tolist()) == best


def test_runs() -> None:
    assert runs(np.array([2, 2, 0, 1, 1])) == [(2, 0, 2), (0, 2, 3), (1, 3, 5)]
    assert runs(np.array([], dtype=np.int64)) == []
