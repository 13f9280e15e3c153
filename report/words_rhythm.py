"""Sentences about tempo, evenness and stride length; strides and beats are kept apart."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from report.measured import Measured, Said, Wording
from report.words import GAIT_WORDS, number, plus_minus
from report.words_shape import advice, pick

BEATS: Final[Mapping[str, int]] = {"walk": 4, "trot": 2, "canter": 3}
"""Footfalls heard per stride."""


def _where(m: Measured) -> str:
    return f"{m.about.what} {m.about.where}".strip()


def tempo(m: Measured) -> Said:
    """Strides per minute: measured, not rated."""
    gait = m.about.gait or "unknown"
    beats = f", {m.value * BEATS[gait]:.0f} beats" if gait in BEATS else ""
    return Said(
        shown=f"{plus_minus(m.value, m.sd, 'strides/min')}{beats}",
        say=f"The {GAIT_WORDS[gait]} on {_where(m)} had {m.value:.0f} strides a minute.",
    )


def tempo_change(m: Measured) -> Said:
    """Tempo against that of the same gait before."""
    way = "quicker" if m.value > 0 else "slower"
    gait = f"The {GAIT_WORDS[m.about.gait or 'unknown']} on {_where(m)}"
    amount = f"{abs(m.value):.1f} strides a minute {way}"
    return Said(
        shown=f"{plus_minus(m.value, m.sd, 'strides/min')} against before",
        say=pick(
            m,
            within=f"{gait} kept its tempo, {amount} than before.",
            off=f"{gait} became {amount} than before.",
            near=f"{gait} about kept its tempo, {amount} than before.",
            unsure=f"{gait} was {amount} than before, too rough to call.",
        ),
        do=advice(m, f"You might count the strides before and on {_where(m)}."),
    )


def tempo_range(m: Measured) -> Said:
    """Tempo of the quarters of a figure."""
    gait = f"The {GAIT_WORDS[m.about.gait or 'unknown']} on {_where(m)}"
    amount = f"{m.value:.1f} strides a minute"
    return Said(
        shown=f"quarters {plus_minus(m.value, m.sd, 'strides/min')} apart",
        say=pick(
            m,
            within=f"{gait} held its tempo, to within {amount}.",
            off=f"{gait} changed its tempo by {amount} between its quarters.",
            near=f"{gait} about held its tempo, to within {amount}.",
            unsure=f"{gait} seems to have changed its tempo by {amount}, too rough to call.",
        ),
        do=advice(m, f"You might ride {_where(m)} to a steady count."),
    )


def stride_time_cv(m: Measured) -> Said:
    """Stride-time variation: measured; rated against her own usual only."""
    gait = GAIT_WORDS[m.about.gait or "unknown"]
    return Said(
        shown=f"stride-time variation {plus_minus(m.value, m.sd, '%')}",
        say=f"The strides of the {gait} on {_where(m)} varied by {m.value:.1f} % in time.",
    )


def stride_length_ratio(m: Measured) -> Said:
    """Longer strides where they are asked for."""
    who, percent = m.about.subject, 100 * (m.value - 1)
    amount = f"{number(abs(percent), 0)} % {'longer' if percent >= 0 else 'shorter'}"
    return Said(
        shown=f"strides {plus_minus(m.value, m.sd, 'ratio', 2)} times as long",
        say=pick(
            m,
            within=f"{who} had strides {amount} than before, as asked.",
            off=f"{who} had strides {amount} than before.",
            near=f"{who} had strides about as asked, {amount} than before.",
            unsure=f"{who} had strides {amount} than before, too rough to call.",
            plain=f"{who} had strides {amount} than before.",
        ),
        do=advice(m, f"You might give the first two strides of {_where(m)} time to grow."),
    )


def _count(m: Measured, what: str) -> Said:
    many = f"{m.value:.0f} stride{'' if m.value == 1 else 's'}"
    event = f"{m.about.subject} had {many if m.value else 'no stride'} of {what}"
    return Said(
        shown=f"{many} of {what}",
        say=f"{event}.",
        do=advice(m, f"You might ride {_where(m)} calmer and reward the first steady strides."),
    )


def jog_strides(m: Measured) -> Said:
    """Trot strides inside walk."""
    return _count(m, "jog")


def break_strides(m: Measured) -> Said:
    """Canter broken to trot."""
    return _count(m, "trot")


RHYTHM_WORDINGS: Final[Mapping[str, Wording]] = {
    "tempo": tempo,
    "tempo_change": tempo_change,
    "tempo_range": tempo_range,
    "stride_time_cv": stride_time_cv,
    "stride_length_ratio": stride_length_ratio,
    "jog_strides": jog_strides,
    "break_strides": break_strides,
}
