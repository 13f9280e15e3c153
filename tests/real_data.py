"""Where the real recordings lie: a folder beside the project, absent on most machines.

They are openly licensed recordings of real phones and people; none is a ride on a horse. They hold
real places, so tests neither print nor plot coordinates.
"""

from pathlib import Path

import pytest

FOLDER = Path(__file__).parents[2] / "shared" / "data"


def real_data(*parts: str) -> Path:
    """A file or folder among the real recordings; skips the calling test where they are absent."""
    path = FOLDER.joinpath(*parts)
    if not path.exists():
        pytest.skip("the folder shared/data beside the project is absent")
    return path
