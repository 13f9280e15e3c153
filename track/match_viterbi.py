"""The best monotone alignment of a ride to a line, with leave to begin, stray and begin again.

States are the metres of the line, the same metres once more for a rider who has gone astray after
them (an error of course), and ``BESIDE``: before, between and after ridings of the test. Costs are
natural logarithms of odds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from track.match_states import EPOCH_S, STEP_M, Ridden, States, free_misfit, misfits
from track.path import Ints

Table = NDArray[np.float32]

BESIDE: Final = -1
ASTRAY: Final = -2

TEMPER: Final = 0.25
"""Share of an epoch's misfit that is news: errors last about four epochs (two seconds)."""
BEGIN_M: Final = 8.0
BEGIN_COST: Final = 2.0
LATE_COST: Final = 60.0
"""To enter in the middle of the sheet."""
LATE_FIRST_COST: Final = 15.0
"""The same at the first epoch: the recording began late."""
STRAY_COST: Final = 7.0
RETURN_COST: Final = 3.0
ASTRAY_COST_S: Final = 0.3
"""Per second astray, so that a rider is not astray for minutes."""
JUMP_COST: Final = 9.0
JUMP_COST_M: Final = 0.03
"""Per metre of the line jumped over or gone back."""
LEAVE_COST: Final = 12.0
"""To give up before the end."""
STOP_COST: Final = 4.0
"""The recording stops before the end."""
FINISH_M: Final = 8.0
BEGUN_M: Final = 25.0
"""A riding that has not come so far, or that is finished, has no course to go wrong on."""
NO_COURSE_COST: Final = 20.0
_SHIFTS: Final = 6
_JUMPED: Final = -3


@dataclass(frozen=True, slots=True, kw_only=True)
class Alignment:
    """State of every epoch, and the logarithm of the odds against "no test was ridden".

    ``gain`` is each epoch's own share of it; 0 off the line.
    """

    state: Ints
    gain: Table
    log_likelihood: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Memory:
    """What tracing back needs: scores and choices of every epoch."""

    on: Table
    astray: Table
    came: NDArray[np.int8]
    strayed: NDArray[np.bool_]
    left_at: Ints


def align(ridden: Ridden, states: States) -> Alignment:
    """Find the best sequence of states (Viterbi).

    Parameters
    ----------
    ridden : Ridden
    states : States
    """
    free = free_misfit(ridden, states)[:, None]
    fit: Table = ((0.5 * TEMPER) * (free - misfits(ridden, states))).astype(np.float32)
    enter = np.where(states.s_m <= BEGIN_M, BEGIN_COST, LATE_COST).astype(np.float32)
    finish = states.s_m >= states.s_m[-1] - FINISH_M
    leave = np.where(finish, 0.0, LEAVE_COST).astype(np.float32)
    off_course = (finish | (states.s_m < BEGUN_M)) * np.float32(NO_COURSE_COST)
    memory, beside = _forward(fit, _shift_costs(ridden), enter, leave, off_course)
    stop = memory.on[-1] - np.where(finish, 0.0, STOP_COST)
    last = int(stop.argmax())
    now = last if stop[last] > beside else BESIDE
    state = _traced(now, memory, off_course)
    epochs = np.arange(state.size)
    gain = np.where(state >= 0, fit[epochs, np.maximum(state, 0)], np.float32(0.0))
    return Alignment(state=state, gain=gain, log_likelihood=max(float(stop[last]), beside))


def _forward(
    fit: Table, shift_cost: Table, enter: Table, leave: Table, off_course: Table
) -> tuple[_Memory, float]:
    epochs, count = fit.shape
    on, astray = np.empty_like(fit), np.empty_like(fit)
    came = np.empty(fit.shape, dtype=np.int8)
    strayed = np.zeros(fit.shape, dtype=np.bool_)
    left_at = np.full(epochs, BESIDE, dtype=np.int64)
    on[0] = fit[0] - np.minimum(enter, np.float32(LATE_FIRST_COST))
    astray[0], beside = -np.inf, 0.0
    along = (np.arange(count) * JUMP_COST_M).astype(np.float32)
    shifted = np.full((_SHIFTS, count), -np.inf, dtype=np.float32)
    column = np.arange(count)
    for t in range(1, epochs):
        before = on[t - 1]
        for k in range(_SHIFTS):
            np.subtract(before[: count - k], shift_cost[t, k], out=shifted[k, k:])
        best = shifted.argmax(axis=0)
        score = shifted[best, column]
        jumping = before - off_course - JUMP_COST
        jumped = _jump(np.maximum(jumping, astray[t - 1] - RETURN_COST), along)
        entered = np.float32(beside) - enter
        best = np.where(jumped > score, _JUMPED, best)
        score = np.maximum(score, jumped)
        came[t] = np.where(entered > score, BESIDE, best)
        on[t] = np.maximum(score, entered) + fit[t]
        going = before - off_course - STRAY_COST
        strayed[t] = going > astray[t - 1]
        astray[t] = np.maximum(going, astray[t - 1]) - ASTRAY_COST_S * EPOCH_S
        out = before - leave
        best_out = int(out.argmax())
        if out[best_out] > beside:
            left_at[t], beside = best_out, float(out[best_out])
    memory = _Memory(on=on, astray=astray, came=came, strayed=strayed, left_at=left_at)
    return memory, beside


def _jump(score: Table, along: Table) -> Table:
    """Best score anywhere less the cost of the way from there."""
    forward = np.maximum.accumulate(score + along) - along
    backward = np.maximum.accumulate((score - along)[::-1])[::-1] + along
    best: Table = np.maximum(forward, backward)
    return best


def _shift_costs(ridden: Ridden) -> Table:
    """Cost of going 0 to 5 states on within an epoch, from the speed."""
    advance = ridden.speed_ms * EPOCH_S / STEP_M
    steps = np.arange(_SHIFTS)[None, :]
    spread = 0.35 * advance[:, None] + 0.4
    costs: Table = (0.5 * ((steps - advance[:, None]) / spread) ** 2).astype(np.float32)
    return costs


def _traced(now: int, memory: _Memory, off_course: Table) -> Ints:
    """States from the last epoch back; ``ASTRAY`` whatever place it was left at."""
    epochs, count = memory.on.shape
    along = np.arange(count) * JUMP_COST_M
    state = np.empty(epochs, dtype=np.int64)
    astray_at = -1
    for t in range(epochs - 1, -1, -1):
        state[t] = ASTRAY if astray_at >= 0 else now
        if t == 0:
            break
        if astray_at >= 0:
            if memory.strayed[t, astray_at]:
                now, astray_at = astray_at, -1
        elif now == BESIDE:
            now = int(memory.left_at[t])
        elif memory.came[t, now] >= 0:
            now -= int(memory.came[t, now])
        elif memory.came[t, now] == BESIDE:
            now = BESIDE
        else:
            way = np.abs(along - along[now])
            direct = memory.on[t - 1] - off_course - JUMP_COST - way
            returned = memory.astray[t - 1] - RETURN_COST - way
            if returned.max() > direct.max():
                astray_at = int(returned.argmax())
            else:
                now = int(direct.argmax())
    return state
