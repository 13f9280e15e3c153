"""Tempo over time: a drawing in the page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from markupsafe import Markup
from scipy.ndimage import median_filter

from report import words_labels as labels
from report import words_tables as tables_words
from report.arena_svg import stroke, text
from report.page_labels import GLYPH_PX
from report.result import Gait, Result, StrideRow
from report.words import capital
from track.path import Floats

MEDIAN_OF: Final = 9
"""Strides in one running median: a quarter or so of a 20 m circle in trot."""
LEAST_STRIDES: Final = 5
DRAWN_MOST: Final = 700
GAP_S: Final = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TempoLine:
    """Tempo over one unbroken run of strides of one gait.

    Attributes
    ----------
    gait : str
    t_min : array, shape (n,), min
    tempo_spm : array, shape (n,), strides/min
    """

    gait: Gait
    t_min: Floats
    tempo_spm: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A named stretch of time under the drawing."""

    words: str
    start_min: float
    end_min: float


def tempo_lines(strides: Sequence[StrideRow]) -> list[TempoLine]:
    """Running median of the tempo, cut where the gait changes or strides are missing."""
    lines: list[TempoLine] = []
    thin = max(1, len(strides) // DRAWN_MOST)
    for run in _stride_runs(strides):
        if len(run) < LEAST_STRIDES:
            continue
        t = np.array([s.t_s for s in run]) / 60
        tempo = 60 / np.array([s.duration_s for s in run])
        size = min(MEDIAN_OF, len(run))
        smooth = median_filter(tempo, size=size, mode="reflect")
        keep = np.unique(np.append(np.arange(0, len(run), thin), len(run) - 1))
        lines.append(TempoLine(gait=run[0].gait, t_min=t[keep], tempo_spm=smooth[keep]))
    return lines


def _stride_runs(strides: Sequence[StrideRow]) -> list[list[StrideRow]]:
    runs: list[list[StrideRow]] = []
    for stride in strides:
        last = runs[-1][-1] if runs else None
        joins = (
            last is not None
            and last.gait == stride.gait
            and stride.t_s - (last.t_s + last.duration_s) < GAP_S
        )
        if joins:
            runs[-1].append(stride)
        else:
            runs.append([stride])
    return runs


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sheet:
    """Pixels of one drawing."""

    width: float
    height: float
    end_min: float
    low: float
    high: float
    left: float = 34.0
    top: float = 12.0
    foot: float = 64.0

    def x(self, minute: Floats | float) -> Floats:
        span = self.width - self.left - 10
        return np.asarray(self.left + span * np.asarray(minute) / self.end_min)

    def y(self, tempo: Floats | float) -> Floats:
        span = self.height - self.top - self.foot
        return np.asarray(
            self.top + span * (self.high - np.asarray(tempo)) / (self.high - self.low)
        )


def tempo_drawing(
    lines: Sequence[TempoLine], spans: Sequence[Span], duration_s: float, *,
    width: float, height: float, name: str, kind: str,
) -> Markup:  # fmt: skip
    """Draw tempo over time.

    Parameters
    ----------
    lines : sequence of TempoLine
        At least one.
    spans : sequence of Span
        Named under the axis.
    duration_s : float, s
    width, height : float, px
    name : str
        Unique on the page.
    kind : str
        Class that says on which screens it is shown.
    """
    tempo = np.concatenate([line.tempo_spm for line in lines])
    sheet = _Sheet(
        width=width, height=height, end_min=max(duration_s / 60, 0.1),
        low=10 * np.floor(tempo.min() / 10 - 0.2), high=10 * np.ceil(tempo.max() / 10 + 0.2),
    )  # fmt: skip
    parts = [*_axes(sheet), *_spans(sheet, spans)]
    for line in lines:
        points = [
            f"{x:.1f} {y:.1f}"
            for x, y in zip(sheet.x(line.t_min), sheet.y(line.tempo_spm), strict=True)
        ]
        parts.append(stroke("M" + "L".join(points), f"gait ink tempo {line.gait}"))
    parts += _line_names(sheet, lines)
    return Markup(
        '<svg class="chart {kind}" role="img" aria-labelledby="{name}-t {name}-d" '
        'viewBox="0 0 {w:g} {h:g}" width="{w:g}" height="{h:g}"><title id="{name}-t">{t}</title>'
        '<desc id="{name}-d">{d}</desc>{body}</svg>'
    ).format(
        kind=kind, name=name, w=width, h=height, t=tables_words.TEMPO_TITLE, d=tempo_words(lines),
        body=Markup("").join(parts),
    )  # fmt: skip


def tempo_words(lines: Sequence[TempoLine]) -> str:
    """The drawing for those who cannot see it."""
    said = []
    for gait in ("walk", "trot", "canter"):
        parts = [line.tempo_spm for line in lines if line.gait == gait]
        if parts:
            tempo = np.concatenate(parts)
            low, high = np.quantile(tempo, [0.05, 0.95])
            said.append(capital(tables_words.TEMPO_SAID.format(labels.GAITS[gait], low, high)))
    return " ".join(said)


def _axes(sheet: _Sheet) -> list[Markup]:
    foot = float(sheet.y(sheet.low))
    parts = [stroke(f"M{sheet.left:g} {foot:.1f}H{sheet.width - 10:g}", "axis")]
    for value in np.arange(sheet.low, sheet.high + 1, 10):
        y = float(sheet.y(value))
        parts.append(stroke(f"M{sheet.left:g} {y:.1f}H{sheet.width - 10:g}", "grid"))
        parts.append(text(sheet.left - 5, y + 4, f"{value:g}", "mark", anchor="end"))
    for minute in _minute_marks(sheet):
        x = float(sheet.x(minute))
        parts.append(stroke(f"M{x:.1f} {foot:.1f}v4", "axis"))
        parts.append(text(x, foot + 17, f"{minute:g}", "mark"))
    parts.append(
        text(sheet.width - 10, sheet.height - 2, tables_words.TIME_AXIS, "mark", anchor="end")
    )
    return parts


def _minute_marks(sheet: _Sheet) -> Floats:
    room = max(2, int(sheet.width / 60))
    step = next(s for s in (1, 2, 5, 10, 15, 30, 60, 600) if sheet.end_min / s <= room)
    return np.arange(0, sheet.end_min + 1e-9, step, dtype=np.float64)


def _spans(sheet: _Sheet, spans: Sequence[Span]) -> list[Markup]:
    """Brackets under the axis; a name is left out where the one before it reaches."""
    out, taken = [], -1.0
    y = sheet.height - 27
    for span in spans:
        left, right = float(sheet.x(span.start_min)), float(sheet.x(span.end_min))
        out.append(stroke(f"M{left:.1f} {y - 4:.1f}V{y:.1f}H{right:.1f}V{y - 4:.1f}", "whisker"))
        width = GLYPH_PX * len(span.words)
        start = min(left, sheet.width - 10 - width)
        if start > taken:
            out.append(text(start, y + 12, span.words, "mark", anchor="start"))
            taken = start + width + 6
    return out


def _line_names(sheet: _Sheet, lines: Sequence[TempoLine]) -> list[Markup]:
    """The gait's name above its longest line."""
    out = []
    for gait in ("walk", "trot", "canter"):
        of_gait = [line for line in lines if line.gait == gait]
        if of_gait:
            longest = max(of_gait, key=lambda line: float(line.t_min[-1] - line.t_min[0]))
            x = float(sheet.x(float(longest.t_min.mean())))
            y = float(sheet.y(float(longest.tempo_spm.max()))) - 8
            out.append(text(x, max(y, 11), labels.GAITS[gait], "on-line"))
    return out


def sheet_spans(result: Result) -> list[Span]:
    """Where in the ride the sheet was ridden, once per riding of it."""
    out = []
    for run in sorted({row.run for row in result.movements}):
        rows = [r for r in result.movements if r.run == run and r.start_s is not None]
        starts = [r.start_s for r in rows if r.start_s is not None]
        ends = [r.end_s for r in rows if r.end_s is not None]
        if starts and ends:
            out.append(
                Span(
                    words=tables_words.THE_TEST, start_min=min(starts) / 60, end_min=max(ends) / 60
                )
            )
    return out
