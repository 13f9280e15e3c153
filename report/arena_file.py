"""Reading an arena file: where a school lies, as ``tanbark arena`` writes it."""

from __future__ import annotations

import tomllib
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from ingest.errors import ArenaError
from track.arena import Arena, Size


class ArenaFile(BaseModel):
    """The keys of an arena file."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: str = ""
    size: Size
    x_lat_deg: float = Field(ge=-90, le=90)
    x_lon_deg: float = Field(ge=-180, le=180)
    bearing_deg: float = Field(ge=0, le=360)
    sd_m: float = Field(gt=0, le=100)
    bearing_sd_deg: float = Field(gt=0, le=90)


def read_arena(file: Path) -> Arena:
    """Read an arena file.

    Raises
    ------
    ArenaError
        One line per fault.
    """
    try:
        table = tomllib.loads(file.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
        raise ArenaError(f"{file.name}: the arena file cannot be read ({fault})") from fault
    try:
        made = ArenaFile.model_validate(table)
    except ValidationError as fault:
        told = [f"{'.'.join(map(str, error['loc']))}: {error['msg']}" for error in fault.errors()]
        mend = "make the file anew with tanbark arena"
        raise ArenaError(*(f"{file.name}: {line}; {mend}" for line in told)) from fault
    return Arena(**made.model_dump())
