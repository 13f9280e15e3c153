"""Sentences about straight lines, corners, turns, loops and the ends of diagonals."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from report.measured import Measured, Said, Wording
from report.words import apart, capital, in_unit, length, plus_minus, to_tenth
from report.words_shape import advice, pick


def wander(m: Measured) -> Said:
    """How far a straight line strays from straight."""
    who = m.about.subject
    return Said(
        shown=f"strays {plus_minus(m.value, m.sd, 'm')} from straight",
        say=pick(
            m,
            within=f"{who} was straight, to within {to_tenth(m.value)} m.",
            off=f"{who} wandered by {m.value:.1f} m.",
            near=f"{who} was about straight, to within {to_tenth(m.value)} m.",
            unsure=f"{who} strayed {m.value:.1f} m, too rough to call.",
        ),
        do=advice(
            m, f"You might fix your eye on the far end of {m.about.what} and ride a little forward."
        ),
    )


def heading_wobble(m: Measured) -> Said:
    """How much the heading swings on a straight line."""
    who, swing = m.about.subject, in_unit(m.value, "deg", 0)
    return Said(
        shown=f"heading swings {plus_minus(m.value, m.sd, 'deg')}",
        say=pick(
            m,
            within=f"{who} held its direction to {swing}.",
            off=f"{who} swung {swing} to and fro.",
            near=f"{who} about held its direction, to {swing}.",
            unsure=f"{who} swung {swing} to and fro, too rough to call.",
        ),
        do=advice(m, f"You might ride {m.about.what} a little more forward, hands level."),
    )


def line_offset(m: Measured) -> Said:
    """On which side of the asked line the horse went."""
    who, side = m.about.subject, "left" if m.value > 0 else "right"
    return Said(
        shown=f"{plus_minus(abs(m.value), m.sd, 'm')} {side} of the line",
        say=pick(
            m,
            within=f"{who} was on its line, {apart(m.value, f'to the {side}')}.",
            off=f"{who} ran {length(m.value)} to the {side} of its line.",
            near=f"{who} was about on its line, {apart(m.value, f'to the {side}')}.",
            unsure=f"{who} seems {abs(m.value):.1f} m to the {side} of its line, "
            "too rough to call.",
            plain=f"{who} ran {abs(m.value):.1f} m to the {side} of its line.",
        ),
        do=advice(
            m,
            f"You might look for the far end of {m.about.what} before you turn onto it.",
        ),
    )


def overshoot(m: Measured) -> Said:
    """How far a turn runs beyond the line it leads onto."""
    who = m.about.subject
    return Said(
        shown=f"{plus_minus(m.value, m.sd, 'm')} beyond the line",
        say=pick(
            m,
            within=f"{who} met its line, {m.value:.1f} m beyond.",
            off=f"{who} ran {length(m.value)} beyond its line.",
            near=f"{who} about met its line, {m.value:.1f} m beyond.",
            unsure=f"{who} ran {m.value:.1f} m beyond its line, too rough to call.",
        ),
        do=advice(m, f"You might begin to turn one stride sooner {m.about.where}."),
    )


def corner_radius(m: Measured) -> Said:
    """Tightest part of a corner."""
    who = m.about.subject
    return Said(
        shown=f"tightest radius {plus_minus(m.value, m.sd, 'm')}",
        say=pick(
            m,
            within=f"{who} was ridden as a corner, {m.value:.1f} m in radius.",
            off=f"{who} was cut, {m.value:.1f} m in radius.",
            near=f"{who} was about a corner, {m.value:.1f} m in radius.",
            unsure=f"{who} measured {m.value:.1f} m in radius, too rough to call.",
            plain=f"{who} measured {m.value:.1f} m in radius.",
        ),
        do=advice(m, f"You might ride straight two strides longer before {m.about.what}."),
    )


def corner_depth(m: Measured) -> Said:
    """How deep a corner is ridden: measured, not rated."""
    return Said(
        shown=f"passes the corner at {plus_minus(m.value, m.sd, 'm')}",
        say=f"{m.about.subject} was passed {length(m.value)} from its point.",
    )


def corner_contrast(m: Measured) -> Said:
    """Whether a corner differs from a circle."""
    who = m.about.subject
    return Said(
        shown=f"bends {plus_minus(m.value, m.sd, 'ratio')} times as tightly as the circle",
        say=pick(
            m,
            within=f"{who} was clearly a corner, {m.value:.1f} times as tight as the circle.",
            off=f"{who} was ridden like part of the circle, only {m.value:.1f} times as tight.",
            near=f"{who} was about distinct from the circle, {m.value:.1f} times as tight.",
            unsure=f"{who} was {m.value:.1f} times as tight as the circle, too rough to call.",
            plain=f"{who} was {m.value:.1f} times as tight as the circle.",
        ),
        do=advice(
            m, f"You might leave the circle straight and only then turn into {m.about.what}."
        ),
    )


def turn_radius(m: Measured) -> Said:
    """How tight a right-angle turn is."""
    who, wide = m.about.subject, m.value > (m.band.target or 0.0)
    return Said(
        shown=f"tightest radius {plus_minus(m.value, m.sd, 'm')}",
        say=pick(
            m,
            within=f"{who} was well shaped, {m.value:.1f} m in radius.",
            off=f"{who} was {'wide' if wide else 'tight'}, {m.value:.1f} m in radius.",
            near=f"{who} was about the asked shape, {m.value:.1f} m in radius.",
            unsure=f"{who} measured {m.value:.1f} m in radius, too rough to call.",
            plain=f"{who} measured {m.value:.1f} m in radius.",
        ),
        do=advice(
            m,
            f"You might begin {m.about.what} {m.about.where} a stride "
            f"{'later' if wide else 'sooner'}.",
        ),
    )


def _end_of_diagonal(m: Measured, verb: str) -> Said:
    when = "after" if m.value > 0 else "before"
    event = f"{capital(m.about.what)} {verb} the track"
    place = f"{length(m.value)} {when} {m.detail}"
    near = apart(m.value, f"{when} {m.detail}")
    return Said(
        shown=f"{plus_minus(abs(m.value), m.sd, 'm')} {when} {m.detail}",
        say=pick(
            m,
            within=f"{event} where it is asked, {near}.",
            off=f"{event} {place}.",
            near=f"{event} about where it is asked, {near}.",
            unsure=f"{event} {place}, too rough to call.",
        ),
        do=advice(
            m,
            f"You might {'turn sooner' if m.value > 0 else 'wait a stride'} at {m.detail}.",
        ),
    )


def leave_place(m: Measured) -> Said:
    """Where a diagonal leaves the track."""
    return _end_of_diagonal(m, "left")


def arrive_place(m: Measured) -> Said:
    """Where a diagonal reaches the track."""
    return _end_of_diagonal(m, "reached")


def loop_depth(m: Measured) -> Said:
    """Depth of a single loop, from the ridden track."""
    who, gap = m.about.subject, m.value - (m.band.target or m.value)
    return Said(
        shown=f"{plus_minus(m.value, m.sd, 'm')} deep from the track",
        say=pick(
            m,
            within=f"{who} had the asked depth, {abs(gap):.1f} m from it.",
            off=f"{who} was {length(gap)} too {'shallow' if gap < 0 else 'deep'}.",
            near=f"{who} had about the asked depth, {abs(gap):.1f} m from it.",
            unsure=f"{who} was {m.value:.1f} m deep, too rough to call.",
            plain=f"{who} was {m.value:.1f} m deep, counted from the track.",
        ),
        do=advice(m, f"You might set a cone at the deepest point of {m.about.what}."),
    )


def loop_spread(m: Measured) -> Said:
    """Difference between the loops of a serpentine."""
    who = m.about.subject
    return Said(
        shown=f"loops differ by {plus_minus(m.value, m.sd, 'm')}",
        say=pick(
            m,
            within=f"{who} had equal loops, to within {to_tenth(m.value)} m.",
            off=f"{who} had loops that differ by {length(m.value)} in width{m.detail}.",
            near=f"{who} had about equal loops, to within {to_tenth(m.value)} m.",
            unsure=f"{who} had loops that differ by {m.value:.1f} m, too rough to call.",
        ),
        do=advice(
            m, "You might ride straight over the centre line and count the strides of each loop."
        ),
    )


def crossing_angle(m: Measured) -> Said:
    """How the centre line is crossed."""
    event, off = f"{m.about.subject} crossed the centre line", in_unit(abs(m.value), "deg", 0)
    return Said(
        shown=f"crosses the centre line {plus_minus(m.value, m.sd, 'deg')} off",
        say=pick(
            m,
            within=f"{event} as asked, to within {off}.",
            off=f"{event} {off} aslant.",
            near=f"{event} about as asked, to within {off}.",
            unsure=f"{event} {off} off, too rough to call.",
        ),
        do=advice(m, "You might look at the long side opposite before you cross the centre line."),
    )


LINE_WORDINGS: Final[Mapping[str, Wording]] = {
    "wander": wander,
    "heading_wobble": heading_wobble,
    "line_offset": line_offset,
    "overshoot": overshoot,
    "corner_radius": corner_radius,
    "corner_depth": corner_depth,
    "corner_contrast": corner_contrast,
    "turn_radius": turn_radius,
    "leave_place": leave_place,
    "arrive_place": arrive_place,
    "loop_depth": loop_depth,
    "loop_spread": loop_spread,
    "crossing_angle": crossing_angle,
}
