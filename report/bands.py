"""Default bands by level, as data, and the rider's own changes to them."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any, Final, Literal

from pydantic import BaseModel, ConfigDict

from ingest.errors import TanbarkError
from report.verdict import Band, around, at_least, at_most
from track.sheet import Level

LEVELS: Final[tuple[Level, ...]] = ("walk and trot", "first canter", "ten metre")
ALL: Final = "all"

Limit = float | Literal["-"]


class Rule(BaseModel):
    """One measure's row of the table."""

    model_config = ConfigDict(extra="allow", frozen=True)
    __pydantic_extra__: dict[str, tuple[Limit, Limit, Limit]]

    kind: Literal["plus or minus", "at most", "at least"]
    unit: str
    source: str

    @property
    def cases(self) -> Mapping[str, tuple[Limit, Limit, Limit]]:
        """Case to its limits in the order of :data:`LEVELS`."""
        return self.__pydantic_extra__


@dataclass(frozen=True, slots=True, kw_only=True)
class Bands:
    """The bands of one level.

    Attributes
    ----------
    level : str
    rules : mapping of str to Rule
        The shipped table.
    own : mapping of (str, str) to float
        The rider's limits, by measure and case.
    """

    level: Level
    rules: Mapping[str, Rule]
    own: Mapping[tuple[str, str], float]

    def unit(self, measure: str) -> str:
        """Unit of a measure, as printed."""
        return self.rules[measure].unit

    def limit(self, measure: str, case: str = ALL) -> float | None:
        """Tolerance or limit of a measure; None where it is not rated at this level."""
        cases = self.rules[measure].cases
        key = case if case in cases else ALL
        for name in (case, ALL):
            if (measure, name) in self.own:
                return self.own[measure, name]
        if key not in cases:
            return None
        value = cases[key][LEVELS.index(self.level)]
        return None if value == "-" else float(value)

    def band(self, measure: str, target: float | None, case: str = ALL) -> Band:
        """Band of a measure about its target; without limits where it is not rated.

        Parameters
        ----------
        measure : str
            Name of the contract's measure table.
        target : float or None
            In the unit of the measure. A two-sided band needs one.
        case : str
            Row of the measure, for example ``"20"`` for a 20 m circle.
        """
        limit = self.limit(measure, case)
        kind = self.rules[measure].kind
        if limit is None or (kind == "plus or minus" and target is None):
            return Band(target=target)
        if kind == "plus or minus" and target is not None:
            return around(target, limit)
        return at_most(limit, target or 0.0) if kind == "at most" else at_least(limit, target)


@cache
def shipped_rules() -> Mapping[str, Rule]:
    """Read the table that ships with the tool."""
    text = resources.files("report").joinpath("bands.toml").read_text(encoding="utf-8")
    return {name: Rule.model_validate(row) for name, row in tomllib.loads(text).items()}


def bands_of(level: Level, tolerances: Path | None = None) -> Bands:
    """Bands of a level with the rider's own changes.

    Parameters
    ----------
    level : {"walk and trot", "first canter", "ten metre"}
    tolerances : Path or None
        A file of ``[measure]`` tables with ``case = number``, or ``measure = number``.

    Raises
    ------
    TanbarkError
        The file cannot be read or names what is not a measure, one line per fault.
    """
    own = {} if tolerances is None else _own_limits(tolerances)
    return Bands(level=level, rules=shipped_rules(), own=own)


def _own_limits(file: Path) -> dict[tuple[str, str], float]:
    limits: dict[tuple[str, str], float] = {}
    faults: list[str] = []
    for measure, entry in _table(file).items():
        cases = entry if isinstance(entry, dict) else {ALL: entry}
        for case, value in cases.items():
            fault = _fault(measure, case, value)
            if fault:
                faults.append(f"{file.name}: {fault}")
            else:
                limits[measure, case] = float(value)
    if faults:
        raise TanbarkError(*faults)
    return limits


def _table(file: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(file.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
        raise TanbarkError(
            f"{file.name}: the tolerances cannot be read ({fault}); "
            "write for example [diameter] and below it all = 1.5"
        ) from fault


def _fault(measure: str, case: str, value: object) -> str | None:
    rules = shipped_rules()
    if measure not in rules:
        return f"'{measure}' is not a measure; the measures are {', '.join(rules)}"
    allowed = {ALL, *rules[measure].cases}
    if case not in allowed:
        return f"{measure} has no case '{case}'; write {' or '.join(sorted(allowed))}"
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value < 1000:
        return f"{measure} {case} is {value!r}; write a number of {rules[measure].unit}"
    return None
