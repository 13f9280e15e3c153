"""Findings of where a transition or a halt came: at its letter, inside its window."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

import numpy as np

from gait.bouts import Bout, Transition
from report.measured import About
from report.places import Passing, ahead_of, heading_at, passing, place_along
from report.result import Finding
from report.ridden import Asked, Ridden
from report.standing import standing
from report.verdict import Band, chance_below
from track.arena import LETTERS
from track.layout import Change, Layout
from track.path import Estimate, Path


def said_place(ridden: Ridden, change: Change) -> str:
    """Say the place of a change: a letter, the corner, the centre line, the second half."""
    unnamed = change.where == "part" or change.place in ("corner", "centre line")
    return f"the {change.place}" if unnamed else ridden.names.place(change.place)


@dataclass(frozen=True, slots=True, kw_only=True)
class Answered:
    """A change of the sheet with the transition that answers it."""

    ridden: Ridden
    layout: Layout
    asked: Asked
    found: Transition
    about: About

    @property
    def instant(self) -> Estimate:
        """Onset of the new gait on the path, with what the clocks add to its doubt there."""
        sd = float(np.hypot(self.found.t_sd_s, self.ridden.clock_sd_s))
        return Estimate(value=self.found.t_s, sd=sd)

    @property
    def place(self) -> str:
        """The asked place in words."""
        return said_place(self.ridden, self.asked.change)

    @property
    def halts(self) -> bool:
        """True for a change into a halt."""
        return self.asked.change.to_gait == "halt"


def place_finding(answered: Answered) -> Finding:
    """``placement``, or ``halt_place`` for a halt."""
    path = answered.ridden.path
    measure = "halt_place" if answered.halts else "placement"
    if path is None:
        because = "no school was found in the positions, so there are no letters to measure from"
        return answered.ridden.missing(measure, answered.about, because)
    if answered.halts:
        return _halt_place(answered, path)
    if answered.asked.change.where in ("between", "part"):
        return _in_window(answered, path)
    return _at_letter(answered, path)


def _at_letter(answered: Answered, path: Path) -> Finding:
    ridden, found = answered.ridden, answered.found
    return ridden.judged(
        "placement",
        replace(answered.about, where=""),
        place_along(path, answered.instant, _passed(answered, path, 0)),
        ridden.bands.band("placement", 0.0),
        stride_m=ridden.stride_m(found.to_gait, found.t_s),
        detail=answered.place.split(" and ")[0],
    )


def places_of(layout: Layout, asked: Asked) -> list[tuple[float, float]]:
    """Points of the arena that a change is measured from: letters, else points of the line."""
    letters = LETTERS[layout.sheet.arena]
    words = re.findall(r"\b[A-Z]\b", asked.change.place)
    named = [letters[word] for word in words if word in letters]
    if named and asked.change.where != "part":
        return [named[0], named[-1]]
    ends = (asked.change.start_m, asked.change.end_m)
    return [
        (
            float(np.interp(s_m, layout.s_m, layout.x_m)),
            float(np.interp(s_m, layout.s_m, layout.y_m)),
        )
        for s_m in ends
    ]


def _passed(answered: Answered, path: Path, end: int) -> Passing:
    around_s = (answered.asked.start_s, answered.asked.end_s)[end]
    return passing(path, places_of(answered.layout, answered.asked)[end], around_s)


def _in_window(answered: Answered, path: Path) -> Finding:
    first, last = _passed(answered, path, 0), _passed(answered, path, 1)
    after = place_along(path, answered.instant, first)
    window_m = max(0.0, last.s_m - first.s_m)
    outside = after.value - float(np.clip(after.value, 0.0, window_m))
    inside = chance_below(window_m, after.value, after.sd) - chance_below(0, after.value, after.sd)
    return answered.ridden.judged(
        "placement",
        replace(answered.about, where=""),
        Estimate(value=outside, sd=after.sd),
        Band(target=0.0, low=0.0, high=0.0, slack=window_m / 2),
        chance=max(0.0, inside),
        stride_m=answered.ridden.stride_m(answered.found.to_gait, answered.found.t_s),
        detail=_window_words(answered),
    )


def _window_words(answered: Answered) -> str:
    between = answered.asked.change.where == "between"
    return f"the stretch between {answered.place}" if between else f"{answered.place} of it"


def halt_bout(ridden: Ridden, found: Transition) -> Bout | None:
    """Find the halt that a transition leads into."""
    near = [b for b in ridden.gaits.bouts if b.gait == "halt" and abs(b.start_s - found.t_s) < 3]
    return min(near, key=lambda bout: abs(bout.start_s - found.t_s), default=None)


def _halt_place(answered: Answered, path: Path) -> Finding:
    ridden, found = answered.ridden, answered.found
    bout = halt_bout(ridden, found)
    middle_s = found.t_s
    if bout is not None:
        began, left = standing(bout, ridden.motion)
        middle_s = (began.value + left.value) / 2
    heading = heading_at(path, found.t_s - 2.0)
    return ridden.judged(
        "halt_place",
        replace(answered.about, where=""),
        ahead_of(path, middle_s, places_of(answered.layout, answered.asked)[0], heading),
        ridden.bands.band("halt_place", 0.0),
        stride_m=ridden.stride_m(found.from_gait, found.t_s - 4.0),
        detail=answered.place,
    )
