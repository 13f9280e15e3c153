"""The pen that draws an ideal line: strokes, and going round the track with its corners."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Final

from track.arena import LETTERS
from track.layout import Corner
from track.lines import Pose
from track.pen_strokes import CLOSE_M, RideError, Strokes
from track.sheet import Rein

_LAP: Final = "AKVESHCMRBPF"


@dataclass(slots=True, kw_only=True)
class Pen(Strokes):
    """A line being drawn that knows the track.

    Attributes
    ----------
    corner_radius_m : float, m
        How corners are ridden.
    corners : list of Corner
        Those ridden so far.
    """

    corner_radius_m: float
    corners: list[Corner] = field(default_factory=list)

    @property
    def lap(self) -> str:
        """Letters of the edge, clockwise from A."""
        return "".join(letter for letter in _LAP if letter in LETTERS[self.size])

    def go_along(self, letter: str) -> str:
        """Along the track on the rein one is on, corners ridden; letters passed, with the ends."""
        rein = self.rein()
        if rein is None:
            raise RideError("not on the track")
        goal = self.place(letter)
        passed = self._letters_to(letter, rein)
        for _ in range(5):
            ahead, left = self.here.seen(goal)
            if abs(left) < CLOSE_M and ahead > -CLOSE_M:
                self.go_straight(goal)
                return passed
            self._corner(rein)
        raise RideError(f"{letter} is not on the track")

    def beyond_corner(self) -> str:
        """The first letter after the next corner of the track."""
        rein = self.rein()
        if rein is None:
            raise RideError("no corner lies ahead: not on the track")
        here = self.here
        beyond = here.ahead(self.room_to_corner_m(here) + self.corner_radius_m)
        side = beyond.turned(math.pi / 2 if rein == "left" else -math.pi / 2)
        ahead = {a: side.seen(self.place(a)) for a in self.lap}
        on_side = {a: p[0] for a, p in ahead.items() if abs(p[1]) < CLOSE_M}
        return min(on_side, key=lambda letter: on_side[letter])

    def room_to_corner_m(self, pose: Pose) -> float:
        """Straight track left before the next corner's arc, metres."""
        half = self.half_width_m if abs(math.cos(pose.heading_rad)) > 0.5 else self.half_length_m
        along = pose.x_m * math.cos(pose.heading_rad) + pose.y_m * math.sin(pose.heading_rad)
        return half - along - self.corner_radius_m

    def _corner(self, rein: Rein) -> None:
        here = self.here
        run = self.room_to_corner_m(here) + self.corner_radius_m
        self.go_straight(here.ahead(run).point)
        angle = math.pi / 2 if rein == "left" else -math.pi / 2
        joint = self.turn(angle, self.corner_radius_m)
        self.corners.append(
            Corner(
                x_m=self.here.x_m,
                y_m=self.here.y_m,
                start_m=joint.start_m,
                end_m=joint.end_m,
                rein=rein,
            )
        )

    def _letters_to(self, letter: str, rein: Rein) -> str:
        lap = self.lap if rein == "right" else self.lap[::-1]
        if letter not in lap:
            raise RideError(f"{letter} is not on the track; allowed: {' '.join(self.lap)}")
        at = next((place for place in lap if self.is_at(place)), None)
        first = at or self._next_letter(lap)
        turned = lap[lap.index(first) :] + lap[: lap.index(first)]
        rest = turned[1:] + turned[0] if at and at != letter else turned
        passed = rest[: rest.index(letter) + 1]
        return (at or "") + passed if at != letter else letter

    def _next_letter(self, lap: str) -> str:
        """The first letter ahead on the track."""
        here = self.here
        ahead = {letter: here.seen(self.place(letter)) for letter in lap}
        on_side = {a: p[0] for a, p in ahead.items() if abs(p[1]) < CLOSE_M and p[0] > 0}
        if on_side:
            return min(on_side, key=lambda letter: on_side[letter])
        return self.beyond_corner()
