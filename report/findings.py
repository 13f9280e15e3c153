"""Every measure of every movement: which measures belong to which term."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Final

import numpy as np

from gait.bouts import Transition
from report.findings_change import change_findings
from report.findings_corner import corners_of
from report.findings_gait import gait_findings
from report.findings_line import line_findings
from report.findings_loop import diagonal_ends, loop_depth_finding, serpentine_findings
from report.findings_rhythm import rhythm_findings
from report.findings_shape import AskedShape, circle_findings, half_circle_findings
from report.findings_turn import beyond_centre_line, overshoot_finding, turn_findings
from report.measured import About
from report.pairing import first_gait, paired, steps_of
from report.result import Finding
from report.ridden import Asked, Ridden, RiddenSheet, Term
from report.spoilt import Spoiler, spoilt_by, told_before
from track.arena import LETTERS
from track.layout import Layout, Stretch
from track.path import Path
from track.shapes_fit import LineFit, fit_line

LEADS: Final[Mapping[str, str]] = {
    "line": "wander", "diagonal": "wander", "turn": "turn_radius", "circle": "diameter",
    "half circle": "width", "serpentine": "loop_spread", "loop": "loop_depth",
}  # fmt: skip
"""The measure that stands for a stretch that could not be measured."""
LETTER: Final = re.compile(r"\b[A-Z]\b")
WHAT: Final[Mapping[str, str]] = {"return": "the return to the track", "track": "the track"}


def findings_of(ridden: Ridden, sheet: RiddenSheet, number: int, run: int) -> list[Finding]:
    """Every finding of one movement, in the order of the sheet."""
    rows: list[Finding] = []
    for term in sheet.terms_of(number, run):
        rows += term_findings(ridden, sheet, term)
    rows += corners_of(ridden, sheet, number, run)
    rows += gait_findings(ridden, sheet, number, run)
    for asked, found in answers(ridden, sheet):
        if (asked.movement, asked.run) == (number, run):
            rows += change_findings(ridden, sheet.layout, asked, found)
    return rows


def answers(ridden: Ridden, sheet: RiddenSheet) -> list[tuple[Asked, Transition | None]]:
    """Every change of gait that is asked for, with the transition that answers it."""
    moving = [asked for asked in sheet.asked if first_gait(asked.change) is not None]
    found = paired(moving, steps_of(ridden.gaits))
    return list(zip(moving, found, strict=True))


def about_term(ridden: Ridden, term: Term) -> About:
    """Say what a finding of a term is about."""
    return About(
        of=term.of,
        start_s=term.start_s,
        end_s=term.end_s,
        gait=ridden.main_gait(term.start_s, term.end_s),
        what=WHAT.get(term.stretch.kind, f"the {term.stretch.kind}"),
        where=_where(ridden, term.stretch),
    )


def letters_of(stretch: Stretch) -> list[str]:
    """Letters of a term in riding order."""
    return LETTER.findall(stretch.text)


def _where(ridden: Ridden, stretch: Stretch) -> str:
    letters = letters_of(stretch)
    if not letters:
        return ""
    first, last = ridden.names.place(letters[0]), ridden.names.place(letters[-1])
    return f"at {first}" if len(letters) == 1 else f"from {first} to {last}"


def term_findings(ridden: Ridden, sheet: RiddenSheet, term: Term) -> list[Finding]:
    """Every finding of one term of a movement's ride."""
    about = about_term(ridden, term)
    spoiler = spoilt_by(ridden.gaits, term.start_s, term.end_s, sheet)
    if spoiler is not None:
        return _left_out(ridden, sheet, term, about, spoiler)
    rows: list[Finding] = []
    if ridden.path is not None and term.stretch.kind in BY_KIND:
        rows += BY_KIND[term.stretch.kind](ridden, ridden.path, sheet, term, about)
    if not term.stretch.filled:
        rows += rhythm_findings(ridden, term, about)
    return rows


def _left_out(
    ridden: Ridden, sheet: RiddenSheet, term: Term, about: About, spoiler: Spoiler
) -> list[Finding]:
    """Tell once what spoilt a stretch, in the place of its shape and tempo."""
    if term.stretch.filled or told_before(spoiler, sheet, term):
        return []
    because = f"{spoiler.words} fell into it: its shape and tempo are not hers to be measured"
    return [ridden.missing(LEADS.get(term.stretch.kind, "tempo"), about, because)]


def _line(
    ridden: Ridden, path: Path, sheet: RiddenSheet, term: Term, about: About
) -> list[Finding]:
    if term.stretch.filled:
        return []
    run_m = term.stretch.straight_m or (term.stretch.start_m, term.stretch.end_m)
    run_s = (sheet.time_at(term.run, run_m[0]), sheet.time_at(term.run, run_m[1]))
    if not np.isfinite(run_s).all():
        return []
    rows = line_findings(ridden, path, run_s, about, _ideal_line(sheet.layout, run_m))
    turn = _turn_before(sheet, term)
    if turn is not None:
        rows.append(_overshoot(ridden, path, term, turn))
    if term.stretch.kind == "diagonal":
        letters = letters_of(term.stretch)
        rows += diagonal_ends(ridden, path, run_s, (letters[0], letters[-1]), about)
    return rows


