"""An invented ride as a result, in every state a page must bear. Nothing here was recorded."""

# ruff: noqa: E501, PLR0911, PLR0917

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import pi
from typing import Any

import numpy as np

from report.result import (
    ArenaRow,
    BoutRow,
    CourseErrorRow,
    EventRow,
    FigureRow,
    Finding,
    Gait,
    MovementRow,
    NoteRow,
    PathRow,
    RatingRow,
    Ratings,
    Rein,
    Result,
    RhythmRow,
    Ride,
    SettlesRow,
    SheetRow,
    StrideRow,
    TimeIn,
    TransitionRow,
    Value,
    WarmUp,
)
from tests.report.invented_line import Line, layout, ridden_marks
from track.path import Floats

SPEED_MS: dict[str, float] = {"halt": 0.0, "walk": 1.6, "trot": 3.3, "canter": 4.0}
TEMPO_SPM = {"walk": 55.0, "trot": 79.0, "canter": 98.0}


@dataclass(slots=True)
class Made:
    """The ride in small steps: place, time and gait of each."""

    x: Floats
    y: Floats
    t: Floats
    gait: list[Gait]
    circles: list[tuple[Rein, float, float, int | None]]
    movements: list[tuple[float, float]]


def finding(measure: str, value: float | None, sd: float | None, unit: str, **rest: Any) -> Finding:
    """A finding with the fields that a test does not care about filled in."""
    empty: dict[str, Any] = {
        "of": None,
        "start_s": None,
        "end_s": None,
        "gait": None,
        "target": None,
        "low": None,
        "high": None,
        "chance_within": None,
        "verdict": None,
        "shown": "",
        "say": "",
        "do": "",
        "because": "",
    }
    return Finding(measure=measure, value=value, sd=sd, unit=unit, **{**empty, **rest})


def made_ride() -> Made:
    """Warm up on both reins, walk in, ride the test, halt."""
    pieces: list[tuple[Floats, Gait]] = []
    circles: list[tuple[int, int, Rein, int | None]] = []
    warm = Line(0.0, -19.2, 0.0)
    for rein, side in (("left", 1), ("right", -1)):
        gaits: tuple[Gait, ...] = ("walk", "trot", "canter")
        for gait in gaits:
            lap = Line(0.0, -19.2, 0.0 if side > 0 else pi)
            for x, y in ((9.2, -16.2), (9.2, 16.2), (-9.2, 16.2), (-9.2, -16.2)):
                dx = side * x
                lap.to(
                    *((side * 6.2, -19.2) if y == -16.2 and dx == side * 9.2 else lap.points[-1])
                )
                lap.to(dx, y)
            if gait != "walk":
                lap.to(-side * 6.2, -19.2)
                lap.to(0.0, -19.2)
                for _ in range(2):
                    n = sum(len(p) for p, _ in pieces) + len(lap.points)
                    lap.headings[-1] = 0.0 if side > 0 else pi
                    lap.arc(9.0 if gait == "trot" else 8.7, side * 2 * pi)
                    end = sum(len(p) for p, _ in pieces) + len(lap.points)
                    circles.append((n, end, rein, None))  # type: ignore[arg-type]
            pieces.append((np.array(lap.points), gait))
    warm.to(0.0, -19.2)
    line, (c1, c2, *ends) = ridden_marks()
    points = np.array(line.points)
    s = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    egg = (s >= c1) & (s < ends[1])
    points[egg, 1] *= 1.13
    plan = layout()
    asked = np.array(plan.gait)
    late = np.flatnonzero(asked == "walk")
    asked[late[-1] : late[-1] + 45] = "walk"
    base = sum(len(p) for p, _ in pieces)
    for first, last in _runs(asked):
        pieces.append((points[first:last], asked[first]))
    pieces.append((np.repeat(points[-1:], 60, axis=0), "halt"))
    at = np.searchsorted(s, [c1, ends[1], c2, ends[5]]) + base
    circles += [(int(at[0]), int(at[1]), "left", 2), (int(at[2]), int(at[3]), "right", 6)]
    return _timed(pieces, circles, base, [0, *np.searchsorted(s, ends).tolist()])


def _runs(labels: Any) -> list[tuple[int, int]]:
    edges = [0, *(np.flatnonzero(labels[1:] != labels[:-1]) + 1).tolist(), len(labels)]
    return list(pairwise(edges))


