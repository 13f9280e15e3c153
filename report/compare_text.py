"""A comparison as plain text for the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from report import words_compare as w
from report.compare_cells import Cells, head_words, heads_of, sentences_of, tables_of
from report.compare_rides import Left, Season
from report.compare_rows import Row

GAP: Final = "  "


def compare_text(seasons: Sequence[tuple[Season, Sequence[Row]]], left: Sequence[Left]) -> str:
    """Every comparison as a table with its sentences; then the rides left out."""
    blocks = [_season(season, rows) for season, rows in seasons]
    if left:
        blocks.append([f"{one.ride.name}: {one.because}" for one in left])
    return "\n".join("\n".join(block) + "\n" for block in blocks)


def _season(season: Season, rows: Sequence[Row]) -> list[str]:
    lines = [f"{head_words(season)}."]
    if season.split == "line":
        both = (*season.before, *season.after)
        lines.append(f"{w.THE_RIDES}: " + ", ".join(ride.name for ride in both))
    else:
        for side, rides in ((w.BEFORE, season.before), (w.AFTER, season.after)):
            lines.append(f"{side}: " + ", ".join(ride.name for ride in rides))
    lines += [*season.remarks, ""]
    for table in tables_of(rows):
        lines += [*_table(table.name, table.lines, heads_of(season)), ""]
    return lines + sentences_of(season, rows)


def _table(name: str, cells: Sequence[Cells], heads: tuple[str, str]) -> list[str]:
    """A gait's rows under one another; every measure has a line of its own above its reins."""
    head = [name, *heads, f"{w.CHANGE} (95 %)", w.SHOWN_FROM, ""]
    rows: list[list[str]] = []
    for before, cell in zip((None, *cells), cells, strict=False):
        if before is None or before.measure != cell.measure:
            rows.append([cell.measure])
        rows.append(
            [f"  {cell.rein}", cell.before, cell.after, cell.change, cell.smallest, cell.word]
        )
    whole = [head, *(row for row in rows if len(row) > 1)]
    widths = [max(len(row[i]) for row in whole) for i in range(len(head))]
    return [
        GAP.join(cell.ljust(width) for cell, width in zip(row, widths, strict=False)).rstrip()
        for row in (head, *rows)
    ]
