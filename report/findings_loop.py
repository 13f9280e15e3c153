"""Findings of diagonals' ends, single loops and serpentines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from report.geometry import crossings
from report.measured import About
from report.result import Finding
from report.ridden import Ridden, Term
from track.arena import LETTERS
from track.path import Estimate, Floats, Path
from track.shapes_fit import fit_line
from track.stretch import Stretch, measured, one_by_one, stretch_of

MIDDLE: Final = (0.25, 0.75)
"""Part of a diagonal that is surely straight."""
ORDINALS: Final = ("first", "second", "third", "fourth", "fifth", "sixth")


def diagonal_ends(
    ridden: Ridden,
    path: Path,
    run_s: tuple[float, float],
    letters: tuple[str, str],
    about: About,
) -> list[Finding]:
    """``leave_place`` and ``arrive_place``: where the straight diagonal meets the ridden track.

    The track is the rider's: boards less the track offset of this ride.
    """
    track_m = 10.0 - ridden.track_offset_m
    length_s = run_s[1] - run_s[0]
    middle = stretch_of(path, run_s[0] + MIDDLE[0] * length_s, run_s[0] + MIDDLE[1] * length_s)
    rows: list[Finding] = []
    for measure, letter in (("leave_place", letters[0]), ("arrive_place", letters[1])):
        x_m, y_m = LETTERS[ridden.names.size][letter]
        place = _meets(middle, float(np.sign(x_m)) * track_m, y_m)
        row = ridden.judged(
            measure,
            about,
            place,
            ridden.bands.band(measure, 0.0),
            detail=ridden.names.place(letter),
        )
        rows.append(row)
    return rows


def _meets(middle: Stretch, track_x_m: float, letter_y_m: float) -> Estimate:
    def beyond(x_m: Floats, y_m: Floats) -> Floats:
        line = fit_line(x_m, y_m)
        way = np.where(np.sin(line.direction_rad) >= 0, 1.0, -1.0)
        return np.asarray(way * (line.y_at(track_x_m) - letter_y_m))

    return measured(middle, beyond)


def loop_depth_finding(
    ridden: Ridden, path: Path, term: Term, side: float, about: About
) -> Finding:
    """``loop_depth``: from the ridden track, beside which the loop begins and ends.

    Parameters
    ----------
    side : float
        +1 for a loop on the side of B.
    """
    stretch = stretch_of(path, term.start_s - 1.0, term.end_s + 1.0)

    def depth(x_m: Floats, _: Floats) -> Floats:
        out = side * x_m
        ends = (out[:, :6].mean(axis=1) + out[:, -6:].mean(axis=1)) / 2
        return np.asarray(ends - out.min(axis=1))

    nominal = term.stretch.nominal_m
    target = None if nominal is None else nominal - ridden.track_offset_m
    return ridden.judged(
        "loop_depth",
        about,
        measured(stretch, depth),
        ridden.bands.band("loop_depth", target),
        asked=nominal,
    )


def loop_widths(x_m: Floats) -> Floats:
    """Width of each loop, from the centre line, metres.

    Examples
    --------
    >>> loop_widths(np.array([0.5, 9.0, 1.0, -1.0, -8.0, -0.5]))
    array([9., 8.])
    """
    return np.array([np.abs(part).max() for part in np.split(x_m, crossings(x_m))])


def serpentine_findings(
    ridden: Ridden, path: Path, term: Term, about: About, ideal_rad: Sequence[float]
) -> list[Finding]:
    """``loop_spread``, and ``crossing_angle`` of every crossing of the centre line.

    Parameters
    ----------
    ideal_rad : sequence of float, rad
        Headings at which the ideal line crosses the centre line.
    """
    stretch = stretch_of(path, term.start_s, term.end_s)
    loops = term.stretch.loops
    band = ridden.bands.band("loop_spread", 0.0)
    inner = [i for i in crossings(stretch.x_m) if 6 <= i <= stretch.t_s.size - 6]
    if len(inner) < loops - 1:
        because = f"the centre line was crossed fewer than {loops - 1} times"
        return [ridden.missing("loop_spread", about, because, band)]

    def spread(x_m: Floats, _: Floats) -> float:
        return float(np.ptp(np.sort(loop_widths(x_m))[-loops:]))

    rows = [ridden.judged("loop_spread", about, measured(stretch, one_by_one(spread)), band)]
    for place, (index, ideal) in enumerate(zip(inner, ideal_rad, strict=False)):
        told = replace(
            about,
            start_s=float(stretch.t_s[index]),
            end_s=float(stretch.t_s[index]),
            what=f"the {ORDINALS[place]} loop of {about.what}",
            where="",
        )
        rows.append(_crossing(ridden, stretch, (index, ideal), told))
    return rows


def _crossing(ridden: Ridden, stretch: Stretch, at: tuple[int, float], about: About) -> Finding:
    index, ideal = at

    def aslant_deg(x_m: Floats, y_m: Floats) -> float:
        # Every line that this may have been crosses at a place of its own.
        own = min(crossings(x_m), key=lambda i: abs(i - index), default=index)
        here = slice(max(own - 2, 0), own + 2)
        heading = np.arctan2(y_m[here][-1] - y_m[here][0], x_m[here][-1] - x_m[here][0])
        return float(np.rad2deg((heading - ideal + np.pi) % (2 * np.pi) - np.pi))

    angle = measured(stretch, one_by_one(aslant_deg))
    return ridden.judged("crossing_angle", about, angle, ridden.bands.band("crossing_angle", 0.0))
