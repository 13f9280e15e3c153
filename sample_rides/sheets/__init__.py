"""Three invented demo sheets; none is a published test."""

from __future__ import annotations

from importlib.resources import files
from typing import Final

from track.sheet import Sheet
from track.sheet_file import parse_sheet

_FILES: Final = {
    "walk and trot": "larch_wood_walk_and_trot_1.txt",
    "first canter": "larch_wood_first_canter_1.txt",
    "ten metre": "larch_wood_ten_metre_1.toml",
}
DEMO_SHEETS: Final = tuple(_FILES)
"""Names of the demo sheets: their levels."""


def demo_sheet_text(name: str) -> str:
    """The file of a demo sheet, as it would be typed."""
    return (files(__name__) / _FILES[name]).read_text(encoding="utf-8")


def demo_sheet(name: str) -> Sheet:
    """A demo sheet by the name of its level.

    Parameters
    ----------
    name : str
        One of :data:`DEMO_SHEETS`.
    """
    return parse_sheet(demo_sheet_text(name), name=_FILES[name])