def _timed(
    pieces: list[tuple[Floats, Gait]],
    circles: list[tuple[int, int, Rein, int | None]],
    base: int,
    marks: list[int],
) -> Made:
    xy = np.concatenate([p for p, _ in pieces])
    gait: list[Gait] = [g for p, g in pieces for _ in range(len(p))]
    steps = np.hypot(*np.diff(xy, axis=0).T)
    speed = np.array([SPEED_MS[g] for g in gait[1:]])
    dt = np.where(speed > 0, steps / np.maximum(speed, 0.1), 0.1)
    t = np.concatenate([[0.0], np.cumsum(dt)])
    rng = np.random.default_rng(7)
    phase = rng.uniform(0, 2 * pi, 4)
    x = xy[:, 0] + 0.25 * np.sin(t / 9 + phase[0]) + 0.15 * np.sin(t / 4 + phase[1])
    y = xy[:, 1] + 0.25 * np.sin(t / 8 + phase[2]) + 0.15 * np.sin(t / 5 + phase[3])
    spans = [(float(t[base + a]), float(t[min(base + b, len(t) - 1)])) for a, b in pairwise(marks)]
    last = len(t) - 1
    turned = [(r, float(t[min(a, last)]), float(t[min(b, last)]), m) for a, b, r, m in circles]
    spans[-1] = (spans[-1][0], float(t[-1]))
    return Made(x=x, y=y, t=t, gait=gait, circles=turned, movements=spans)


def bouts(made: Made) -> list[BoutRow]:
    return [
        BoutRow(
            gait=made.gait[a],
            start_s=float(made.t[a]),
            end_s=float(made.t[min(b, len(made.t) - 1)]),
            confidence=0.97,
            because="two beats a stride and the speed fit",
        )
        for a, b in _runs(np.array(made.gait))
    ]


def strides(rows: list[BoutRow]) -> list[StrideRow]:
    rng = np.random.default_rng(8)
    out: list[StrideRow] = []
    for bout in rows:
        t = bout.start_s
        while bout.gait in TEMPO_SPM and t < bout.end_s:
            mean = 60 / (TEMPO_SPM[bout.gait] + 2 * np.sin(t / 40))
            duration = float(mean * (1 + 0.02 * rng.standard_normal()))
            out.append(StrideRow(t_s=t, duration_s=duration, gait=bout.gait))
            t += duration
    return out


def path_row(made: Made) -> PathRow:
    t = np.arange(0.0, made.t[-1], 0.5)
    x, y = np.interp(t, made.t, made.x), np.interp(t, made.t, made.y)
    heading = np.degrees(np.unwrap(np.arctan2(np.gradient(y), np.gradient(x))))
    speed = np.hypot(np.gradient(x, t), np.gradient(y, t))
    return PathRow(
        frame="arena",
        t_s=t.tolist(),
        x_m=x.round(3).tolist(),
        y_m=y.round(3).tolist(),
        sd_m=(0.36 + 0.08 * np.sin(t / 50)).round(3).tolist(),
        speed_ms=speed.round(3).tolist(),
        heading_deg=heading.round(1).tolist(),
    )


def transitions(rows: list[BoutRow], made: Made) -> list[TransitionRow]:
    out = []
    for old, new in pairwise(rows):
        if old.gait == new.gait:
            continue
        t = new.start_s
        x, y = float(np.interp(t, made.t, made.x)), float(np.interp(t, made.t, made.y))
        out.append(
            TransitionRow(
                from_gait=old.gait,
                to_gait=new.gait,
                t_s=t,
                t_sd_s=0.3,
                x_m=x,
                y_m=y,
                between_strides=1.0,
            )
        )
    return out


