"""The likeliest course through a chain, against trying every course."""

from itertools import pairwise, product

import numpy as np

from gait.viterbi import chances, likeliest, runs


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


def test_chances_as_by_adding_up_every_course() -> None:
    rng = np.random.default_rng(2)
    emit = rng.normal(size=(5, 3, 4))
    change = np.log(rng.dirichlet(np.ones(4), size=4))
    chance, evidence = chances(emit, change)
    for hypothesis in range(3):
        weights = np.zeros((5, 4))
        for course in product(range(4), repeat=5):
            log_weight = np.log(0.25) + sum(
                emit[i, hypothesis, s] for i, s in enumerate(course)
            ) + sum(change[a, b] for a, b in pairwise(course))  # fmt: skip
            weights[np.arange(5), list(course)] += np.exp(log_weight)
        total = weights.sum(axis=1)
        np.testing.assert_allclose(chance[:, hypothesis], weights / total[:, None], rtol=1e-9)
        np.testing.assert_allclose(evidence[hypothesis], np.log(total), rtol=1e-9)


def test_runs() -> None:
    assert runs(np.array([2, 2, 0, 1, 1])) == [(2, 0, 2), (0, 2, 3), (1, 3, 5)]
    assert runs(np.array([], dtype=np.int64)) == []
