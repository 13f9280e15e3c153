"""Findings of circles and half circles: size, roundness, place."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from gait.bouts import Stride
from report.measured import About
from report.places import heading_at
from report.quarters import quarter_edges_s, quarter_spread
from report.result import Finding
from report.ridden import Ridden
from report.spoilt import spoilt_by
from track.path import Estimate, Path
from track.shapes import CircleShape, circle_of, half_circle_of

BESIDE_S: Final = 2.0
"""Strides beyond a circle's ends are looked at so far."""
FULL_TURN_RAD: Final = np.deg2rad(300.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedShape:
    """What a circle or half circle is held against.

    Attributes
    ----------
    nominal_m : float or None, m
        Board to board; None for a figure nobody asked for.
    target_m : float or None, m
        The same for the rider's body.
    centre_m : (float, float) or None, m
    length_minus_width_m : float, m
        Of the ideal figure.
    width_m : float or None, m
        Of an ideal half circle.
    shift_m : float or None, m
        From the rider's body to board to board, for a figure nobody asked for.
    placed : bool
        False where it is not known how the school lies: no length and width then.
    """

    nominal_m: float | None = None
    target_m: float | None = None
    centre_m: tuple[float, float] | None = None
    length_minus_width_m: float = 0.0
    width_m: float | None = None
    shift_m: float = 0.0
    placed: bool = True

    @property
    def case(self) -> str:
        """Row of the bands that belongs to the size."""
        return "" if self.nominal_m is None else f"{self.nominal_m:.0f}"


def circle_findings(
    ridden: Ridden, path: Path, span_s: tuple[float, float], about: About, asked: AskedShape
) -> list[Finding]:
    """Every measure of the shape of a full circle.

    Parameters
    ----------
    span_s : (float, float), s
        When the circle begins and ends.
    """
    spoilt = spoilt_by(ridden.gaits, *span_s)
    if spoilt is not None:
        because = f"{spoilt.words} fell into it: its shape is not hers to be measured"
        return [ridden.missing("diameter", about, because)]
    edges = quarter_edges_s(path, *span_s)
    turned = abs(heading_at(path, edges[-1]) - heading_at(path, edges[0]))
    if turned < FULL_TURN_RAD:
        because = f"only {np.rad2deg(turned):.0f}° of it were ridden"
        return [ridden.missing("diameter", about, because)]
    shape = circle_of(path, float(edges[0]), float(edges[-1]))
    rows = [_size(ridden, "diameter", about, shape.diameter_m, asked)]
    rows += _roundness(ridden, about, shape, asked)
    half = ridden.bands.band("second_half", 0.0)
    rows.append(ridden.judged("second_half", about, shape.second_half_m, half))
    rows += _quarters(ridden, path, (float(edges[0]), float(edges[-1])), about)
    if asked.centre_m is not None:
        offset, band = (
            shape.centre_offset_m(*asked.centre_m),
            ridden.bands.band("centre_offset", 0.0),
        )
        rows.append(ridden.judged("centre_offset", about, offset, band))
    return disagreement_told(rows)


def disagreement_told(rows: list[Finding]) -> list[Finding]:
    """Say so where the metres call a circle an egg and its strides even, or the other way."""
    verdicts = {row.measure: row.verdict for row in rows}
    strides, metres = verdicts.get("quarter_spread"), verdicts.get("length_minus_width")
    if {strides, metres} != {"within", "outside"}:
        return rows
    other = {
        "quarter_spread": "its length and width in metres say otherwise",
        "length_minus_width": "the strides of its quarters say otherwise",
    }
    return [
        row.model_copy(update={"because": f"{row.because}; {other[row.measure]}"})
        if row.measure in other
        else row
        for row in rows
    ]


def _size(ridden: Ridden, measure: str, about: About, size: Estimate, asked: AskedShape) -> Finding:
    target = asked.target_m
    if not ridden.means.gyro:
        lag_m = _lag_sd_m(ridden, about, size.value)
        size = Estimate(value=size.value, sd=float(np.hypot(size.sd, lag_m)))
    if measure == "width" and asked.width_m is not None:
        target = asked.width_m
    return ridden.judged(
        measure,
        about,
        size,
        ridden.bands.band(measure, target, asked.case),
        asked=asked.nominal_m,
        shift=asked.shift_m
        if target is None or asked.nominal_m is None
        else asked.nominal_m - target,
    )


def _lag_sd_m(ridden: Ridden, about: About, size_m: float) -> float:
    """Doubt of a circle's size from that of the receiver's smoothing, where no turn rate tells it.

    A path steered by turns has the doubt of the lag, and of the speed's scale, in its own. One
    that was not cuts its bends as well, by about as much as the lag's doubt [measured on made-up
    rides].

    A first-order low-pass of time constant τ shrinks a circle ridden at the turn rate ω to
    D/√(1 + ω²τ²), so that u(D) = D · ω²τ/(1 + ω²τ²) · u(τ).
    """
    lag, path = ridden.lag_s, ridden.local
    if lag is None or path is None or about.start_s is None or about.end_s is None:
        return 0.0
    inside = path.between(about.start_s, about.end_s)
    rate = float(np.median(np.abs(path.turn_rads[inside]))) if inside.size else 0.0
    square = rate**2 * max(lag.value, lag.sd)
    return size_m * square / (1 + square * max(lag.value, lag.sd)) * lag.sd


def _roundness(
    ridden: Ridden, about: About, shape: CircleShape, asked: AskedShape
) -> list[Finding]:
    bands = ridden.bands
    rows = [
        ridden.judged("out_of_round", about, shape.out_of_round_m, bands.band("out_of_round", 0.0)),
    ]
    if asked.placed:
        band = bands.band("length_minus_width", asked.length_minus_width_m)
        rows.append(ridden.judged("length_minus_width", about, shape.length_minus_width_m, band))
    return rows


def _quarters(
    ridden: Ridden, path: Path, span_s: tuple[float, float], about: About
) -> list[Finding]:
    band = ridden.bands.band("quarter_spread", 0.0)
    gait = about.gait or "unknown"
    changes = [t.t_s for t in ridden.gaits.transitions if _inside(t.t_s, span_s)]
    around = (span_s[0] - BESIDE_S, span_s[1] + BESIDE_S)
    strides = [s for s in ridden.strides_in(gait, *around) if not _at_one_of(changes, s)]
    found = quarter_spread(path, strides, *span_s, ridden.stride_sd_s)
    if found is None:
        because = (
            "the gait changes inside it, so that too few of its quarters are of one gait"
            if changes
            else "strides are missing inside the circle"
        )
        return [ridden.missing("quarter_spread", about, because, band)]
    if not np.isfinite(found.counts).all():
        about = replace(about, what=f"the {gait} part of {about.what}")
    return [ridden.judged("quarter_spread", about, found.spread, band, detail=found.longest)]


def _inside(t_s: float, span_s: tuple[float, float]) -> bool:
    return span_s[0] + BESIDE_S / 2 < t_s < span_s[1] - BESIDE_S / 2


def _at_one_of(changes_s: list[float], stride: Stride) -> bool:
    """Whether a stride is the last or first at a change of gait, which is not yet its own pace."""
    near = BESIDE_S / 2
    return any(stride.t_s - near < t_s < stride.t_s + stride.duration_s + near for t_s in changes_s)


def half_circle_findings(
    ridden: Ridden, path: Path, span_s: tuple[float, float], about: About, asked: AskedShape
) -> list[Finding]:
    """``diameter`` and ``width`` of a half circle."""
    spoilt = spoilt_by(ridden.gaits, *span_s)
    if spoilt is not None or path.between(*span_s).size < 6:
        because = f"{spoilt.words if spoilt else 'too few positions'} fell into it"
        return [ridden.missing("width", about, because)]
    radius = None if asked.target_m is None else asked.target_m / 2
    shape = half_circle_of(path, *span_s, radius_m=radius)
    return [
        _size(ridden, "width", about, shape.width_m, asked),
        _size(ridden, "diameter", about, shape.diameter_m, asked),
    ]
