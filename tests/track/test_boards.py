"""The boards as a ruler: what counts as riding along a side, and what never does."""

import numpy as np
import pytest

from tests.accuracy import invented as iv
from track.boards import BY_PLACES, BY_TURNS, Ruler, board_factors, sides_seen
from track.evidence import EPOCH_S
from track.follow import follow_motion
from track.path import Floats
from track.smoother_state import OFFSET, PARAMETERS, PSI, STATES, State, V, X, Y

SPEED_MS = 3.3


def _state(x_m: Floats, y_m: Floats, heading_sd_rad: float = 0.0) -> State:
    """Places at even speed, their headings spoilt as without turn rates."""
    epochs, ride = np.zeros((x_m.size, STATES)), np.zeros(PARAMETERS)
    psi = np.unwrap(np.arctan2(np.gradient(y_m), np.gradient(x_m)))
    spoilt = heading_sd_rad * np.random.default_rng(2).standard_normal(x_m.size)
    epochs[:, X], epochs[:, Y], epochs[:, PSI] = x_m, y_m, psi + spoilt
    epochs[:, V], ride[OFFSET] = SPEED_MS, 0.8
    return State(epochs=epochs, ride=ride)


def _weight(state: State, ruler: Ruler) -> float:
    """Largest weight that any epoch gets at any side; one where all is as it should be."""
    return max(
        float(np.asarray(factor.trust).max()) for factor in board_factors(state, "20x40", ruler)
    )


def _along_the_long_side(distance_m: float) -> tuple[Floats, Floats]:
    y_m = np.arange(-15.0, 15.0, SPEED_MS * EPOCH_S)
    return np.full(y_m.size, 9.2 - distance_m), y_m


@pytest.mark.parametrize("ruler", [BY_TURNS, BY_PLACES])
def test_riding_along_a_side_counts(ruler: Ruler) -> None:
    assert _weight(_state(*_along_the_long_side(0.0)), ruler) > 0.99


@pytest.mark.parametrize("ruler", [BY_TURNS, BY_PLACES])
def test_circles_diagonals_and_centre_lines_are_tied_to_nothing(ruler: Ruler) -> None:
    turn = np.arange(0.0, 4.0 * np.pi, SPEED_MS * EPOCH_S / 9.2)
    touching = _state(9.2 * np.cos(turn), 10.0 + 9.2 * np.sin(turn))
    assert _weight(touching, ruler) == 0.0
    share = np.linspace(0.0, 1.0, 27)
    diagonal = _state(-9.2 + 18.4 * share, -14.0 + 28.0 * share)
    assert _weight(diagonal, ruler) == 0.0
    assert _weight(_state(*_along_the_long_side(9.2)), ruler) == 0.0


def test_without_turns_headings_of_single_epochs_do_not_decide() -> None:
    x_m, y_m = _along_the_long_side(2.5)
    spoilt = _state(x_m, y_m, heading_sd_rad=np.radians(10.0))
    assert _weight(spoilt, BY_PLACES) > 0.5
    seen = [sides_seen(spoilt, "20x40", ruler)["+x"] for ruler in (BY_TURNS, BY_PLACES)]
    assert seen[1] > 12.0 > 3.0 * seen[0]  # of 30 m ridden


def test_a_canter_without_gyroscope_finds_its_school() -> None:
    faults = iv.Faults(gyro=False)
    for seed in (41, 42, 43):
        rng = np.random.default_rng(seed)
        truth = iv.ride("canter", rng)
        track = follow_motion(*iv.recorded(truth, faults, rng))
        assert track.placement is not None and track.placement.arena.size == "20x40"
