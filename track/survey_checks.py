"""Sides and diagonals of a surveyed school against the tape: 20, 40 or 60 m, 44.72 or 63.25 m."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from track.path import Estimate, Floats
from track.survey_sides import OnSides, Walk, placed

LEAST_FIXES: Final = 5
MOST_SDS: Final = 2.5
LONGER: Final = 1.3
"""A line laid through a side is less sure at its ends, where it meets the next."""
PAIRS: Final = (
    ("side", "K", "H"),
    ("side", "F", "M"),
    ("end", "K", "F"),
    ("end", "H", "M"),
    ("diagonal", "K", "M"),
    ("diagonal", "F", "H"),
    ("side", "AK", "CH"),
    ("side", "AF", "CM"),
    ("end", "AK", "AF"),
    ("end", "CH", "CM"),
    ("diagonal", "AK", "CM"),
    ("diagonal", "AF", "CH"),
)
"""Pairs of letters and of corners (by the letters on either side) whose distance is checked."""
_ROUND: Final = (
    ("long side", 0, 1), ("long side", 2, 3), ("short side", 0, 2), ("short side", 1, 3),
    ("diagonal", 0, 3), ("diagonal", 2, 1),
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A distance as surveyed and as it should be.

    Attributes
    ----------
    what : str
        For people: "diagonal", "K to M".
    measured_m : Estimate
    asked_m : float
    """

    what: str
    measured_m: Estimate
    asked_m: float

    @property
    def fits(self) -> bool:
        """Whether it is near enough to what it should be: 2.5 standard uncertainties."""
        return abs(self.measured_m.value - self.asked_m) <= MOST_SDS * self.measured_m.sd


def letter_checks(
    names: list[str], earth_m: Floats, there_m: Floats, sd_m: float
) -> tuple[Check, ...]:
    """Distances between named fixes, where both ends of a side or diagonal are there.

    Parameters
    ----------
    names : list of str
    earth_m, there_m : array, shape (n, 2), m
        The fixes on the plane, and where the letters lie in the arena.
    sd_m : float, m
        Of one fix per axis.
    """
    at = {name: number for number, name in enumerate(names)}
    found = []
    for _, one, other in PAIRS:
        if one in at and other in at:
            i, j = at[one], at[other]
            measured, asked = (float(np.hypot(*(p[j] - p[i]))) for p in (earth_m, there_m))
            found.append(
                Check(
                    what=f"{one} to {other}",
                    measured_m=Estimate(value=measured, sd=sd_m * float(np.sqrt(2))),
                    asked_m=asked,
                )
            )
    return tuple(found)


def walk_checks(walk: Walk, pose: Floats, sides: OnSides, sd_m: float) -> tuple[Check, ...]:
    """Sides and diagonals of the quadrangle walked, a straight line laid through each side.

    Parameters
    ----------
    walk : Walk
    pose : array, shape (4,)
        Rotation, centre and the walker's distance from the boards.
    sides : OnSides
    sd_m : float, m
        Slow error of the fixes per axis.
    """
    corners = _corners(walk, pose, sides)
    if corners is None:
        return ()
    half_x, half_y = walk.half_m.tolist()
    asked = {
        "long side": 2 * half_y,
        "short side": 2 * half_x,
        "diagonal": 2 * float(np.hypot(half_x, half_y)),
    }
    return tuple(
        Check(
            what=what,
            measured_m=Estimate(
                value=float(np.hypot(*(corners[j] - corners[i]))),
                sd=LONGER * sd_m * float(np.sqrt(2)),
            ),
            asked_m=asked[what],
        )
        for what, i, j in _ROUND
    )


def _corners(walk: Walk, pose: Floats, sides: OnSides) -> Floats | None:
    """Where the walked sides cross, moved out to the boards; x then y, low before high."""
    place = placed(walk, pose)[:, sides.index]
    lines: dict[tuple[int, int], tuple[float, float]] = {}
    for axis in (0, 1):
        for sign in (-1, 1):
            here = (sides.axis == axis) & (sides.sign == sign)
            if here.sum() < LEAST_FIXES:
                return None
            slope, level = np.polyfit(place[1 - axis, here], place[axis, here], 1)
            lines[axis, sign] = float(slope), float(level) + sign * float(pose[3])
    out = []
    for sx in (-1, 1):
        for sy in (-1, 1):
            (p, a), (q, b) = lines[0, sx], lines[1, sy]
            x = (a + p * b) / (1 - p * q)
            out.append((x, b + q * x))
    return np.array(out)
