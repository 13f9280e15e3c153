"""Sentences about transitions and halts: place, directness, settling, standing."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from report.measured import Measured, Said, Wording
from report.words import apart, capital, length, number, plus_minus, strides
from report.words_shape import advice, pick


def _paces(m: Measured) -> str:
    """Say how far off in what she rides by: strides, where their length is known."""
    return strides(m.value / m.stride_m) if m.stride_m else length(m.value)


def placement(m: Measured) -> Said:
    """Where a transition came, against its letter or its window."""
    event, place = m.about.subject, m.detail
    if m.value == 0:
        return _in_window(m)
    when = "after" if m.value > 0 else "before"
    paces = _paces(m)
    return Said(
        shown=f"{plus_minus(abs(m.value), m.sd, 'm')} {when} {place}",
        say=pick(
            m,
            within=f"{event} came at {place}, {apart(m.value, f'{when} it')}.",
            off=f"{event} came {paces} {when} {place}.",
            near=f"{event} came about at {place}, {apart(m.value, f'{when} it')}.",
            unsure=f"{event} came {length(m.value)} {when} {place}, too rough to call.",
        ),
        do=advice(
            m,
            f"You might prepare a stride sooner, before {place}."
            if m.value > 0
            else f"You might wait for {place} with one more stride.",
        ),
    )


def _in_window(m: Measured) -> Said:
    event, place = m.about.subject, m.detail
    return Said(
        shown=f"inside {place} (± {max(m.sd, 0.1):.1f} m)",
        say=pick(
            m,
            within=f"{event} came inside {place}, sure to {m.sd:.1f} m.",
            off=f"{event} came outside {place}, by less than {m.sd:.1f} m.",
            near=f"{event} came about inside {place}, sure to {m.sd:.1f} m.",
            unsure=f"{event} seems to have come inside {place}, sure to {m.sd:.1f} m only.",
        ),
    )


def between_strides(m: Measured) -> Said:
    """How direct a transition was."""
    event, count = m.about.subject, strides(m.value)
    return Said(
        shown=f"{plus_minus(m.value, m.sd, 'strides')} between the gaits",
        say=pick(
            m,
            within=f"{event} was direct, {count} between the gaits.",
            off=f"{event} took {count} between the gaits.",
            near=f"{event} was about direct, {count} between the gaits.",
            unsure=f"{event} took {count} between the gaits, too rough to call.",
        ),
        do=advice(m, f"You might prepare {m.about.what} with a half-halt two strides sooner."),
    )


def settle_strides(m: Measured) -> Said:
    """How soon the new gait keeps its tempo."""
    event = m.about.subject
    return Said(
        shown=f"settled after {plus_minus(m.value, m.sd, 'strides')}",
        say=pick(
            m,
            within=f"{event} settled within {strides(max(m.value, 1.0))}.",
            off=f"{event} took {strides(m.value)} to settle.",
            near=f"{event} settled in about {strides(m.value)}.",
            unsure=f"{event} took {strides(m.value)} to settle, too rough to call.",
            plain=f"{event} settled after {strides(m.value)}.",
        ),
        do=advice(m, f"You might ride the first strides after {m.about.what} a little forward."),
    )


def rush(m: Measured) -> Said:
    """Tempo of the last strides before a transition."""
    way = "quicker" if m.value > 0 else "slower"
    return Said(
        shown=f"{plus_minus(m.value, m.sd, 'strides/min')} in the last 4 strides before",
        say=f"Just before {m.about.what} {m.about.where} the tempo was "
        f"{abs(m.value):.1f} strides a minute {way} than earlier.",
    )


def halt_time(m: Measured) -> Said:
    """How long the horse stood."""
    seconds = m.asked if m.asked is not None else (m.band.low or 0.0)
    asked = number(seconds, 0)
    stood = f"at {m.detail} the horse stood" if m.detail else "the horse stood"
    stood = capital(stood)
    return Said(
        shown=f"asked {asked} s, stood {plus_minus(m.value, m.sd, 's')}",
        say=pick(
            m,
            within=f"{stood} for {m.value:.1f} s, as long as asked.",
            off=f"{stood} for only {m.value:.1f} s.",
            near=f"{stood} for about the asked {asked} s.",
            unsure=f"{stood} for {m.value:.1f} s, too close to the time asked to call.",
        ),
        do=advice(m, f"You might count slowly to {round(seconds) + 1} {m.about.where}."),
    )


def halt_place(m: Measured) -> Said:
    """Where the horse stood."""
    who, way = m.about.subject, "beyond" if m.value > 0 else "short of"
    return Said(
        shown=f"{plus_minus(abs(m.value), m.sd, 'm')} {way} {m.detail}",
        say=pick(
            m,
            within=f"{who} was in its place, {apart(m.value, f'{way} {m.detail}')}.",
            off=f"{who} was {length(m.value)} {way} {m.detail}.",
            near=f"{who} was about in its place, {apart(m.value, f'{way} {m.detail}')}.",
            unsure=f"{who} was {length(m.value)} {way} {m.detail}, too rough to call.",
        ),
        do=advice(
            m,
            f"You might {'ask a stride sooner' if m.value > 0 else 'ride one stride further'} "
            f"on the way to {m.detail}.",
        ),
    )


CHANGE_WORDINGS: Final[Mapping[str, Wording]] = {
    "placement": placement,
    "between_strides": between_strides,
    "settle_strides": settle_strides,
    "rush": rush,
    "halt_time": halt_time,
    "halt_place": halt_place,
}
