"""The tempo drawing to zoom in: packed away, unpacked only when a reader asks for it."""

from __future__ import annotations

import base64
import gzip
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import Any, Final

import numpy as np

from report import words_labels as labels
from report import words_tables as tables_words
from report.charts import Span, TempoLine
from report.look import ACCENT, HAIRLINE, INK, PAPER

FACES: Final = "'Palatino Linotype', Palatino, P052, serif"
DASHES: Final = {"walk": "dot", "trot": "dash", "canter": "solid"}


def zoom_figure(lines: Sequence[TempoLine], spans: Sequence[Span]) -> dict[str, Any]:
    """The same lines as a plotly figure in our own ink, without its toolbar.

    Returns
    -------
    dict
        ``data`` and ``layout``, plain JSON.
    """
    import plotly.graph_objects as go

    figure = go.Figure(layout={"template": ink_template()})
    for gait, dash in DASHES.items():
        x, y = _joined([line for line in lines if line.gait == gait])
        if x:
            figure.add_scatter(
                x=x, y=y, mode="lines", name=labels.GAITS[gait], connectgaps=False,
                line={"dash": dash, "width": 1.6, "color": INK}, hovertemplate="%{y:.0f}",
            )  # fmt: skip
    for span in spans:
        figure.add_vrect(
            x0=span.start_min, x1=span.end_min, fillcolor=ACCENT, opacity=0.08, line_width=0
        )
    plain: dict[str, Any] = figure.to_plotly_json()
    plain["data"] = [dict(trace) for trace in plain["data"]]
    return plain


def _joined(lines: Sequence[TempoLine]) -> tuple[list[float | None], list[float | None]]:
    """Lines end to end with a gap between them."""
    x: list[float | None] = []
    y: list[float | None] = []
    for line in lines:
        x += [*np.round(line.t_min, 3).tolist(), None]
        y += [*np.round(line.tempo_spm, 1).tolist(), None]
    return x, y


def ink_template() -> dict[str, Any]:
    """A plotly template of ink on paper: no colours, no boxes."""
    axis = {
        "gridcolor": HAIRLINE, "linecolor": INK, "zeroline": False, "ticks": "outside",
        "tickcolor": INK, "title": {"standoff": 8},
    }  # fmt: skip
    return {
        "layout": {
            "paper_bgcolor": PAPER, "plot_bgcolor": PAPER, "colorway": [INK],
            "font": {"family": FACES, "color": INK, "size": 14},
            "xaxis": {**axis, "title": {"text": tables_words.TIME_AXIS}},
            "yaxis": {**axis, "title": {"text": tables_words.TEMPO_AXIS}},
            "margin": {"l": 60, "r": 20, "t": 20, "b": 50}, "hovermode": "x",
            "hoverlabel": {"bgcolor": PAPER, "font": {"color": INK}}, "dragmode": "zoom",
            "legend": {"orientation": "h", "y": 1.08}, "height": 420,
        }
    }  # fmt: skip


@cache
def zoom_source() -> str:
    """The drawing library's script, as it will run when a reader asks for it."""
    from plotly.offline import get_plotlyjs

    source: str = get_plotlyjs()
    return source


@cache
def packed_zoom_source() -> str:
    """The same, gzipped and in base64: a third of the size, and nothing to parse on opening."""
    data = gzip.compress(zoom_source().encode(), compresslevel=6, mtime=0)
    return base64.b64encode(data).decode()


@cache
def zoom_script() -> str:
    """Our own few lines that unpack it on request."""
    return files("report").joinpath("templates/zoom.js").read_text(encoding="utf-8").strip()
