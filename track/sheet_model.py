"""The fields of a sheet's file, as pydantic checks them; they also give its JSON Schema."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from track.arena import Size
from track.sheet import Level

LEVELS: Final[tuple[Level, ...]] = ("walk and trot", "first canter", "ten metre")
EntryGait = Literal["walk", "trot", "canter"]
GAITS: Final[tuple[EntryGait, ...]] = ("walk", "trot", "canter")
UNTITLED: Final = "Untitled test"


class MovementFile(BaseModel):
    """One ``[[movement]]`` of a sheet in TOML."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    ride: Annotated[list[str], Field(description="terms in the order ridden")] = []
    change: Annotated[list[str], Field(description="changes of gait in riding order")] = []
    coefficient: Annotated[int, Field(ge=1, le=9)] = 1
    show: Annotated[str, Field(description="stretch | lengthened strides | give and retake")] = ""
    text: Annotated[str, Field(description="for people")] = ""
    of: Annotated[list[int], Field(description="a mark for other movements' transitions")] = []


class SheetFile(BaseModel):
    """A sheet in TOML."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    title: str = UNTITLED
    arena: Size
    enter: EntryGait
    level: Level | None = None
    movement: Annotated[list[MovementFile], Field(min_length=1)]


def sheet_json_schema() -> dict[str, Any]:
    """JSON Schema of the TOML form."""
    return SheetFile.model_json_schema()


def validated(fields: dict[str, Any], faults: list[str]) -> SheetFile | None:
    """Check fields; their faults are added in words, and None comes back."""
    try:
        return SheetFile.model_validate(fields)
    except ValidationError as fault:
        for error in fault.errors():
            faults.append(f"{_where(error['loc'])}{error['msg'].lower()}")
    return None


def _where(loc: Sequence[int | str]) -> str:
    if len(loc) >= 2 and loc[0] == "movement" and isinstance(loc[1], int):
        rest = ".".join(str(part) for part in loc[2:])
        return f"movement {loc[1] + 1}: {rest}: " if rest else f"movement {loc[1] + 1}: "
    return "".join(f"{part}: " for part in loc)
