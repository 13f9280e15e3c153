"""Sentences about circles and half circles: size, roundness, place."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from report.measured import Measured, Said, Wording
from report.words import length, number, plus_minus, strides, to_tenth


def pick(m: Measured, *, within: str, off: str, near: str, unsure: str, plain: str = "") -> str:
    """Choose the sentence that goes with the verdict; ``plain`` where nothing is rated."""
    said = {"within": within, "outside": off, "near": near, "cannot tell": unsure}
    return said[m.verdict] if m.verdict is not None else (plain or unsure)


def advice(m: Measured, action: str) -> str:
    """Offer an action only where something was off."""
    return action if m.verdict == "outside" else ""


def diameter(m: Measured) -> Said:
    """Size of a circle or half circle, board to board."""
    size, who = m.value + m.shift, m.about.subject
    asked = number(m.asked, 0) if m.asked is not None else ""
    shown = f"ridden like {plus_minus(size, m.sd, 'm')}"
    if m.asked is None:
        return Said(shown=shown, say=f"{who} was ridden like {size:.1f} m, board to board.")
    gap = size - m.asked
    return Said(
        shown=f"asked {asked} m, {shown}",
        say=pick(
            m,
            within=f"{who} was the asked size, to within {to_tenth(gap)} m.",
            off=f"{who} was {length(gap)} too {'small' if gap < 0 else 'large'}.",
            near=f"{who} was about the asked size, to within {to_tenth(gap)} m.",
            unsure=f"{who} was ridden like {size:.1f} m, too rough to hold against what is asked.",
            plain=f"{who} was ridden like {size:.1f} m.",
        ),
        do=advice(m, _size_advice(m, gap)),
    )


def _size_advice(m: Measured, gap: float) -> str:
    points = "two ends" if m.about.what.endswith("half circle") else "four points"
    side = "out to" if gap < 0 else "just inside"
    figure = f"{m.about.what} {m.about.where}".strip()
    return f"You might set a cone at the {points} of {figure} and ride {side} them."


def out_of_round(m: Measured) -> Said:
    """Roundness, apart from size."""
    who = m.about.subject
    return Said(
        shown=f"{plus_minus(m.value, m.sd, 'm')} out of round",
        say=pick(
            m,
            within=f"{who} was round to within {m.value:.1f} m.",
            off=f"{who} was {m.value:.1f} m out of round.",
            near=f"{who} was about round, {m.value:.1f} m from a true circle.",
            unsure=f"{who} measured {m.value:.1f} m out of round, too rough to call.",
        ),
        do=advice(
            m, f"You might ride {m.about.what} {m.about.where} as four equal arcs and count each."
        ),
    )


def length_minus_width(m: Measured) -> Said:
    """An egg along or across the school."""
    who = m.about.subject
    extra = m.value - (m.band.target or 0.0)
    shape = "longer than wide" if extra > 0 else "wider than long"
    return Said(
        shown=f"{plus_minus(extra, m.sd, 'm')} longer than the asked figure"
        if extra >= 0
        else f"{plus_minus(-extra, m.sd, 'm')} shorter than the asked figure",
        say=pick(
            m,
            within=f"{who} was as long as wide, to within {to_tenth(extra)} m.",
            off=f"{who} was {length(extra)} {shape}.",
            near=f"{who} was about as long as wide, to within {to_tenth(extra)} m.",
            unsure=f"{who} measured {abs(extra):.1f} m {shape}, too rough to call.",
        ),
        do=advice(
            m,
            f"You might leave the long side a stride sooner on {m.about.what} {m.about.where}."
            if extra > 0
            else f"You might leave the long side a stride later on {m.about.what} {m.about.where}.",
        ),
    )


def quarter_spread(m: Measured) -> Said:
    """Strides in the quarters of a circle."""
    who = m.about.subject
    circle = f"{m.about.what} {m.about.where}".strip()
    return Said(
        shown=f"quarters differ by {plus_minus(m.value, m.sd, 'strides')}",
        say=pick(
            m,
            within=f"{who} had even quarters, to within {strides(m.value)}.",
            off=f"On {circle} {m.detail} held {strides(m.value)} more than the shortest."
            if m.detail
            else f"{who} had quarters that differ by {strides(m.value)}.",
            near=f"{who} had about even quarters, to within {strides(m.value)}.",
            unsure=f"{who} had quarters that differ by {strides(m.value)}, too rough to call.",
        ),
        do=advice(
            m,
            f"You might count the strides of each quarter aloud on {m.about.what} {m.about.where}.",
        ),
    )


def second_half(m: Measured) -> Said:
    """Whether a circle grows or shrinks."""
    who = m.about.subject
    way = "wider" if m.value > 0 else "tighter"
    return Said(
        shown=f"second half {plus_minus(m.value, m.sd, 'm')} in radius against the first",
        say=pick(
            m,
            within=f"{who} kept its radius to the end, to within {to_tenth(m.value)} m.",
            off=f"{who} became {abs(m.value):.1f} m {way} in radius in its second half.",
            near=f"{who} about kept its radius, {abs(m.value):.1f} m {way} in its second half.",
            unsure=f"{who} measured {abs(m.value):.1f} m {way} in its second half, "
            "too rough to call.",
        ),
        do=advice(
            m,
            f"Half-way round {m.about.what} {m.about.where} you might look for the point where "
            "it began.",
        ),
    )


def centre_offset(m: Measured) -> Said:
    """Whether a circle lies where it is asked."""
    who = m.about.subject
    way = f" {m.detail}" if m.detail else ""
    return Said(
        shown=f"centre {plus_minus(m.value, m.sd, 'm')} from its place",
        say=pick(
            m,
            within=f"{who} lay where it is asked, {m.value:.1f} m off.",
            off=f"{who} lay {length(m.value)} from its place{way}.",
            near=f"{who} lay about in its place, {m.value:.1f} m off.",
            unsure=f"{who} seems {m.value:.1f} m from its place, too rough to call.",
        ),
        do=advice(
            m,
            f"Before you begin {m.about.what} {m.about.where} you might look across to its far "
            "side.",
        ),
    )


SHAPE_WORDINGS: Final[Mapping[str, Wording]] = {
    "diameter": diameter,
    "width": diameter,
    "out_of_round": out_of_round,
    "length_minus_width": length_minus_width,
    "quarter_spread": quarter_spread,
    "second_half": second_half,
    "centre_offset": centre_offset,
}
