"""Arena files: TOML in, TOML out, checked by a model that says what is wrong."""

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


def read_arena(path: Path) -> Arena:
    """Read an arena file.

    Raises
    ------
    ArenaError
        The file cannot be read, or a value is missing or out of range: one line per fault.
    """
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
        raise ArenaError(
            f"{path.name}: the arena file cannot be read ({fault}); make it anew with tanbark arena"
        ) from fault
    try:
        file = ArenaFile.model_validate(table)
    except ValidationError as fault:
        raise ArenaError(
            *(
                f"{path.name}: {'.'.join(str(part) for part in error['loc'])}: {error['msg']}; "
                "mend it or make the file anew"
                for error in fault.errors()
            )
        ) from fault
    return Arena(**file.model_dump())


def arena_toml(arena: Arena) -> str:
    """An arena as the text of an arena file.

    Examples
    --------
    >>> print(arena_toml(Arena(size="20x40", x_lat_deg=52.0, x_lon_deg=5.0, bearing_deg=30.0,
    ...                        sd_m=0.8, bearing_sd_deg=0.6, name="home")).splitlines()[1])
    size = "20x40"
    """
    name = arena.name.replace("\\", "\\\\").replace('"', '\\"')
    return "\n".join(
        [
            f'name = "{name}"',
            f'size = "{arena.size}"',
            f"x_lat_deg = {arena.x_lat_deg:.7f}            # WGS84, position of X",
            f"x_lon_deg = {arena.x_lon_deg:.7f}",
            f"bearing_deg = {arena.bearing_deg:.2f}       # from A to C, clockwise from true north",
            f"sd_m = {arena.sd_m:.2f}                # standard uncertainty of X per axis",
            f"bearing_sd_deg = {arena.bearing_sd_deg:.2f}",
            "",
        ]
    )
