"""``result.json``: written with sensible digits, read back with one-line faults, and its schema."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from importlib import resources
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from ingest.errors import TanbarkError
from report.result import Finding, Result

DIGITS: Final[Mapping[str, int]] = {
    "x_lat_deg": 8,
    "x_lon_deg": 8,
    "chance_within": 4,
    "confidence": 3,
}
"""Decimal places of keys that need others than :data:`PLACES`."""
PLACES: Final = 4
PATH_DIGITS: Final[Mapping[str, int]] = {
    "t_s": 3, "x_m": 2, "y_m": 2, "sd_m": 2, "speed_ms": 2, "heading_deg": 1,
}  # fmt: skip


class ResultFileError(TanbarkError):
    """A result file cannot be read."""


def dumped(result: Result, *, private: bool = False) -> str:
    """Text of ``result.json``.

    Parameters
    ----------
    result : Result
    private : bool
        Leave out where on the earth the arena lies.
    """
    data = rounded((stripped(result) if private else result).model_dump(by_alias=True))
    return json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False) + "\n"


def stripped(result: Result) -> Result:
    """Return the result without the arena's position and the names of the files."""
    ride = result.ride.model_copy(update={"sources": []})
    if result.arena is None:
        return result.model_copy(update={"ride": ride})
    nowhere: dict[str, Any] = {"x_lat_deg": None, "x_lon_deg": None, "bearing_deg": None}
    runner_up = result.arena.runner_up
    if runner_up is not None:
        runner_up = runner_up.model_copy(update=nowhere)
    arena = result.arena.model_copy(update={**nowhere, "runner_up": runner_up})
    return result.model_copy(update={"ride": ride, "arena": arena})


def rounded(value: Any, digits: int = PLACES, key: str = "") -> Any:
    """Round every number of plain data to the places its key deserves.

    Examples
    --------
    >>> rounded({"value": 0.123456, "x_lat_deg": 52.123456789})
    {'value': 0.1235, 'x_lat_deg': 52.12345679}
    """
    if isinstance(value, float):
        return round(value, DIGITS.get(key, digits)) + 0.0 if math.isfinite(value) else None
    if isinstance(value, dict):
        if set(PATH_DIGITS) <= set(value):
            return {k: rounded(v, PATH_DIGITS.get(k, digits), k) for k, v in value.items()}
        return {k: rounded(v, digits, k) for k, v in value.items()}
    if isinstance(value, list):
        return [rounded(item, digits, key) for item in value]
    return value


def read_result(file: Path) -> Result:
    """Read a result file back.

    Raises
    ------
    ResultFileError
        The file is missing, is not JSON, or is not a result of this tool.
    """
    try:
        text = file.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as fault:
        raise ResultFileError(f"{file.name}: cannot be read ({_reason(fault)})") from fault
    try:
        return Result.model_validate_json(text)
    except ValidationError as fault:
        first = fault.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "the file"
        raise ResultFileError(
            f"{file.name}: not a result of tanbark ({where}: {first['msg']}); "
            "hand in a result.json written by tanbark analyse"
        ) from fault


def _reason(fault: OSError | UnicodeDecodeError) -> str:
    return (fault.strerror or "unknown") if isinstance(fault, OSError) else "it is not text"


def schema() -> dict[str, Any]:
    """JSON Schema of ``result.json``, made from the models."""
    made = Result.model_json_schema(by_alias=True, mode="serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **made}


def shipped_schema() -> dict[str, Any]:
    """JSON Schema that ships with the tool."""
    text = resources.files("report").joinpath("result.schema.json").read_text(encoding="utf-8")
    loaded: dict[str, Any] = json.loads(text)
    return loaded


def all_findings(result: Result) -> list[Finding]:
    """Every finding of a result once: of movements, then of figures nobody asked for."""
    of_movements = [finding for row in result.movements for finding in row.findings]
    free = [row for row in result.figures if row.movement is None]
    return of_movements + [finding for row in free for finding in row.findings]


if __name__ == "__main__":
    target = Path(__file__).with_name("result.schema.json")
    target.write_text(json.dumps(schema(), indent=1) + "\n", encoding="utf-8")
