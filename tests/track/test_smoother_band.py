"""The bordered chain against the same equations written out in full."""

import numpy as np
import pytest

from ingest.errors import RecordingError
from track.path import Floats
from track.smoother_band import Factor, NormalEquations
from track.smoother_covariance import selected_inverse


def _random_system(
    n: int, states: int, parameters: int, rng: np.random.Generator
) -> tuple[NormalEquations, Floats, Floats]:
    chain = NormalEquations(n, states, parameters)
    size = n * states + parameters
    full, right = np.eye(size) * 0.5, np.zeros(size)
    for state in range(states):
        half, nought = np.full(n, 0.5), np.zeros(n)
        chain.add(
            Factor(
                kind="",
                where=slice(0, n),
                terms=[(0, state, 1.0)],
                residual=nought,
                weight=half,
                trust=half,
            )
        )
    for parameter in range(parameters):
        chain.add_prior(parameter, 0.0, np.sqrt(2.0))
    for round_ in range(12):
        where = slice(0, n - 1) if round_ % 2 else np.sort(rng.integers(0, n - 1, size=n))
        at = np.arange(n)[where]
        terms = [(o, s, rng.normal(size=len(at))) for o in (0, 1) for s in range(states)]
        border = [(p, rng.normal(size=len(at))) for p in range(parameters)]
        residual, weight = rng.normal(size=len(at)), rng.uniform(0.5, 2, size=len(at))
        chain.add(
            Factor(
                kind="",
                where=where,
                terms=terms,
                border=border,
                residual=residual,
                weight=weight,
                trust=weight,
            )
        )
        for i, epoch in enumerate(at):
            row = np.zeros(size)
            for offset, state, slope in terms:
                row[(epoch + offset) * states + state] += np.asarray(slope)[i]
            for parameter, slope in border:
                row[n * states + parameter] += np.asarray(slope)[i]
            full += weight[i] * np.outer(row, row)
            right -= weight[i] * residual[i] * row
    return chain, full, right


@pytest.mark.parametrize("n", [2, 3, 8, 13])
def test_step_and_covariances_equal_the_dense_solution(n: int) -> None:
    states, parameters = 3, 2
    chain, full, right = _random_system(n, states, parameters, np.random.default_rng(n))
    step, ride_step, solution = chain.solve()
    covariance = np.linalg.inv(full)
    assert np.allclose(np.concatenate([step.ravel(), ride_step]), covariance @ right)
    assert np.allclose(solution.border, covariance[-parameters:, -parameters:])
    assert np.allclose(solution.variances().ravel(), np.diag(covariance)[:-parameters])
    epochs = np.unique([0, n // 2, n - 1])
    rows = np.concatenate([[e * states, e * states + 2] for e in epochs])
    assert np.allclose(solution.joint(epochs, (0, 2)), covariance[np.ix_(rows, rows)])


def test_a_bound_is_kept_and_the_rest_follows() -> None:
    chain, full, right = _random_system(4, 2, 2, np.random.default_rng(5))
    free = np.linalg.solve(full, right)
    bound = free[-1] + 0.5
    step, ride_step, _ = chain.solve(bounds={1: (bound, np.inf)})
    # The constrained minimum: eliminate the bounded unknown.
    rest = np.linalg.solve(full[:-1, :-1], right[:-1] - full[:-1, -1] * bound)
    assert ride_step[1] == pytest.approx(bound)
    assert np.allclose(np.concatenate([step.ravel(), ride_step[:1]]), rest)


def test_a_parameter_that_is_held_leaves_the_rest_as_without_it() -> None:
    chain, full, right = _random_system(5, 2, 2, np.random.default_rng(6))
    chain.hold(1, 1e-3)
    step, ride_step, solution = chain.solve()
    without = np.linalg.inv(full[:-1, :-1])
    assert np.allclose(np.concatenate([step.ravel(), ride_step[:1]]), without @ right[:-1])
    assert ride_step[1] == 0.0
    assert np.allclose(solution.variances().ravel(), np.diag(without)[:-1])
    assert solution.border[1, 1] == pytest.approx(1e-6)


@pytest.mark.parametrize("n", [1, 2, 5, 6])
def test_selected_inverse_of_a_block_chain(n: int) -> None:
    rng = np.random.default_rng(n)
    diagonal = np.stack([np.eye(2) * 4 + np.full((2, 2), 0.3)] * n)
    below = rng.normal(size=(n - 1, 2, 2))
    full = np.zeros((2 * n, 2 * n))
    for k in range(n):
        full[2 * k : 2 * k + 2, 2 * k : 2 * k + 2] = diagonal[k]
    for k in range(n - 1):
        full[2 * k + 2 : 2 * k + 4, 2 * k : 2 * k + 2] = below[k]
        full[2 * k : 2 * k + 2, 2 * k + 2 : 2 * k + 4] = below[k].T
    inverse = np.linalg.inv(full)
    on, under = selected_inverse(diagonal, below)
    for k in range(n):
        assert np.allclose(on[k], inverse[2 * k : 2 * k + 2, 2 * k : 2 * k + 2])
    for k in range(n - 1):
        assert np.allclose(under[k], inverse[2 * k + 2 : 2 * k + 4, 2 * k : 2 * k + 2])


def test_positions_that_cannot_be_joined_are_refused_in_one_line() -> None:
    equations = NormalEquations(3, 2, 1)
    with pytest.raises(RecordingError, match="cut the recording"):
        equations.solve()
