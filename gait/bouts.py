"""What the gait stage finds: bouts, strides, transitions and events on the ride's clock."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from ingest.recording import Note
from track.path import Estimate, Floats

Gait = Literal["halt", "walk", "trot", "canter", "unknown"]
EventKind = Literal["jog", "break", "stumble", "spook", "phone moved"]
TOGETHER_S: Final = 0.3
"""Strides that begin within this of the end of the one before follow one another."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bout:
    """One gait over the half-open interval ``[start_s, end_s)``."""

    gait: Gait
    start_s: float
    end_s: float
    confidence: float
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stride:
    """One full cycle of the legs, from ``t_s`` to ``t_s + duration_s``.

    ``sd_s`` is the standard uncertainty of the duration, NaN where it is not known; ``half_t_s``
    the instant half a stride on (in walk and trot the same moment of the other side's step);
    ``log_size`` the log of how large its motion is against the bout's, NaN where it is not known;
    ``at_change`` says that it is the first or the last of its bout; ``overstated`` is the share by
    which the variation of such strides is read too large, None where it was not looked at.
    """

    t_s: float
    duration_s: float
    gait: Gait
    sd_s: float = float("nan")
    half_t_s: float = float("nan")
    log_size: float = float("nan")
    at_change: bool = False
    overstated: Estimate | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Transition:
    """One change of gait; ``t_s`` is the start of the new gait.

    One row from old to new, whatever lies between: ``between_strides`` counts the strides in
    neither (walk strides between trot and halt, for example).
    """

    from_gait: Gait
    to_gait: Gait
    t_s: float
    t_sd_s: float
    between_strides: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """Something that was not planned."""

    kind: EventKind
    start_s: float
    end_s: float
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Gaits:
    """Everything the gait stage found out.

    Attributes
    ----------
    bouts : tuple of Bout
        Cover the ride without overlap.
    strides : tuple of Stride
    stride_sd_s : float, s
        Standard uncertainty of one stride instant, the instrument's share.
    transitions : tuple of Transition
    events : tuple of Event
    notes : tuple of Note
    """

    bouts: tuple[Bout, ...]
    strides: tuple[Stride, ...]
    stride_sd_s: float
    transitions: tuple[Transition, ...]
    events: tuple[Event, ...]
    notes: tuple[Note, ...] = ()


def runs_of(strides: Sequence[Stride]) -> list[list[Stride]]:
    """Strides that follow one another without a gap."""
    runs: list[list[Stride]] = []
    for stride in strides:
        last = runs[-1][-1] if runs else None
        if last is not None and abs(stride.t_s - last.t_s - last.duration_s) < TOGETHER_S:
            runs[-1].append(stride)
        else:
            runs.append([stride])
    return runs


def gait_at(gaits: Gaits, t_s: Floats) -> tuple[Gait, ...]:
    """Gait at each time; ``"unknown"`` outside every bout."""
    starts = np.array([bout.start_s for bout in gaits.bouts])
    index = np.searchsorted(starts, t_s, side="right") - 1
    return tuple(
        gaits.bouts[i].gait if i >= 0 and t < gaits.bouts[i].end_s else "unknown"
        for i, t in zip(index.tolist(), np.asarray(t_s).tolist(), strict=True)
    )
