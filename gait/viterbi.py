"""The likeliest course of states through a ride."""

from __future__ import annotations

import numpy as np

from track.path import Floats, Ints


def likeliest(log_likelihood: Floats, log_change: Floats) -> Ints:
    """Viterbi's path through a hidden Markov chain.

    Parameters
    ----------
    log_likelihood : array, shape (n, k)
        Of each frame given each state.
    log_change : array, shape (k, k)
        Log probability of going from state i (row) to state j (column) in one frame.

    Returns
    -------
    array of int, shape (n,)

    Examples
    --------
    >>> stay = np.log([[0.9, 0.1], [0.1, 0.9]])
    >>> likeliest(np.log([[0.9, 0.1], [0.4, 0.6], [0.9, 0.1]]), stay).tolist()
    [0, 0, 0]
    """
    count, states = log_likelihood.shape
    back = np.zeros((count, states), dtype=np.int64)
    arrive = np.ascontiguousarray(log_change.T)
    best = log_likelihood[0].copy()
    every = np.arange(states)
    for frame in range(1, count):
        options = best + arrive
        choice = options.argmax(axis=1)
        back[frame] = choice
        best = options[every, choice] + log_likelihood[frame]
    course = np.empty(count, dtype=np.int64)
    course[-1] = int(best.argmax())
    for frame in range(count - 1, 0, -1):
        course[frame - 1] = back[frame, course[frame]]
    return course


def runs(course: Ints) -> list[tuple[int, int, int]]:
    """Runs of equal states as (state, first, one past the last)."""
    if course.size == 0:
        return []
    edges = np.flatnonzero(np.diff(course)) + 1
    firsts = np.concatenate([[0], edges])
    lasts = np.concatenate([edges, [course.size]])
    return [(int(course[a]), int(a), int(b)) for a, b in zip(firsts, lasts, strict=True)]
