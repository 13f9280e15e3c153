"""How well each epoch of a ride fits each metre of the ideal line.

Misfit is a sum of squares over place, heading, curvature and gait, in units of what an ordinary
rider's line scatters about the ideal plus the path's own doubt. All four are bilinear in epoch and
state, so the whole table is one matrix product.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from track.layout import Layout
from track.path import Floats, Path

STEP_M: Final = 1.0
"""Of the states along the line."""
EPOCH_S: Final = 0.5
RIDER_SD_M: Final = 1.8
"""An ordinary rider's distance from the ideal line [judgement: half a mark is about 2 m]."""
HEADING_SD_RAD: Final = 0.4
CURVATURE_SD_1M: Final = 0.12
GAIT_MISFIT: Final = 4.0
"""Squared misfit of the wrong gait: two standard deviations."""
GAIT_ROOM_M: Final = 8.0
"""A change of gait may come so much early or late before it counts as wrong gait."""
SLOWEST_MS: Final = 0.6
"""Below this speed heading and curvature say nothing."""
LARGEST_MISFIT: Final = 120.0
FREE_MISFIT: Final = 9.0
"""Misfit of riding that has nothing to do with the line."""
FREE_ON_TRACK: Final = 5.0
"""The same along the boards, where riders are anyhow."""
_GAITS: Final = ("halt", "walk", "trot", "canter")


@dataclass(frozen=True, slots=True, kw_only=True)
class Ridden:
    """The path on even epochs of half a second, with the gait at each.

    Attributes
    ----------
    t_s, x_m, y_m, sd_m, speed_ms, heading_rad, heading_sd_rad, turn_rads : array, shape (n,)
    gait : array of str, shape (n,)
        ``"unknown"`` where it is not known.
    """

    t_s: Floats
    x_m: Floats
    y_m: Floats
    sd_m: Floats
    speed_ms: Floats
    heading_rad: Floats
    heading_sd_rad: Floats
    turn_rads: Floats
    gait: tuple[str, ...]

    def turned(self) -> Ridden:
        """The same ride in the arena seen from its other end."""
        return Ridden(
            t_s=self.t_s,
            x_m=-self.x_m,
            y_m=-self.y_m,
            sd_m=self.sd_m,
            speed_ms=self.speed_ms,
            heading_rad=self.heading_rad + np.pi,
            heading_sd_rad=self.heading_sd_rad,
            turn_rads=self.turn_rads,
            gait=self.gait,
        )


