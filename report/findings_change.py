"""Findings of transitions and halts: place, directness, settling, rush, standing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Final

import numpy as np

from gait.bouts import Transition
from report.findings_place import Answered, halt_bout, place_finding, said_place
from report.measured import About
from report.result import Finding
from report.ridden import Asked, Ridden
from report.settling import rush_spm, settle_strides
from report.standing import standing
from report.verdict import Band
from report.words import GAIT_WORDS
from track.layout import Layout
from track.path import Estimate

COUNT_SD: Final = 0.5
"""Doubt of a count of strides between gaits: half a stride at its two ends together."""
JOINED: Final[Mapping[str, str]] = {"at": "at", "between": "between", "from": "from", "part": "in"}


def change_findings(
    ridden: Ridden, layout: Layout, asked: Asked, found: Transition | None
) -> list[Finding]:
    """Every measure of one change of gait.

    Parameters
    ----------
    ridden : Ridden
    layout : Layout
    asked : Asked
    found : Transition or None
        The transition that answers it.
    """
    about = _about(ridden, asked, found)
    if found is None:
        measure = "halt_place" if asked.change.to_gait == "halt" else "placement"
        gait = GAIT_WORDS[asked.change.to_gait]
        return [ridden.missing(measure, about, f"no change to {gait} was found {about.where}")]
    answered = Answered(ridden=ridden, layout=layout, asked=asked, found=found, about=about)
    rows = [place_finding(answered), _between(answered)]
    rows += [_halt_time(answered)] if answered.halts else _tempo_about(answered)
    return rows


def _about(ridden: Ridden, asked: Asked, found: Transition | None) -> About:
    change = asked.change
    what = "the halt" if change.to_gait == "halt" else f"the change to {GAIT_WORDS[change.to_gait]}"
    t_s = None if found is None else found.t_s
    return About(
        of=asked.of,
        start_s=t_s,
        end_s=t_s,
        gait=change.to_gait,
        what=what,
        where=f"{JOINED[change.where]} {said_place(ridden, change)}",
    )


def _halt_time(answered: Answered) -> Finding:
    ridden, found = answered.ridden, answered.found
    asked_s = answered.asked.change.halt_s or ridden.bands.limit("halt_time") or 3.0
    band = Band(target=asked_s, low=asked_s)
    bout = halt_bout(ridden, found)
    if bout is None:
        return ridden.missing("halt_time", answered.about, "no standing still was found", band)
    began, left = standing(bout, ridden.motion)
    stood = Estimate(value=left.value - began.value, sd=float(np.hypot(began.sd, left.sd)))
    about = replace(answered.about, start_s=began.value, end_s=left.value)
    return ridden.judged("halt_time", about, stood, band, asked=asked_s, detail=answered.place)


def _between(answered: Answered) -> Finding:
    found, case = answered.found, "direct"
    if answered.halts:
        case = "into halt"
    elif (found.from_gait, found.to_gait) == ("canter", "walk"):
        case = "canter to walk"
    return answered.ridden.judged(
        "between_strides",
        answered.about,
        Estimate(value=found.between_strides, sd=COUNT_SD),
        answered.ridden.bands.band("between_strides", 0.0, case),
        detail=answered.place,
    )


def _tempo_about(answered: Answered) -> list[Finding]:
    ridden, about, place = answered.ridden, answered.about, answered.place
    rows: list[Finding] = []
    settle = settle_strides(ridden.gaits, answered.found)
    band = ridden.bands.band("settle_strides", 0.0)
    if settle is None:
        because = "too few strides followed in the new gait"
        rows.append(ridden.missing("settle_strides", about, because, band))
    else:
        rows.append(ridden.judged("settle_strides", about, settle, band, detail=place))
    hurry = rush_spm(ridden.gaits, answered.found)
    if hurry is not None:
        rows.append(ridden.judged("rush", about, hurry, Band(), detail=place))
    return rows
