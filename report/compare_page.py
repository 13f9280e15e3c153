"""The coach's page of rides compared: one file, no script, nothing loaded."""

from __future__ import annotations

from collections.abc import Sequence

from report import words_compare as c
from report.compare_cells import head_words, heads_of, sentences_of, tables_of
from report.compare_rides import Left, Season
from report.compare_rows import Row
from report.look import environment, security_policy
from report.page_words import words_of_pages


def render_compare(seasons: Sequence[tuple[Season, Sequence[Row]]], left: Sequence[Left]) -> str:
    """Write the page.

    Parameters
    ----------
    seasons : sequence of (Season, rows)
    left : sequence of Left
        Rides that were left out.

    Returns
    -------
    str
        One self-contained HTML page; rides go by number and label, never by file or date.
    """
    parts = [
        {
            "head": head_words(season), "remarks": season.remarks,
            "heads": heads_of(season), "said": sentences_of(season, rows),
            "tables": tables_of(rows),
            "rides": [
                (ride.number, ride.result.ride.label or "", "" if season.split == "line" else side)
                for side, group in ((c.BEFORE, season.before), (c.AFTER, season.after))
                for ride in group
            ],
        }
        for season, rows in seasons
    ]  # fmt: skip
    template = environment().get_template("compare.html.j2")
    return template.render(
        w=words_of_pages(), c=c, parts=parts, left=left, policy=security_policy()
    )
