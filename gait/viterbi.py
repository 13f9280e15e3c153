"""States through a ride: the likeliest course, and the chance of each at every instant."""

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


def chances(log_likelihood: Floats, log_change: Floats) -> tuple[Floats, Floats]:
    """Chance of every state in every frame, for several hypotheses at once (forward-backward).

    Parameters
    ----------
    log_likelihood : array, shape (n, h, k)
        Of each frame given each state, under each hypothesis.
    log_change : array, shape (k, k)
        Log probability of going from state i (row) to state j (column) in one frame.

    Returns
    -------
    array, shape (n, h, k)
        Given all frames: Rabiner, Proc. IEEE 1989;77:257, eq. 27 [recalled].
    array, shape (h,)
        Log likelihood of all frames under each hypothesis; every state is as likely to begin with.

    Examples
    --------
    >>> stay = np.log([[0.9, 0.1], [0.1, 0.9]])
    >>> chance, _ = chances(np.log([[[0.9, 0.1]], [[0.4, 0.6]], [[0.9, 0.1]]]), stay)
    >>> chance[:, 0, 0].round(3).tolist()
    [0.955, 0.933, 0.955]
    """
    change = np.exp(log_change)
    top = log_likelihood.max(axis=2, keepdims=True)
    likelihood = np.exp(log_likelihood - top)
    chance = np.empty_like(likelihood)
    evidence = top.sum(axis=(0, 2))
    ahead = np.full(likelihood.shape[1:], 1.0 / change.shape[0])
    for frame, seen in enumerate(likelihood):
        reached = ahead * seen
        total = reached.sum(axis=1, keepdims=True)
        evidence = evidence + np.log(total[:, 0])
        chance[frame] = reached / total
        ahead = chance[frame] @ change
    later = np.ones_like(ahead)
    for frame in range(likelihood.shape[0] - 2, -1, -1):
        later = (later * likelihood[frame + 1]) @ change.T
        later /= later.sum(axis=1, keepdims=True)
        chance[frame] *= later
    return chance / chance.sum(axis=2, keepdims=True), evidence


def runs(course: Ints) -> list[tuple[int, int, int]]:
    """Runs of equal states as (state, first, one past the last)."""
    if course.size == 0:
        return []
    edges = np.flatnonzero(np.diff(course)) + 1
    firsts = np.concatenate([[0], edges])
    lasts = np.concatenate([edges, [course.size]])
    return [(int(course[a]), int(a), int(b)) for a, b in zip(firsts, lasts, strict=True)]
