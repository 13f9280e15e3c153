"""A hand-laid walk and trot test in a 20x40 school, for the pages' tests. Invented throughout."""

from __future__ import annotations

from math import cos, hypot, pi, sin

import numpy as np

from track.layout import Change, Layout, MovementLine, Passage, Stretch, StretchKind
from track.path import Floats
from track.sheet import GaitName, Movement, Rein, Sheet

Point = tuple[float, float]

SHEET = Sheet(
    title="Larch Wood walk and trot 1",
    arena="20x40",
    enter="trot",
    level="walk and trot",
    movements=(
        Movement(number=1, ride=("line A X C", "turn left at C")),
        Movement(number=2, ride=("circle left 20 at E",)),
        Movement(number=3, change=("walk between K and A",), coefficient=2),
        Movement(number=4, ride=("diagonal F X H",), change=("free walk from F to H",)),
        Movement(number=5, change=("trot at C",)),
        Movement(number=6, ride=("circle right 20 at B",)),
        Movement(number=7, ride=("turn right at A", "line A X G"), change=("halt at G for 4 s",)),
        Movement(number=8, of=(3, 5), text="Transitions of 3 and 5"),
    ),
)


class Line:
    """Collects straights and arcs, sampled every 0.1 m."""

    def __init__(self, x_m: float, y_m: float, heading_rad: float) -> None:
        self.points: list[Point] = [(x_m, y_m)]
        self.headings: list[float] = [heading_rad]
        self.marks: list[float] = []

    def to(self, x_m: float, y_m: float) -> None:
        x0, y0 = self.points[-1]
        count = max(1, round(hypot(x_m - x0, y_m - y0) / 0.1))
        turn = np.arctan2(y_m - y0, x_m - x0) - self.headings[-1]
        heading = self.headings[-1] + float((turn + pi) % (2 * pi) - pi)
        for i in range(1, count + 1):
            part = i / count
            self.points.append((x0 + part * (x_m - x0), y0 + part * (y_m - y0)))
            self.headings.append(heading)

    def arc(self, radius_m: float, turn_rad: float) -> None:
        side = 1.0 if turn_rad > 0 else -1.0
        start = self.headings[-1]
        x0, y0 = self.points[-1]
        cx, cy = x0 - side * radius_m * sin(start), y0 + side * radius_m * cos(start)
        count = max(2, round(abs(turn_rad) * radius_m / 0.1))
        for i in range(1, count + 1):
            heading = start + turn_rad * i / count
            self.points.append(
                (cx + side * radius_m * sin(heading), cy - side * radius_m * cos(heading))
            )
            self.headings.append(heading)

    def mark(self) -> float:
        steps = np.diff(np.array(self.points), axis=0)
        self.marks.append(float(np.hypot(steps[:, 0], steps[:, 1]).sum()))
        return self.marks[-1]


def ridden_marks() -> tuple[Line, list[float]]:
    """The line and the distance at the end of each of movements 1 to 7."""
    line = Line(0.0, -19.2, pi / 2)
    line.to(0.0, 16.2)
    line.arc(3.0, pi / 4)
    ends = [line.mark()]
    line.arc(3.0, pi / 4)
    line.to(-6.2, 19.2)
    line.arc(3.0, pi / 2)
    line.to(-9.2, 0.0)
    circle_start = line.mark()
    line.arc(9.2, 2 * pi)
    ends.append(line.mark())
    line.to(-9.2, -16.2)
    line.arc(3.0, pi / 2)
    line.to(0.0, -19.2)
    ends.append(line.mark())
    line.to(6.2, -19.2)
    line.arc(3.0, pi / 2)
    line.to(9.2, -14.0)
    line.to(-9.2, 14.0)
    line.to(-9.2, 16.2)
    ends.append(line.mark())
    line.arc(3.0, -pi / 2)
    line.to(0.0, 19.2)
    line.to(6.2, 19.2)
    ends.append(line.mark())
    line.arc(3.0, -pi / 2)
    line.to(9.2, 0.0)
    second_start = line.mark()
    line.arc(9.2, -2 * pi)
    ends.append(line.mark())
    line.to(9.2, -16.2)
    line.arc(3.0, -pi / 2)
    line.to(3.0, -19.2)
    line.arc(3.0, -pi / 2)
    line.to(0.0, 14.0)
    ends.append(line.mark())
    return line, [circle_start, second_start, *ends]