def circle_findings(start: float, end: float, *, egg: bool) -> list[Finding]:
    span: dict[str, Any] = {"start_s": start, "end_s": end, "gait": "trot", "of": "ride:1"}
    size = 19.9 if egg else 18.2
    shown = f"asked 20 m, ridden like {size + 1.6:.1f} ± 0.4"
    word = "near" if egg else "within"
    length = 2.6 if egg else 0.3
    return [
        finding(
            "diameter",
            size,
            0.4,
            "m",
            target=18.4,
            low=16.9,
            high=19.9,
            chance_within=0.5 if egg else 0.99,
            verdict=word,
            shown=shown,
            say="The circle was the size asked for."
            if not egg
            else "The circle was about the size asked for.",
            do="" if not egg else "Ride from touch point to touch point.",
            because="the difference is finer than a phone can tell"
            if egg
            else "20 m less the track on both sides",
            **span,
        ),
        finding(
            "length_minus_width",
            length,
            0.28,
            "m",
            target=0.4,
            low=-1.6,
            high=2.4,
            chance_within=0.04 if egg else 0.999,
            verdict="outside" if egg else "within",
            shown=f"{length:.1f} ± 0.3 m longer than wide",
            say="The circle was an egg: about a horse's length longer towards C than it was wide."
            if egg
            else "The circle was as wide as it was long.",
            do="Look for the centre line at 10 m either side of X and touch it there, four times, before you trust the circle."
            if egg
            else "",
            because="four repeats of the same line agree",
            **span,
        ),
        finding(
            "quarter_spread",
            1.9 if egg else 0.6,
            0.35,
            "strides",
            target=0.0,
            high=1.5,
            chance_within=0.13 if egg else 0.99,
            verdict="cannot tell" if egg else "within",
            shown=f"{1.9 if egg else 0.6:.1f} ± 0.4 strides between quarters",
            say="The second and fourth quarter may be longer than the others."
            if egg
            else "All four quarters took the same number of strides.",
            do="",
            because="± 0.4 strides is too rough to say whether it is 1.5 strides or less; the average with 4 more such circles would settle it",
            settles=[SettlesRow(what="circle", more=4)],
            **span,
        ),
        finding(
            "tempo",
            79.2,
            0.4,
            "strides/min",
            shown="79 strides a minute (158 beats)",
            say="She trotted 79 strides a minute on the circle.",
            because="measured, not rated",
            **span,
        ),
    ]


def movement_findings(number: int, start: float, end: float) -> list[Finding]:
    span: dict[str, Any] = {"start_s": start, "end_s": end, "of": "ride:1"}
    change = {**span, "of": "change:1"}
    if number == 1:
        return [
            finding(
                "wander",
                0.28,
                0.12,
                "m",
                target=0.0,
                high=0.5,
                chance_within=0.97,
                verdict="within",
                shown="0.3 ± 0.1 m",
                gait="trot",
                say="The centre line stayed within a hand's breadth of straight.",
                because="the longest straight run, 31 m",
                **span,
            ),
            finding(
                "line_offset",
                -0.7,
                0.6,
                "m",
                target=0.0,
                low=-1.0,
                high=1.0,
                chance_within=0.69,
                verdict="cannot tell",
                shown="0.7 ± 0.6 m right of it",
                gait="trot",
                say="The line may have lain right of the centre.",
                because="± 0.6 m is too rough to say whether it is between −1.0 and 1.0 m; a walk lap along the boards on each rein first would settle it",
                settles=[
                    SettlesRow(what="a walk lap along the boards on each rein first", more=None)
                ],
                **span,
            ),
        ]
    if number in (2, 6):
        return circle_findings(start + 4, end, egg=number == 2)
    if number == 3:
        return [
            finding(
                "placement",
                0.0,
                1.1,
                "m",
                target=0.0,
                low=0.0,
                high=0.0,
                chance_within=0.97,
                verdict="within",
                shown="between K and A",
                gait="walk",
                say="The walk came between K and A.",
                because="the onset is known to 0.3 s",
                **change,
            ),
            finding(
                "between_strides",
                2.0,
                0.4,
                "strides",
                target=0.0,
                high=2.0,
                chance_within=0.5,
                verdict="near",
                shown="2 strides",
                gait="walk",
                say="About two strides in neither gait.",
                because="finer than a phone can tell",
                **change,
            ),
        ]
    if number == 4:
        return [
            finding(
                "stride_length_ratio",
                1.06,
                0.02,
                "ratio",
                target=1.03,
                low=1.0,
                chance_within=0.99,
                verdict="within",
                shown="6 % longer",
                gait="walk",
                say="Free walk strides were 6 % longer than her medium walk.",
                because="28 strides against 22",
                **span,
            ),
            finding(
                "jog_strides",
                0,
                0.0,
                "strides",
                target=0.0,
                high=1.0,
                chance_within=1.0,
                verdict="within",
                shown="none",
                gait="walk",
                say="No jog.",
                because="",
                **span,
            ),
            finding(
                "stride_time_cv",
                None,
                None,
                "%",
                shown="cannot be told",
                say="",
                gait="walk",
                because="fewer than 20 strides of one walk",
                **span,
            ),
        ]
    if number == 5:
        return [
            finding(
                "placement",
                4.6,
                0.7,
                "m",
                target=0.0,
                low=-3.6,
                high=3.6,
                chance_within=0.04,
                verdict="outside",
                shown="4.6 ± 0.7 m late",
                gait="trot",
                say="The trot came two horse's lengths after C.",
                do="At H, shorten the rein and count three walk strides; ask in the corner, so that the trot is there at C.",
                because="strides on both sides of the change agree",
                **change,
            ),
            finding(
                "settle_strides",
                9.0,
                1.0,
                "strides",
                target=4.0,
                high=6.0,
                chance_within=0.01,
                verdict="outside",
                shown="9 ± 1 strides",
                gait="trot",
                say="The new trot took nine strides to find its tempo.",
                do="Trot on from walk in the corner and count aloud to four.",
                because="3 % of the stretch's median",
                **change,
            ),
        ]
    if number == 7:
        return [
            finding(
                "halt_time",
                2.1,
                0.3,
                "s",
                target=4.0,
                low=4.0,
                chance_within=0.0,
                verdict="outside",
                shown="2.1 ± 0.3 s, asked 4 s",
                gait="halt",
                say="She stood for two seconds of the four asked for at G.",
                do="Breathe out twice at G before you pick up the reins to salute.",
                because="still in all three axes",
                **change,
            ),
            finding(
                "halt_place",
                -0.9,
                0.8,
                "m",
                target=0.0,
                low=-2.4,
                high=2.4,
                chance_within=0.97,
                verdict="within",
                shown="0.9 ± 0.8 m before G",
                gait="halt",
                say="The halt stood at G.",
                because="",
                **change,
            ),
            finding(
                "overshoot",
                1.2,
                0.5,
                "m",
                target=0.0,
                high=1.5,
                chance_within=0.73,
                verdict="cannot tell",
                shown="1.2 ± 0.5 m",
                gait="trot",
                say="The turn may have gone past the centre line.",
                because="± 0.4 strides is too rough to say whether it is 1.5 strides or less; the average with 4 more such circles would settle it",
                settles=[SettlesRow(what="circle", more=4)],
                **span,
            ),
        ]
    return []


