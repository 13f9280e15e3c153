"""Starts and middles of made-up strides: what scatters by itself, and what is the horse's pace."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from gait.halves import DURATION_SHARE, INSTANT_SHARE, with_halves
from gait.stride_start import restarted
from gait.strides import Tracked, tracked_of
from tests.gait.made import made_ride
from tests.gait.test_strides import tracked
from track.path import Floats

MEAN_S = 0.76
COUNT = 150


def _durations_s(seed: int) -> Floats:
    return MEAN_S * (1.0 + 0.025 * np.random.default_rng(seed).standard_normal(COUNT))


def _tracked(start_s: Floats, middle_s: Floats, known_s: float = 0.001) -> Tracked:
    """A pace of which nothing but its starts and middles is looked at."""
    count = middle_s.size
    nothing = np.zeros(0)
    return Tracked(
        t_s=nothing, phase=nothing, shape=nothing, noise_ms2=nothing, read=nothing,
        axes_ms2=nothing, log_size=nothing, corner_t_s=start_s, half_t_s=middle_s,
        corner_sd_s=np.full(count + 1, known_s),
        duration_sd_s=np.full(count, np.sqrt(2.0) * known_s),
        halves_sd_s=np.full(count, np.sqrt(6.0) * known_s),
    )  # fmt: skip


def _laid(tracked: Tracked) -> Tracked:
    (laid,) = with_halves([tracked])
    assert laid is not None
    return laid


def test_scatter_of_single_instants_is_told_and_halved_away() -> None:
    scatter_s = 0.005
    errors, claims, before = [], [], []
    for seed in range(40):
        rng = np.random.default_rng([seed, 1])
        edge = np.concatenate([[0.0], np.cumsum(_durations_s(seed))])
        start = edge + scatter_s * rng.standard_normal(COUNT + 1)
        middle = 0.5 * (edge[1:] + edge[:-1]) + scatter_s * rng.standard_normal(COUNT)
        laid = _laid(_tracked(start, middle + 0.02))  # halves are uneven as a rule, too
        before.append(np.diff(start - edge))
        errors.append(np.diff(laid.corner_t_s - edge))
        claims.append(np.mean(laid.duration_sd_s**2))
    error_s = np.std(np.concatenate(errors))
    assert error_s < 0.95 * np.std(np.concatenate(before))
    assert np.sqrt(np.mean(claims)) == pytest.approx(error_s, rel=0.1)


def test_shares_against_the_inverse_of_the_matrix() -> None:
    normal = 1.5 * np.eye(41) + 0.25 * (np.eye(41, k=1) + np.eye(41, k=-1))
    inverse = np.linalg.inv(normal)
    assert inverse[20, 20] == pytest.approx(INSTANT_SHARE)
    between = inverse[20, 20] + inverse[21, 21] - 2.0 * inverse[20, 21]
    assert between == pytest.approx(DURATION_SHARE)


def test_a_pace_that_changes_evenly_is_the_horse_s_own() -> None:
    """Nothing scatters: starts stay where they are, and nothing is added to what is claimed."""
    edge = np.concatenate([[0.0], np.cumsum(_durations_s(3))])
    middle = PchipInterpolator(np.arange(COUNT + 1), edge)(np.arange(COUNT) + 0.5)
    known_s = 0.004
    laid = _laid(_tracked(edge, middle, known_s=known_s))
    assert np.std(laid.corner_t_s - edge) < 0.1 * np.std(np.diff(edge))
    assert np.all(laid.duration_sd_s <= np.sqrt(2.0) * known_s)


def test_a_few_strides_tell_nothing_and_stay() -> None:
    edge = np.concatenate([[0.0], np.cumsum(_durations_s(4)[:9])])
    few = _tracked(edge, 0.5 * (edge[1:] + edge[:-1]))
    assert with_halves([few, None]) == [few, None]


def test_a_middle_that_was_not_seen_moves_no_start() -> None:
    edge = np.concatenate([[0.0], np.cumsum(_durations_s(5))])
    middle = 0.5 * (edge[1:] + edge[:-1])
    seen = _tracked(edge, middle)
    middle[70] += 0.2
    sd = seen.halves_sd_s.copy()
    sd[70] = 0.1
    gap = replace(seen, half_t_s=middle, halves_sd_s=sd)
    assert np.abs(_laid(gap).corner_t_s - edge).max() < 0.002


@pytest.mark.parametrize("off", [-0.3, -0.15, 0.0, 0.2, 0.35])
def test_strides_begin_where_their_lengths_change(off: float) -> None:
    """Followed from another place of the cycle, walk's strides are begun where the plan has them.

    The two beats of a stride are alike, but only from one to the same one lengths are as planned.
    """
    made = made_ride([("walk", 90.0)], seed=11, cv=0.04, noise_ms2=0.2)
    found = tracked(made, "walk")
    edges = np.array([t for t, _, _ in made.strides] + [made.bouts[0][2]])
    at = np.interp(found.corner_t_s, edges, np.arange(edges.size))
    usual = np.angle(np.exp(2j * np.pi * at).mean()) / (2.0 * np.pi)
    shifted = replace(found, phase=found.phase + usual - off)
    moved = restarted([_again(shifted)], 2)[0]
    assert moved is not None
    place = np.interp(moved.corner_t_s, edges, np.arange(edges.size))
    turned = np.angle(np.exp(2j * np.pi * place).mean()) / (2.0 * np.pi)
    assert abs(turned) < 0.06


def _again(found: Tracked) -> Tracked:
    return tracked_of(found.t_s, found.axes_ms2, found.phase, found.read, beats=2, rounds=2)