def _ideal_line(layout: Layout, run_m: tuple[float, float]) -> LineFit:
    inside = (layout.s_m >= run_m[0]) & (layout.s_m <= run_m[1])
    return fit_line(layout.x_m[inside], layout.y_m[inside])


def _turn_before(sheet: RiddenSheet, term: Term) -> Term | None:
    index = list(sheet.terms).index(term)
    before = sheet.terms[index - 1] if index else None
    return before if before is not None and before.stretch.kind == "turn" else None


def _overshoot(ridden: Ridden, path: Path, line: Term, turn: Term) -> Finding:
    sign = 1.0 if turn_is_left(turn.stretch) else -1.0
    return overshoot_finding(ridden, path, line, sign, about_term(ridden, turn))


def turn_is_left(stretch: Stretch) -> bool:
    """True for a term that turns to the left."""
    return " left " in f" {stretch.text} "


def _turn(
    ridden: Ridden, path: Path, sheet: RiddenSheet, term: Term, about: About
) -> list[Finding]:
    arc = term.stretch.arc_m or (term.stretch.start_m, term.stretch.end_m)
    arc_s = (sheet.time_at(term.run, arc[0]), sheet.time_at(term.run, arc[1]))
    return turn_findings(ridden, path, arc_s, about) if np.isfinite(arc_s).all() else []


def asked_shape(layout: Layout, stretch: Stretch) -> AskedShape:
    """What a circle or half circle is held against, from the ideal line."""
    inside = (layout.s_m >= stretch.start_m) & (layout.s_m <= stretch.end_m)
    x_m, y_m = layout.x_m[inside], layout.y_m[inside]
    return AskedShape(
        nominal_m=stretch.nominal_m,
        target_m=None if stretch.radius_m is None else 2 * stretch.radius_m,
        centre_m=stretch.centre_m,
        length_minus_width_m=float(np.ptp(y_m) - np.ptp(x_m)),
        width_m=stretch.width_m,
    )


def _circle(
    ridden: Ridden, path: Path, sheet: RiddenSheet, term: Term, about: About
) -> list[Finding]:
    shape = asked_shape(sheet.layout, term.stretch)
    return circle_findings(ridden, path, (term.start_s, term.end_s), about, shape)


def _half_circle(
    ridden: Ridden, path: Path, sheet: RiddenSheet, term: Term, about: About
) -> list[Finding]:
    shape = asked_shape(sheet.layout, term.stretch)
    rows = half_circle_findings(ridden, path, (term.start_s, term.end_s), about, shape)
    letters = letters_of(term.stretch)
    if letters and letters[-1] == "X" and not _crosses_on(sheet, term):
        side = float(np.sign(LETTERS[ridden.names.size][letters[0]][0]))
        if side:
            rows.append(beyond_centre_line(ridden, path, term, side, about))
    return rows


def _crosses_on(sheet: RiddenSheet, term: Term) -> bool:
    """True where the next term leads over the centre line to the other side."""
    after = [t for t in sheet.terms if t.run == term.run and t.start_s >= term.end_s - 0.01]
    return bool(after) and after[0].stretch.kind in ("half circle", "circle")


def _serpentine(
    ridden: Ridden, path: Path, sheet: RiddenSheet, term: Term, about: About
) -> list[Finding]:
    return serpentine_findings(ridden, path, term, about, ideal_crossings(sheet, term))


def ideal_crossings(sheet: RiddenSheet, term: Term) -> list[float]:
    """Headings at which the ideal line crosses the centre line, rad."""
    layout, stretch = sheet.layout, term.stretch
    inside = np.flatnonzero(
        (layout.s_m > stretch.start_m + 3.0) & (layout.s_m < stretch.end_m - 3.0)
    )
    x_m = layout.x_m[inside]
    at = inside[np.flatnonzero(np.sign(x_m[:-1]) * np.sign(x_m[1:]) < 0)]
    return [float(heading) for heading in layout.heading_rad[at]]


def _loop(
    ridden: Ridden, path: Path, sheet: RiddenSheet, term: Term, about: About
) -> list[Finding]:
    side = float(np.sign(LETTERS[ridden.names.size][letters_of(term.stretch)[0]][0]))
    return [loop_depth_finding(ridden, path, term, side, about)]


Measure = Callable[[Ridden, Path, RiddenSheet, Term, About], list[Finding]]
BY_KIND: Final[Mapping[str, Measure]] = {
    "line": _line,
    "diagonal": _line,
    "turn": _turn,
    "circle": _circle,
    "half circle": _half_circle,
    "serpentine": _serpentine,
    "loop": _loop,
}