def rhythm() -> list[RhythmRow]:
    def row(gait: Gait, rein: Any, tempo: float, cv: float, length: float, count: int) -> RhythmRow:
        return RhythmRow(
            gait=gait,
            rein=rein,
            tempo_spm=Value(value=tempo, sd=0.3),
            stride_time_cv_percent=Value(value=cv, sd=0.2) if count >= 20 else None,
            stride_length_m=Value(value=length, sd=0.03),
            stride_count=count,
        )

    return [
        row("walk", "all", 54.8, 2.6, 1.75, 160),
        row("walk", "left", 54.6, 2.4, 1.76, 60),
        row("walk", "right", 55.0, 2.7, 1.74, 62),
        row("trot", "all", 79.1, 2.1, 2.53, 420),
        row("trot", "left", 79.4, 2.0, 2.52, 190),
        row("trot", "right", 78.1, 2.4, 2.49, 180),
        row("canter", "left", 98.0, 1.8, 2.42, 64),
        row("canter", "right", 98.6, 2.0, 2.40, 15),
    ]


def ratings() -> Ratings:
    return Ratings(
        circle_shape=RatingRow(
            name="circle_shape",
            counts={"left": {"within": 2, "outside": 1}, "right": {"within": 3}},
            pooled=Value(value=0.8, sd=0.2),
            unit="m",
            sentence="Two of three circles on the left rein were round; all three on the right.",
        ),
        rhythm_regularity=RatingRow(
            name="rhythm_regularity",
            counts={"left": {"within": 4, "cannot tell": 1}, "right": {"within": 3, "near": 1}},
            pooled=None,
            unit="strides/min",
            sentence="The trot kept its tempo on both reins.",
        ),
        transition_placement=RatingRow(
            name="transition_placement",
            counts={"straight": {"within": 2, "outside": 1}},
            pooled=Value(value=1.9, sd=0.6),
            unit="m",
            sentence="One of three transitions came late.",
        ),
    )


