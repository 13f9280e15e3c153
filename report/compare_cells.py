"""A comparison's rows as they are printed: the same words on the terminal and on the page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from report import words_compare as w
from report.compare_chart import Chart, chart_of
from report.compare_rides import Season
from report.compare_rows import PRIMARY, Row, Side
from report.result import Gait
from report.words import capital, number
from report.words_labels import GAITS

PLACES: Final = {"stride_length": 2}
ONE_PLACE: Final = 1
WHOLE: Final = ("settled", "between_strides")
"""Measures of a ride as a whole: no rein is told with them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cells:
    """One row as it is printed."""

    measure: str
    rein: str
    before: str
    after: str
    change: str
    smallest: str
    word: str
    because: str
    kind: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GaitTable:
    """All rows of one gait."""

    gait: Gait
    name: str
    lines: tuple[Cells, ...]
    chart: Chart | None = None

    @property
    def groups(self) -> list[tuple[str, list[Cells]]]:
        """Lines under the name of their measure."""
        return [(name, list(rows)) for name, rows in groupby(self.lines, lambda c: c.measure)]

    @property
    def counts(self) -> str:
        """How many rows have each verdict."""
        words = [line.word for line in self.lines]
        return ", ".join(f"{words.count(one)} {one}" for one in dict.fromkeys(words))

    @property
    def notes(self) -> list[str]:
        """What would settle the rows that cannot tell, each once."""
        return list(dict.fromkeys(line.because for line in self.lines if line.because))


def tables_of(rows: Sequence[Row]) -> list[GaitTable]:
    """One table per gait, in the order of the rows."""
    gaits = list(dict.fromkeys(row.key.gait for row in rows))
    return [
        GaitTable(
            gait=gait,
            name=capital(GAITS[gait]),
            lines=tuple(cells_of(row) for row in rows if row.key.gait == gait),
            chart=next((chart_of(r) for r in rows if r.key.gait == gait and r.primary), None),
        )
        for gait in gaits
    ]


def cells_of(row: Row) -> Cells:
    """Print one row."""
    places = PLACES.get(row.key.measure, ONE_PLACE)
    return Cells(
        measure=f"{w.MEASURES[row.key.measure]}, {w.UNITS[row.key.measure]}",
        rein=w.WHOLE_RIDE if row.key.measure in WHOLE else w.REINS[row.key.rein],
        before=_end_words(row, 0, places),
        after=_end_words(row, 1, places),
        change=_change(row, places),
        smallest="" if row.smallest is None else _up(row.smallest, places),
        word=w.VERDICTS[row.seen],
        because=row.because,
        kind=row.seen.replace(" ", "-"),
    )


def side_words(side: Side, places: int = 1) -> str:
    """Mean over rides with its 95 % interval, as far as there is one."""
    if side.mean is None:
        return "–"
    if side.interval is None:
        return number(side.mean, places)
    return f"{number(side.mean, places)} ({span(*side.interval, places)})"


def _end_words(row: Row, side: int, places: int) -> str:
    """Before or after; for a line its first or last place."""
    if row.ends is None:
        return side_words((row.before, row.after)[side], places)
    end = row.ends[side]
    return f"{number(end.value, places)} ({span(*end.interval, places)})"


def _end_value(row: Row, side: int) -> float:
    mean = (row.before, row.after)[side].mean
    return (mean or 0.0) if row.ends is None else row.ends[side].value


def heads_of(season: Season) -> tuple[str, str]:
    """Heads of the two columns."""
    return (w.LINE_START, w.LINE_END) if season.split == "line" else (w.BEFORE, w.AFTER)


def span(low: float, high: float, places: int = 1) -> str:
    """An interval in words.

    Examples
    --------
    >>> span(-0.2, 1.3)
    '−0.2 to 1.3'
    """
    return f"{number(low, places)} to {number(high, places)}"


def signed(value: float, places: int = 1) -> str:
    """A change with its sign.

    Examples
    --------
    >>> signed(2.24), signed(-0.01), signed(-2.0)
    ('+2.2', '0.0', '−2.0')
    """
    words = number(value, places)
    return words if words.startswith("−") or float(words) == 0 else f"+{words}"


def _up(value: float, places: int) -> str:
    """A smallest change: never printed as nought."""
    return number(max(value, 10.0**-places), places)


def _change(row: Row, places: int) -> str:
    if row.change is None:
        return "–"
    if row.contrast is None:
        return signed(row.change, places)
    low, high = row.contrast.interval()
    return f"{signed(row.change, places)} ({signed(low, places)} to {signed(high, places)})"


def head_words(season: Season) -> str:
    """Whose rides, how many on either side, and how they were split."""
    whose = w.of_whom(season.horse, season.pocket)
    counts = w.SIDES.format(w.rides(len(season.before)), w.rides(len(season.after)))
    if season.split == "line":
        counts = w.rides(len(season.before) + len(season.after))
    return f"{capital(whose)}: {counts}, {season.split_words}"


def sentences_of(season: Season, rows: Sequence[Row]) -> list[str]:
    """What a coach reads first: what changed, what was asked first, how the rest stands."""
    counts = len(season.before), len(season.after)
    out = []
    if counts == (1, 1):
        out.append(w.TWO_RIDES)
    elif not any(row.smallest is not None for row in rows):
        out.append(w.FEW_RIDES)
    else:
        out += [_changed(row) for row in rows if row.seen == "changed"] or [w.NONE_CHANGED]
        out += [_first(row) for row in rows if row.key in PRIMARY and row.seen != "changed"]
        out += _counted(rows)
    return out


def _changed(row: Row) -> str:
    places = PLACES.get(row.key.measure, ONE_PLACE)
    low, high = (0.0, 0.0) if row.contrast is None else row.contrast.interval()
    words = w.CHANGED_SIDED if row.key.rein == "left less right" else w.CHANGED_SAID
    words = w.CHANGED_TIME if row.key.measure in WHOLE else words
    return words.format(
        gait=capital(GAITS[row.key.gait]), rein=w.REINS[row.key.rein],
        measure=w.MEASURES[row.key.measure], unit=w.UNITS[row.key.measure],
        before=number(_end_value(row, 0), places), after=number(_end_value(row, 1), places),
        change=signed(row.change or 0.0, places),
        low=signed(low, places), high=signed(high, places),
    )  # fmt: skip


def _first(row: Row) -> str:
    gait, word = capital(GAITS[row.key.gait]), w.VERDICTS[row.seen]
    if row.seen == "none seen" and row.smallest is not None:
        return w.COULD_SEE.format(gait=gait, word=word, smallest=_up(row.smallest, ONE_PLACE))
    return w.PRIMARY_OPEN.format(gait=gait, word=word, because=row.because)


def _counted(rows: Sequence[Row]) -> list[str]:
    none = sum(row.seen == "none seen" for row in rows)
    still_open = sum(row.seen == "cannot tell" for row in rows)
    out = [w.COUNT_NONE.format(none, len(rows))] if none else []
    return [*out, w.COUNT_OPEN.format(still_open, len(rows))] if still_open else out
