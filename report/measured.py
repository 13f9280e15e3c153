"""One measured thing on its way to a finding: where it stands, its value, and its rating."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from report.result import Finding, Gait, SettlesRow, Verdict
from report.verdict import Band, chance_within, verdict_of
from report.words_labels import MEASURES
from track.path import Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What a finding is about, for the result's keys and for its sentences.

    Attributes
    ----------
    of : str or None
        ``"ride:2"`` or ``"change:1"``; None for what the sheet does not name.
    start_s, end_s : float or None, s
    gait : str or None
        Gait ridden there.
    what : str
        The thing in words, for example ``"the circle"``.
    where : str
        The place in words with its preposition, for example ``"at E"``; may be empty.
    """

    of: str | None
    start_s: float | None
    end_s: float | None
    gait: Gait | None
    what: str = ""
    where: str = ""

    @property
    def subject(self) -> str:
        """The thing and its place, for the start of a sentence."""
        words = f"{self.what} {self.where}".strip()
        return words[:1].upper() + words[1:]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A value with its doubt, its band and what the rule makes of it.

    Attributes
    ----------
    value, sd : float
        In the unit of the measure.
    asked : float or None
        What the sheet says, as the rider says it: board to board for a circle.
    shift : float
        Added to ``value`` to print it the way ``asked`` is said.
    stride_m : float or None, m
        Length of a stride there, to tell metres in strides.
    detail : str
        A phrase that belongs into the sentence, such as the names of the long quarters.
    """

    measure: str
    unit: str
    about: About
    value: float
    sd: float
    band: Band
    chance: float | None
    verdict: Verdict | None
    asked: float | None = None
    shift: float = 0.0
    stride_m: float | None = None
    detail: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """The words of a finding: printed figure, plain sentence, action offered."""

    shown: str
    say: str
    do: str = ""


def rating_of(
    estimate: Estimate, band: Band, chance: float | None = None
) -> tuple[float | None, Verdict | None]:
    """Apply the verdict rule to an estimate: the chance that it lies in its band, and the word.

    Parameters
    ----------
    chance : float or None
        Where it does not follow from value, sd and band (a window between two letters).
    """
    if chance is None and band.rated:
        chance = chance_within(estimate.value, estimate.sd, band.low, band.high)
    if chance is None:
        return None, None
    return chance, verdict_of(chance, estimate.sd, band.half_width)


def finding(
    measured: Measured, said: Said, because: str, settles: Sequence[SettlesRow] = ()
) -> Finding:
    """Write a measured thing down as a row of the result."""
    about, band = measured.about, measured.band
    return Finding(
        measure=measured.measure,
        of=about.of,
        start_s=about.start_s,
        end_s=about.end_s,
        gait=about.gait,
        value=measured.value,
        sd=measured.sd,
        unit=measured.unit,
        target=band.target,
        low=band.low,
        high=band.high,
        chance_within=measured.chance,
        verdict=measured.verdict,
        shown=said.shown,
        say=said.say,
        do=said.do,
        because=because,
        settles=list(settles),
    )


def not_made(measure: str, unit: str, about: About, band: Band, because: str) -> Finding:
    """Write down a finding that could not be made, and why."""
    return Finding(
        measure=measure,
        of=about.of,
        start_s=about.start_s,
        end_s=about.end_s,
        gait=about.gait,
        value=None,
        sd=None,
        unit=unit,
        target=band.target,
        low=band.low,
        high=band.high,
        chance_within=None,
        verdict=None,
        shown="not measured",
        say=f"{about.subject or 'This'}: {MEASURES[measure]} not measured.",
        do="",
        because=because,
    )


Wording = Callable[[Measured], Said]