def on_epochs(path: Path, gait_t_s: Floats, gait_names: Sequence[str]) -> Ridden:
    """A path and its gaits on even epochs.

    Parameters
    ----------
    path : Path
    gait_t_s : array, shape (m,), s
        Ascending times at which the gait is given; it holds until the next.
    gait_names : sequence of str, length m
        Empty where nothing is known of the gaits.
    """
    t = np.arange(path.t_s[0], path.t_s[-1] + 1e-9, EPOCH_S)

    def at(values: Floats) -> Floats:
        return np.interp(t, path.t_s, values)

    names: tuple[str, ...] = ("unknown",) * t.size
    if len(gait_names):
        index = np.searchsorted(np.asarray(gait_t_s), t, side="right") - 1
        names = tuple(gait_names[i] if i >= 0 else "unknown" for i in index.tolist())
    return Ridden(
        t_s=t,
        x_m=at(path.x_m),
        y_m=at(path.y_m),
        sd_m=np.sqrt((at(path.sd_x_m) ** 2 + at(path.sd_y_m) ** 2) / 2.0),
        speed_ms=np.maximum(at(path.speed_ms), 0.0),
        heading_rad=at(np.unwrap(path.heading_rad)),
        heading_sd_rad=at(path.heading_sd_rad),
        turn_rads=at(path.turn_rads),
        gait=names,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class States:
    """The ideal line every metre.

    Attributes
    ----------
    s_m, x_m, y_m, heading_rad, curvature_1m : array, shape (n,)
    wrong : array, shape (5, n)
        Squared misfit of halt, walk, trot, canter and an unknown gait at each state.
    """

    s_m: Floats
    x_m: Floats
    y_m: Floats
    heading_rad: Floats
    curvature_1m: Floats
    wrong: Floats


def states_of(layout: Layout) -> States:
    """States along a layout, curvature smoothed over what a horse's length blurs."""
    s = np.arange(0.0, layout.length_m, STEP_M)
    s = np.append(s, layout.length_m)
    blur = np.ones(31) / 31.0
    padded = np.pad(layout.curvature_1m, 15, mode="edge")
    smooth = np.convolve(padded, blur, mode="valid")
    return States(
        s_m=s,
        x_m=np.interp(s, layout.s_m, layout.x_m),
        y_m=np.interp(s, layout.s_m, layout.y_m),
        heading_rad=np.interp(s, layout.s_m, layout.heading_rad),
        curvature_1m=np.interp(s, layout.s_m, smooth),
        wrong=_wrong(layout, s),
    )


def _wrong(layout: Layout, s: Floats) -> Floats:
    """Where each gait is not asked within a few metres; standing still is half as wrong."""
    names = np.array(layout.gait)
    room = round(GAIT_ROOM_M / 0.1)
    wrong = np.zeros((len(_GAITS) + 1, s.size))
    for row, gait in enumerate(_GAITS):
        asked = np.concatenate([[0], np.cumsum(names == gait)])
        centre = np.clip(np.searchsorted(layout.s_m, s), 0, names.size - 1)
        low, high = np.maximum(centre - room, 0), np.minimum(centre + room + 1, names.size)
        wrong[row] = np.where(asked[high] > asked[low], 0.0, GAIT_MISFIT)
    for line in layout.movements:
        for change in line.changes:
            near = (s >= change.start_m - GAIT_ROOM_M) & (s <= change.end_m + GAIT_ROOM_M)
            named = {change.from_gait, change.to_gait, change.via or change.to_gait}
            meant = np.array([gait in named for gait in (*_GAITS, "unknown")])
            wrong[meant[:, None] & near[None, :]] = 0.0
    wrong[0] *= 0.5
    return wrong


def misfits(ridden: Ridden, states: States) -> Floats:
    """Squared misfit of every epoch to every state.

    Returns
    -------
    array, shape (epochs, states)
    """
    moving = ridden.speed_ms > SLOWEST_MS
    place = 1.0 / (ridden.sd_m**2 + RIDER_SD_M**2)
    way = np.where(moving, 2.0 / (HEADING_SD_RAD**2 + ridden.heading_sd_rad**2), 0.0)
    bend = np.where(moving, 1.0 / CURVATURE_SD_1M**2, 0.0)
    curvature = np.clip(ridden.turn_rads / np.maximum(ridden.speed_ms, SLOWEST_MS), -0.4, 0.4)
    x, y, k = ridden.x_m, ridden.y_m, curvature
    sx, sy, sk = states.x_m, states.y_m, states.curvature_1m
    per_epoch = np.stack(
        [
            place * (x**2 + y**2) + way + bend * k**2,
            place,
            -2.0 * place * x,
            -2.0 * place * y,
            -way * np.cos(ridden.heading_rad),
            -way * np.sin(ridden.heading_rad),
            bend,
            -2.0 * bend * k,
            *(_is(ridden.gait, gait) for gait in (*_GAITS, "unknown")),
        ],
        axis=1,
    )
    per_state = np.stack(
        [
            np.ones_like(sx),
            sx**2 + sy**2,
            sx,
            sy,
            np.cos(states.heading_rad),
            np.sin(states.heading_rad),
            sk**2,
            sk,
            *states.wrong,
        ]
    )
    table: Floats = np.clip(per_epoch @ per_state, 0.0, LARGEST_MISFIT)
    return table


def free_misfit(ridden: Ridden, states: States) -> Floats:
    """Squared misfit of each epoch to riding that is not the test."""
    wide, long = np.abs(states.x_m).max(), np.abs(states.y_m).max()
    c, s = np.abs(np.cos(ridden.heading_rad)), np.abs(np.sin(ridden.heading_rad))
    on_long = (np.abs(np.abs(ridden.x_m) - wide) < 2.5) & (s > 0.9)
    on_short = (np.abs(np.abs(ridden.y_m) - long) < 2.5) & (c > 0.9)
    return np.where(on_long | on_short, FREE_ON_TRACK, FREE_MISFIT)


def _is(names: Sequence[str], gait: str) -> Floats:
    return np.array([name == gait for name in names], dtype=np.float64)