def whole() -> Result:
    """Positions and motion, a sheet, ends known."""
    made = made_ride()
    rows = bouts(made)
    figures = [
        FigureRow(
            kind="circle",
            rein=r,
            start_s=a,
            end_s=b,
            movement=m,
            findings=circle_findings(a, b, egg=m == 2),
        )
        for r, a, b, m in made.circles
    ]
    movements = [
        MovementRow(
            number=i + 1,
            run=1,
            found=True,
            start_s=a,
            start_sd_s=0.5,
            end_s=b,
            end_sd_s=0.6,
            because="place, heading and gait agree",
            findings=movement_findings(i + 1, a, b),
        )
        for i, (a, b) in enumerate(made.movements)
    ]
    movements.append(
        MovementRow(
            number=8,
            run=1,
            found=True,
            start_s=None,
            start_sd_s=None,
            end_s=None,
            end_sd_s=None,
            because="the transitions of movements 3 and 5",
            findings=[],
        )
    )
    return Result(
        ride=Ride(
            duration_s=float(made.t[-1]),
            fix_count=int(made.t[-1]),
            fix_rate_hz=1.0,
            motion_rate_hz=100.0,
            sources=["ride.gpx", "motion.csv"],
            horse="Juniper",
            kind="run-through",
            pocket="chest",
            label="after the lesson",
            clock_offset_s=Value(value=1.32, sd=0.05),
            receiver_lag_s=Value(value=0.4, sd=0.1),
        ),
        notes=[
            NoteRow(
                code="first-fixes",
                text="The first 3 fixes were up to 80 m off and were left out.",
                severity="info",
            ),
            NoteRow(
                code="no-lap",
                text="No walk lap along the boards was found: places are known less well.",
                severity="warning",
            ),
        ],
        sheet=SheetRow(
            title="Larch Wood walk and trot 1",
            arena="20x40",
            level="walk and trot",
            movement_count=8,
        ),
        arena=ArenaRow(
            size="20x40",
            source="ride",
            ends="known",
            ends_because="the sheet's movements fit only this way round",
            x_lat_deg=52.0,
            x_lon_deg=5.0,
            bearing_deg=30.0,
            sd_m=0.5,
            bearing_sd_deg=0.4,
            track_offset_m=Value(value=0.8, sd=0.2),
            runner_up=None,
        ),
        path=path_row(made),
        bouts=rows,
        strides=strides(rows),
        transitions=transitions(rows, made),
        events=[
            EventRow(
                kind="jog", start_s=30.0, end_s=32.0, because="three trot strides inside the walk"
            )
        ],
        movements=movements,
        course_errors=[],
        figures=figures,
        rhythm=rhythm(),
        time_in=TimeIn(
            halt_s=6,
            walk_s=150,
            trot_s=260,
            canter_s=80,
            unknown_s=3,
            left_rein_s=210,
            right_rein_s=205,
            straight_s=84,
        ),
        warm_up=WarmUp(
            first_trot_s=72,
            first_canter_s=130,
            walk_breaks=2,
            longest_without_walk_break_s=190,
            changes_of_rein=1,
            settled_s=95,
        ),
        ratings=ratings(),
    )


def _changed(result: Result, **parts: Any) -> Result:
    return result.model_copy(update=parts)


def without_sheet() -> Result:
    result = whole()
    figures = [f.model_copy(update={"movement": None}) for f in result.figures]
    return _changed(result, sheet=None, movements=[], figures=figures)


def ends_unknown() -> Result:
    result = without_sheet()
    assert result.arena is not None
    arena = result.arena.model_copy(update={"ends": "unknown", "ends_because": "no ground for it"})
    note = NoteRow(
        code="ends-unknown", text="Which short side is A could not be told.", severity="warning"
    )
    return _changed(result, arena=arena, notes=[*result.notes, note])


def motion_only() -> Result:
    result = without_sheet()
    ride = result.ride.model_copy(
        update={
            "fix_count": 0,
            "fix_rate_hz": None,
            "clock_offset_s": None,
            "receiver_lag_s": None,
            "sources": ["motion.csv"],
        }
    )
    transitions_ = [t.model_copy(update={"x_m": None, "y_m": None}) for t in result.transitions]
    time_in = result.time_in.model_copy(
        update={"left_rein_s": None, "right_rein_s": None, "straight_s": None}
    )
    note = NoteRow(
        code="no-positions",
        text="There are no positions: gaits and rhythm only.",
        severity="warning",
    )
    empty = Ratings(
        circle_shape=None,
        rhythm_regularity=result.ratings.rhythm_regularity,
        transition_placement=None,
    )
    return _changed(
        result,
        ride=ride,
        arena=None,
        path=None,
        figures=[],
        transitions=transitions_,
        time_in=time_in,
        notes=[note],
        ratings=empty,
        rhythm=[r for r in result.rhythm if r.rein == "all"],
    )


