"""What a robust factor tells at the mode, against the t-distribution's own logarithm."""

import numpy as np
import pytest
from scipy.stats import t as student

from track.smoother_band import factor_of, heavy
from track.smoother_noise import LEAST_CURVATURE, TAILS, own_curvature
from track.smoother_state import X


@pytest.mark.parametrize("kind", [kind for kind, (_, numbers) in TAILS.items() if numbers == 1])
def test_curvature_of_one_residual_is_that_of_its_law(kind: str) -> None:
    freedom, sd = TAILS[kind][0], 0.4
    residual = np.linspace(-3.0, 3.0, 61)
    factor = factor_of(
        kind, slice(0, residual.size), [(0, X, 1.0)], residual, sd,
        trust=heavy((residual / sd) ** 2, 1, freedom),
    )  # fmt: skip
    step = 1e-4
    here, left, right = (
        student.logpdf((residual + off) / sd, freedom) for off in (0.0, -step, step)
    )
    bend = -(left + right - 2.0 * here) / step**2
    told = np.asarray(own_curvature(factor).weight)
    near = np.abs(residual) < 0.9 * np.sqrt(freedom) * sd
    np.testing.assert_allclose(told[near], bend[near], rtol=1e-3, atol=1e-3)
    # Where the law bends the other way nothing is told, and nothing untold.
    beyond = np.abs(residual) > 1.1 * np.sqrt(freedom) * sd
    np.testing.assert_allclose(told[beyond], LEAST_CURVATURE * np.asarray(factor.weight)[beyond])


def test_other_factors_stay() -> None:
    factor = factor_of("sway", slice(0, 3), [(0, X, 1.0)], np.ones(3), 0.03)
    assert own_curvature(factor) is factor
