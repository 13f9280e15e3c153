"""Which transition of the ride is which change of the sheet."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from gait.bouts import Gaits, Transition
from report.ridden import Asked
from track.layout import Change
from track.sheet import GaitName

SKIP_COST: Final = 14.0
"""Seconds a transition may lie outside its window before it counts as another one."""
WRONG_FROM_COST: Final = 4.0
"""Extra cost where the gait before is not the one the sheet asks for."""


def first_gait(change: Change) -> GaitName | None:
    """Gait that begins at the change's place; None where the gait does not change.

    Between equal gaits with a ``via`` the first of the two transitions is the one that is
    placed.
    """
    if change.from_gait != change.to_gait:
        return change.to_gait
    return change.via


def paired(asked: Sequence[Asked], transitions: Sequence[Transition]) -> list[Transition | None]:
    """Find the transition that answers each change, both in riding order.

    Parameters
    ----------
    asked : sequence of Asked
        In riding order.
    transitions : sequence of Transition
        In riding order.

    Returns
    -------
    list of Transition or None
        One per change; None where none answers it, or where the gait does not change.
    """
    rows, columns = len(asked), len(transitions)
    cost = np.full((rows + 1, columns + 1), np.inf)
    cost[0, :] = 0.0
    for row in range(1, rows + 1):
        cost[row, 0] = row * SKIP_COST
        for column in range(1, columns + 1):
            match = cost[row - 1, column - 1] + _cost(asked[row - 1], transitions[column - 1])
            cost[row, column] = min(match, cost[row - 1, column] + SKIP_COST, cost[row, column - 1])
    return _traced(asked, transitions, cost)


def steps_of(gaits: Gaits) -> list[Transition]:
    """Every change of gait, those from old to new and those of each step between.

    Trot at F, canter at A asks for two changes where the ride shows one from walk to canter with
    trot strides between; trot to halt asks for one where walk strides lie between.
    """
    known = list(gaits.transitions)
    for before, after in pairwise(gaits.bouts):
        near = [t for t in gaits.transitions if abs(t.t_s - after.start_s) < 8.0]
        same = [t for t in near if t.from_gait == before.gait and t.to_gait == after.gait]
        if not near or any(abs(t.t_s - after.start_s) < 0.01 for t in same):
            continue
        step = Transition(
            from_gait=before.gait,
            to_gait=after.gait,
            t_s=after.start_s,
            t_sd_s=max(t.t_sd_s for t in near),
            between_strides=0.0,
        )
        known.append(step)
    return sorted(known, key=lambda t: t.t_s)


def _traced(
    asked: Sequence[Asked], transitions: Sequence[Transition], cost: np.ndarray
) -> list[Transition | None]:
    found: list[Transition | None] = [None] * len(asked)
    row, column = len(asked), len(transitions)
    while row > 0 and column > 0:
        if cost[row, column] == cost[row, column - 1]:
            column -= 1
        elif cost[row, column] == cost[row - 1, column] + SKIP_COST:
            row -= 1
        else:
            row, column = row - 1, column - 1
            found[row] = transitions[column]
    return found


def _cost(asked: Asked, transition: Transition) -> float:
    gait = first_gait(asked.change)
    if gait is None or transition.to_gait != gait:
        return float(np.inf)
    outside = max(asked.start_s - transition.t_s, transition.t_s - asked.end_s, 0.0)
    if outside >= SKIP_COST:
        return float(np.inf)
    wrong = transition.from_gait != asked.change.from_gait
    return outside + WRONG_FROM_COST * wrong
