"""Result files for a comparison: read, told apart by horse and pocket, and split in two."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, Literal

from ingest.errors import TanbarkError
from report import words_compare as w
from report.result import SCHEMA, Result
from report.result_file import ResultFileError, read_result

Split = Literal["halves", "asked", "labels", "line"]
FAMILY: Final = SCHEMA.split("/")[0]


class CompareError(TanbarkError):
    """Rides that cannot be compared."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CompareRide:
    """One ride, the unit of every comparison.

    Attributes
    ----------
    number : int
        Its place among the files given, from 1.
    name : str
        The file as it was given; for the terminal, never for a page.
    result : Result
    """

    number: int
    name: str
    result: Result


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """Rides of one horse with the phone in one pocket, in two parts.

    Attributes
    ----------
    horse, pocket : str or None
    before, after : tuple of CompareRide
        For a line the two halves, both in order.
    split : {"halves", "asked", "labels", "line"}
    split_words : str
    remarks : tuple of str
    """

    horse: str | None
    pocket: str | None
    before: tuple[CompareRide, ...]
    after: tuple[CompareRide, ...]
    split: Split
    split_words: str
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """A ride that was left out, and why."""

    ride: CompareRide
    because: str


def read_rides(files: Sequence[Path]) -> list[CompareRide]:
    """Read result files, or the ``result.json`` of folders.

    Raises
    ------
    TanbarkError
        One line for every file that is no result; or fewer than two were named.
    """
    named = [file for given in files for file in _in_folder(given)]
    out: list[CompareRide] = []
    faults: list[str] = []
    for number, file in enumerate(named, start=1):
        try:
            result = _read(file)
        except TanbarkError as fault:
            faults += fault.faults
        else:
            out.append(CompareRide(number=number, name=str(file), result=result))
    if faults:
        raise ResultFileError(*faults)
    if len(out) < 2:
        one = "no result" if not out else f"only {out[0].name}"
        raise CompareError(
            f"{one} named: a comparison needs two or more; name the result.json of each ride, "
            "the oldest first"
        )
    return out


def _in_folder(given: Path) -> list[Path]:
    if not given.is_dir():
        return [given]
    own = given / "result.json"
    inside = [own] if own.exists() else sorted(given.glob("*/result.json"))
    if not inside:
        raise ResultFileError(
            f"{given}: a folder without a result.json; name the folders that tanbark analyse wrote"
        )
    return inside


def _read(file: Path) -> Result:
    try:
        written = json.loads(file.read_text(encoding="utf-8-sig")).get("schema")
    except (OSError, ValueError, AttributeError, RecursionError):
        return read_result(file)  # says what is wrong
    other = isinstance(written, str) and written.startswith(f"{FAMILY}/") and written != SCHEMA
    if other:
        raise ResultFileError(
            f"{file.name}: written by another tanbark ({written}, not {SCHEMA}); "
            "analyse that ride again"
        )
    return read_result(file)


def seasons_of(
    rides: Sequence[CompareRide], *, before: int | None = None, line: bool = False
) -> tuple[list[Season], list[Left]]:
    """Rides told apart by horse and pocket, each group in two parts.

    Parameters
    ----------
    rides : sequence of CompareRide
        In order, the oldest first.
    before : int or None
        How many rides are before; None for the labels, where there are exactly two, else halves.
    line : bool
        Compare along a line from the first ride to the last.

    Raises
    ------
    CompareError
        No two rides can be compared.
    """
    kept, left = _without_doubles(rides)
    groups: dict[tuple[str, str], list[CompareRide]] = defaultdict(list)
    for ride in kept:
        groups[_plain(ride.result.ride.horse), _plain(ride.result.ride.pocket)].append(ride)
    alone = [group[0] for group in groups.values() if len(group) == 1]
    left += [Left(ride=ride, because=w.ALONE.format(_whose(ride))) for ride in alone]
    several = [group for group in groups.values() if len(group) > 1]
    if not several:
        raise CompareError(_nothing(kept, left))
    seasons = [_season(group, before, line) for group in several]
    return seasons, sorted(left, key=lambda one: one.ride.number)


def _plain(word: str | None) -> str:
    return " ".join((word or "").casefold().split())


def _whose(ride: CompareRide) -> str:
    return w.of_whom(ride.result.ride.horse, ride.result.ride.pocket)


def _nothing(kept: Sequence[CompareRide], left: Sequence[Left]) -> str:
    if len(kept) < 2:
        reasons = "; ".join(f"{one.ride.name} {one.because}" for one in left)
        return f"fewer than two rides are left to compare ({reasons})"
    whose = "; ".join(f"{ride.name}: {_whose(ride)}" for ride in kept)
    return (
        f"no two rides are of one horse with the phone in one pocket ({whose}); horses and pockets "
        "are never mixed: name more rides of one"
    )


def _without_doubles(rides: Sequence[CompareRide]) -> tuple[list[CompareRide], list[Left]]:
    """Leave out rides without strides, and a recording that was handed in twice."""
    seen: dict[tuple[object, ...], int] = {}
    kept: list[CompareRide] = []
    left: list[Left] = []
    for ride in rides:
        own = ride.result
        if not own.rhythm:
            left.append(Left(ride=ride, because=w.NO_STRIDES))
            continue
        key = (own.ride.duration_s, own.ride.fix_count, *(s.t_s for s in own.strides[:40]))
        if key in seen:
            left.append(Left(ride=ride, because=w.SAME.format(seen[key])))
        else:
            seen[key] = ride.number
            kept.append(ride)
    return kept, left


def _season(rides: Sequence[CompareRide], before: int | None, line: bool) -> Season:
    first, second, split, words = _parts(rides, before, line)
    one = rides[0].result.ride
    return Season(
        horse=one.horse,
        pocket=one.pocket,
        before=tuple(first),
        after=tuple(second),
        split=split,
        split_words=words,
        remarks=tuple(_remarks(rides, split)),
    )


def _parts(
    rides: Sequence[CompareRide], before: int | None, line: bool
) -> tuple[list[CompareRide], list[CompareRide], Split, str]:
    half = len(rides) // 2
    if line:
        return list(rides[:half]), list(rides[half:]), "line", w.SPLIT["line"]
    if before is not None:
        if not 1 <= before < len(rides):
            raise CompareError(
                f"--before {before}: {len(rides)} rides of {_whose(rides[0])}; "
                f"give a number from 1 to {len(rides) - 1}"
            )
        return list(rides[:before]), list(rides[before:]), "asked", w.SPLIT["asked"].format(before)
    labels = list(dict.fromkeys(_plain(ride.result.ride.label) for ride in rides))
    if len(labels) == 2 and all(labels):
        parts = [[r for r in rides if _plain(r.result.ride.label) == one] for one in labels]
        names = [part[0].result.ride.label for part in parts]
        return parts[0], parts[1], "labels", w.SPLIT["labels"].format(*names)
    return list(rides[:half]), list(rides[half:]), "halves", w.SPLIT["halves"]


def _remarks(rides: Sequence[CompareRide], split: Split) -> list[str]:
    one = rides[0].result.ride
    out = [] if one.horse else [w.HORSE_MISSING]
    if not one.pocket:
        out.append(w.POCKET_MISSING)
    kinds = sorted({r.result.ride.kind for r in rides if r.result.ride.kind})
    if len(kinds) > 1:
        out.append(w.kinds(kinds))
    labels = {_plain(r.result.ride.label) for r in rides} - {""}
    if split == "halves" and 2 < len(labels) < len(rides):
        out.append(w.LABELS_MANY.format(len(labels)))
    return out
