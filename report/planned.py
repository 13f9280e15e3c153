"""Trot strides that the sheet asks for are neither a jog nor a break."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from gait.bouts import Event, Gaits
from report.ridden import Asked

NEAR_S: Final = 4.0


def without_planned(gaits: Gaits, asked: Sequence[Asked]) -> Gaits:
    """Leave out jogs and breaks where the sheet asks for trot (``canter left at X via trot``)."""
    events = tuple(event for event in gaits.events if not _planned(event, asked))
    return replace(gaits, events=events)


def _planned(event: Event, asked: Sequence[Asked]) -> bool:
    if event.kind not in ("jog", "break"):
        return False
    return any(
        "trot" in (a.change.via, a.change.from_gait, a.change.to_gait)
        and event.start_s < a.end_s + NEAR_S
        and event.end_s > a.start_s - NEAR_S
        for a in asked
    )