def layout() -> Layout:
    """The test laid out."""
    line, (circle, second, *ends) = ridden_marks()
    points = np.array(line.points)
    steps = np.hypot(*np.diff(points, axis=0).T)
    s_m = np.concatenate([[0.0], np.cumsum(steps)])
    starts = [0.0, *ends[:-1]]
    spans = list(zip(starts, ends, strict=True))
    trot_at_c = _near(points, s_m, 0.0, 19.2, ends[3])
    walk_window = (_near(points, s_m, -9.2, -14.0, circle + 58), ends[2])
    stretches: list[tuple[Stretch, ...]] = [
        (
            _stretch("line", "line A X C", 0.0, 35.4),
            _stretch("turn", "turn left at C", 35.4, ends[0], "left"),
        ),
        (
            _stretch("track", "track C H E", ends[0], circle, "left", filled=True),
            _circle("circle left 20 at E", circle, ends[1], "left"),
        ),
        (_stretch("track", "track E K A", *spans[2], rein="left", filled=True),),
        (_stretch("diagonal", "diagonal F X H", *spans[3]),),
        (_stretch("track", "track H C", *spans[4], rein="right", filled=True),),
        (
            _stretch("track", "track C M B", ends[4], second, "right", filled=True),
            _circle("circle right 20 at B", second, ends[5], "right"),
        ),
        (
            _stretch("track", "track B F A", ends[5], ends[5] + 25, "right", filled=True),
            _stretch("turn", "turn right at A", ends[5] + 25, ends[5] + 30, "right"),
            _stretch("line", "line A X G", ends[5] + 30, ends[6]),
        ),
        (),
    ]
    changes: list[tuple[Change, ...]] = [
        (),
        (),
        (
            Change(
                text="walk between K and A",
                from_gait="trot",
                to_gait="walk",
                where="between",
                place="K and A",
                start_m=walk_window[0],
                end_m=walk_window[1],
            ),
        ),
        (
            Change(
                text="free walk from F to H",
                from_gait="walk",
                to_gait="walk",
                where="from",
                place="F to H",
                start_m=ends[2] + 14,
                end_m=ends[3] - 3,
                free=True,
            ),
        ),
        (
            Change(
                text="trot at C",
                from_gait="walk",
                to_gait="trot",
                where="at",
                place="C",
                start_m=trot_at_c,
                end_m=trot_at_c,
            ),
        ),
        (),
        (
            Change(
                text="halt at G for 4 s",
                from_gait="trot",
                to_gait="halt",
                where="at",
                place="G",
                start_m=ends[6],
                end_m=ends[6],
                halt_s=4.0,
            ),
        ),
        (),
    ]
    spans.append((ends[6], ends[6]))
    movements = tuple(
        MovementLine(number=i + 1, start_m=a, end_m=b, stretches=stretches[i], changes=changes[i])
        for i, (a, b) in enumerate(spans)
    )
    walk_from = sum(walk_window) / 2
    gait: tuple[GaitName, ...] = tuple(
        "walk" if walk_from <= s < trot_at_c else "trot" for s in s_m.tolist()
    )
    heading = np.array(line.headings)
    return Layout(
        sheet=SHEET,
        track_offset_m=0.8,
        corner_radius_m=3.0,
        s_m=s_m,
        x_m=points[:, 0],
        y_m=points[:, 1],
        heading_rad=heading,
        curvature_1m=np.gradient(heading, s_m),
        gait=gait,
        movements=movements,
        corners=(),
        passages=(Passage(letter="C", s_m=trot_at_c),),
    )


def _stretch(
    kind: StretchKind,
    text: str,
    start: float,
    end: float,
    rein: Rein | None = None,
    *,
    filled: bool = False,
) -> Stretch:
    return Stretch(kind=kind, text=text, start_m=start, end_m=end, rein=rein, filled=filled)


def _circle(text: str, start: float, end: float, rein: Rein) -> Stretch:
    return Stretch(
        kind="circle",
        text=text,
        start_m=start,
        end_m=end,
        rein=rein,
        nominal_m=20.0,
        centre_m=(0.0, 0.0),
        radius_m=9.2,
    )


def _near(points: Floats, s_m: Floats, x: float, y: float, around: float) -> float:
    inside = np.abs(s_m - around) < 30
    miss = np.where(inside, np.hypot(points[:, 0] - x, points[:, 1] - y), 1e9)
    return float(s_m[int(miss.argmin())])