def positions_only() -> Result:
    result = whole()
    ride = result.ride.model_copy(update={"motion_rate_hz": None, "clock_offset_s": None})
    note = NoteRow(
        code="no-motion",
        text="There is no motion: gaits are coarse, from speed alone.",
        severity="warning",
    )
    assert result.path is not None
    path = result.path.model_copy(update={"sd_m": [0.8] * len(result.path.t_s)})
    return _changed(result, ride=ride, path=path, strides=[], rhythm=[], notes=[note], events=[])


def cannot_tell_everywhere() -> Result:
    result = whole()
    settle = "± 0.9 m is too rough; a logger that saves speed and course or the average with 3 more such circles would settle it"
    ways = [
        SettlesRow(what="a logger that saves speed and course", more=None),
        SettlesRow(what="circle", more=3),
    ]

    def dim(finding: Finding) -> Finding:
        told = finding.value is not None and finding.verdict is not None
        change = {
            "verdict": "cannot tell",
            "chance_within": 0.5,
            "because": settle,
            "do": "",
            "settles": ways,
        }
        return finding.model_copy(update=change if told else {})

    movements = [
        m.model_copy(update={"findings": [dim(f) for f in m.findings]}) for m in result.movements
    ]
    figures = [
        m.model_copy(update={"findings": [dim(f) for f in m.findings]}) for m in result.figures
    ]
    return _changed(result, movements=movements, figures=figures)


def with_course_error() -> Result:
    result = whole()
    row = result.movements[4]
    lost = row.model_copy(
        update={
            "found": False,
            "start_s": None,
            "end_s": None,
            "start_sd_s": None,
            "end_sd_s": None,
            "findings": [],
            "because": "the line went straight on at C",
        }
    )
    again = result.movements[6]
    assert again.start_s is not None
    error = CourseErrorRow(
        movement=5,
        t_s=again.start_s - 60,
        x_m=0.0,
        y_m=19.0,
        text="The circle right at B was ridden twice; the second was left out.",
    )
    event = EventRow(
        kind="spook",
        start_s=again.start_s + 2,
        end_s=again.start_s + 5,
        because="a sudden sideways jump, then canter for 2 s; back in trot after 4 strides",
    )
    return _changed(
        result,
        movements=[*result.movements[:4], lost, *result.movements[5:]],
        course_errors=[error],
        events=[*result.events, event],
    )


def with_planted_markup() -> Result:
    result = whole()
    bad = "<script>document.title='run'</script><img src=x onerror=\"document.title='run'\">"
    ride = result.ride.model_copy(
        update={"horse": bad, "label": bad, "pocket": bad, "sources": [bad]}
    )
    sheet = SheetRow(title=bad, arena="20x40", level=bad, movement_count=8)
    row = result.movements[1]
    found = [
        f.model_copy(update={"say": bad, "do": bad, "because": bad, "shown": bad})
        for f in row.findings
    ]
    movements = [
        result.movements[0],
        row.model_copy(update={"findings": found, "because": bad}),
        *result.movements[2:],
    ]
    return _changed(
        result,
        ride=ride,
        sheet=sheet,
        movements=movements,
        notes=[NoteRow(code=bad, text=bad, severity="info")],
    )


def ridden_twice() -> Result:
    result = whole()
    second = [_again(m) for m in result.movements]
    return _changed(result, movements=[*result.movements, *second])


def no_school() -> Result:
    """Positions, but no school was found in them: metres east and north of the first fix."""
    result = without_sheet()
    assert result.path is not None
    path = result.path.model_copy(update={"frame": "local"})
    figures = [
        f.model_copy(update={"findings": [x for x in f.findings if x.measure == "tempo"]})
        for f in result.figures
    ]
    note = NoteRow(code="no-school", text="No school was found.", severity="warning")
    return _changed(result, arena=None, path=path, figures=figures, notes=[note])


def _again(row: MovementRow) -> MovementRow:
    """The same movement, found in the warm-up instead: times only matter for order here."""
    if row.start_s is None or row.end_s is None:
        return row.model_copy(update={"run": 2})
    moved = {"run": 2, "start_s": row.start_s - 300, "end_s": row.end_s - 300, "findings": []}
    return row.model_copy(update=moved)


STATES = {
    "whole": whole,
    "no-sheet": without_sheet,
    "ends-unknown": ends_unknown,
    "motion-only": motion_only,
    "positions-only": positions_only,
    "cannot-tell": cannot_tell_everywhere,
    "course-error": with_course_error,
    "no-school": no_school,
    "planted": with_planted_markup,
    "ridden-twice": ridden_twice,
}
