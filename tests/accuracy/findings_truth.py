"""The truth of every finding: the same measures taken on the true line, without any doubt."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from gait.bouts import Bout, Event, Gaits, Stride, Transition
from report.bands import Bands
from report.findings import findings_of
from report.result import Finding
from report.ridden import Ridden
from report.settle import Means
from report.sheet_found import gait_changes, ridden_sheet
from report.words import Names
from sample_rides.truth import Truth
from track.layout import Layout
from track.match import match
from track.path import Floats, Ints, Path

STEP_S = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class NoDoubt:
    """The posterior of a path that is known."""

    def covariance(self, epochs: Ints) -> Floats:
        return np.zeros((2 * epochs.size, 2 * epochs.size))


def true_path(truth: Truth) -> Path:
    """The true line, every tenth of a second."""
    every = round(STEP_S * 10)
    t_s, x_m, y_m = truth.path.t_s[::every], truth.path.x_m[::every], truth.path.y_m[::every]
    heading = np.deg2rad(truth.path.heading_deg[::every])
    none = np.zeros(t_s.size)
    return Path(
        t_s=t_s,
        x_m=x_m,
        y_m=y_m,
        sd_x_m=none,
        sd_y_m=none,
        speed_ms=truth.path.speed_ms[::every],
        speed_sd_ms=none,
        heading_rad=heading,
        heading_sd_rad=none,
        turn_rads=np.gradient(heading, t_s),
        posterior=NoDoubt(),
        frame="arena",
    )


def true_gaits(truth: Truth) -> Gaits:
    """Bouts, strides and transitions as they were."""
    return Gaits(
        bouts=tuple(
            Bout(gait=b.gait, start_s=b.start_s, end_s=b.end_s, confidence=1.0, because="truth")
            for b in truth.bouts
        ),
        strides=tuple(
            Stride(t_s=s.t_s, duration_s=s.duration_s, gait=s.gait) for s in truth.strides
        ),
        stride_sd_s=1e-6,
        transitions=tuple(
            Transition(
                from_gait=t.from_gait,
                to_gait=t.to_gait,
                t_s=t.t_s,
                t_sd_s=0.0,
                between_strides=t.between_strides,
            )
            for t in truth.transitions
        ),
        events=tuple(
            Event(kind=e.kind, start_s=e.start_s, end_s=e.end_s, because="truth")
            for e in truth.events
        ),
    )


Key = tuple[int, int, str | None, str, int]


def keyed(number: int, run: int, findings: list[Finding]) -> dict[Key, Finding]:
    """Findings by movement, term, measure and which of its kind."""
    rows: dict[Key, Finding] = {}
    for finding in findings:
        count = sum(key[2:4] == (finding.of, finding.measure) for key in rows)
        rows[number, run, finding.of, finding.measure, count] = finding
    return rows


def true_findings(
    truth: Truth, layout: Layout, bands: Bands, track_offset_m: float
) -> dict[Key, Finding]:
    """Every finding of every movement on the true line."""
    path, gaits = true_path(truth), true_gaits(truth)
    times, names = gait_changes(gaits)
    matched = match(path, layout, gait_t_s=times, gait_names=names)
    sheet = ridden_sheet(layout, matched)
    ridden = Ridden(
        path=path,
        local=path,
        gaits=gaits,
        bands=bands,
        names=Names(size=layout.sheet.arena, known=True),
        means=Means(gyro=True, speed=True, course=True, boards=True),
        track_offset_m=track_offset_m,
    )
    rows: dict[Key, Finding] = {}
    for movement in matched.movements:
        if movement.found:
            found = findings_of(ridden, sheet, movement.number, movement.run)
            rows |= keyed(movement.number, movement.run, found)
    return rows
