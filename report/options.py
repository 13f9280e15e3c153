"""From what was typed on the command line to the options of an analysis."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Final

from ingest.errors import TanbarkError

if TYPE_CHECKING:
    from pathlib import Path

    from report.pipeline import Options
    from track.arena import Arena

COMPASS: Final = ("n", "nne", "ne", "ene", "e", "ese", "se", "sse",
                  "s", "ssw", "sw", "wsw", "w", "wnw", "nw", "nnw")  # fmt: skip
WORDS: Final = {"north": "n", "east": "e", "south": "s", "west": "w"}


def bearing_of_a_deg(text: str) -> float:
    """Direction in which A lies from the middle of the school, degrees clockwise from north.

    Examples
    --------
    >>> bearing_of_a_deg("SE"), bearing_of_a_deg("200")
    (135.0, 200.0)
    """
    word = text.strip().lower()
    word = WORDS.get(word, word)
    if word in COMPASS:
        return 22.5 * COMPASS.index(word)
    try:
        degrees = float(word)
    except ValueError:
        degrees = float("nan")
    if not 0 <= degrees <= 360:
        raise TanbarkError(
            f"--a-end '{text}': write N, NE, E, SE, S, SW, W, NW or degrees 0 to 360"
        )
    return degrees


def ride_options(given: Mapping[str, Any]) -> Options:
    """Options of an analysis from the command line's own."""
    from ingest.reading import ReadOptions
    from report.pipeline import Options

    a_end = given.get("a_end")
    return Options(
        sheet=given.get("sheet"),
        marks=given.get("marks"),
        tolerances=given.get("tolerances"),
        arena=_arena(given.get("arena")),
        size=given.get("size"),
        a_end_bearing_deg=None if a_end is None else (bearing_of_a_deg(a_end) + 180.0) % 360.0,
        read=ReadOptions(
            motion_unit=given.get("motion_unit"),
            motion_start=given.get("motion_start"),
            motion_rate_hz=given.get("motion_rate"),
        ),
        horse=given.get("horse"),
        kind=given.get("kind"),
        pocket=given.get("pocket"),
        label=given.get("label"),
    )


def _arena(file: Path | None) -> Arena | None:
    if file is None:
        return None
    from track.arena_file import read_arena

    return read_arena(file)
