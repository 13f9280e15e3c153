"""What a header word means: ``formats.toml`` read once, and headers laid against it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Final

_BRACKETS: Final = re.compile(r"[(\[{<]([^)\]}>]*)[)\]}>]")
_CAPITALS: Final = re.compile(r"(?<=[a-z0-9])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])")
_WORDS: Final = re.compile(r"[^\W_]+|°")
_NOT_IN_UNITS: Final = re.compile(r"[\s/_^*.·\-]")

Phrase = tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a table, as far as its header tells.

    Attributes
    ----------
    index : int
        Place in the row, from 0.
    quantity : str
        A name among ``[quantities]`` of the format file.
    axis : {"x", "y", "z", ""}
    unit : str
        A name among ``[units.DIMENSION]``, or empty where the header does not say.
    words : tuple of str
        The words of the header; columns of one sensor begin alike.
    rank : int
        How many words named the quantity: the more, the surer.
    spare : tuple of str
        Words that named neither quantity, axis nor unit.
    """

    index: int
    quantity: str
    axis: str = ""
    unit: str = ""
    words: Phrase = ()
    rank: int = 0
    spare: Phrase = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Formats:
    """The format file, arranged for looking up."""

    phrases: dict[Phrase, str]
    dimension: dict[str, str]
    vectors: frozenset[str]
    spellings: dict[str, str]
    fillers: frozenset[str]
    axes: frozenset[str]
    turn_axes: dict[str, str]
    unit_of: dict[str, dict[str, str]]
    factor: dict[str, dict[str, float]]
    gpx: dict[str, tuple[str, ...]]


@cache
def formats() -> Formats:
    """The shipped format file."""
    raw = tomllib.loads(files("ingest").joinpath("formats.toml").read_text(encoding="utf-8"))
    quantities = raw["quantities"]
    units = raw["units"]
    return Formats(
        phrases={
            tuple(words.split()): name
            for name, entry in quantities.items()
            for words in entry["words"]
        },
        dimension={name: entry["dimension"] for name, entry in quantities.items()},
        vectors=frozenset(name for name, entry in quantities.items() if entry.get("vector")),
        spellings=raw["spellings"],
        fillers=frozenset(raw["words"]["fillers"]),
        axes=frozenset(raw["words"]["axes"]),
        turn_axes=raw["turn_rate_axes"],
        unit_of={
            dimension: {text: unit for unit, entry in table.items() for text in entry["spellings"]}
            for dimension, table in units.items()
        },
        factor={
            dimension: {unit: float(entry["factor"]) for unit, entry in table.items()}
            for dimension, table in units.items()
        },
        gpx={name: tuple(tags) for name, tags in raw["gpx"].items()},
    )


def factor(dimension: str, unit: str) -> float:
    """What one ``unit`` is in ours.

    Examples
    --------
    >>> factor("acceleration", "g")
    9.80665
    """
    return formats().factor[dimension][unit]


def unit_named(dimension: str, text: str) -> str:
    """The unit a spelling means in a dimension, or an empty string.

    Examples
    --------
    >>> unit_named("acceleration", "m/s^2"), unit_named("turn_rate", "°/s")
    ('ms2', 'degs')
    """
    squashed = _NOT_IN_UNITS.sub("", text.strip().casefold())
    return formats().unit_of.get(dimension, {}).get(squashed, "")


def words_of(header: str) -> Phrase:
    """Split a header, or a file's name, into lower-case words.

    Examples
    --------
    >>> words_of("accelerometerAccelerationX"), words_of("Gyr.Y")
    (('accelerometer', 'acceleration', 'x'), ('gyr', 'y'))
    """
    squashed = re.sub(r"[\W_]", "", header).casefold()
    text = formats().spellings.get(squashed, header)
    found = (part for word in _WORDS.findall(text) for part in _CAPITALS.split(word))
    return tuple(piece for part in found for piece in _unglued(part.casefold()))


def _unglued(word: str) -> Phrase:
    """``gyrox`` is ``gyro x``; ``ax`` is ``a x``; ``max`` stays one word."""
    known = formats()
    stem, last = word[:-1], word[-1:]
    if stem and last in known.axes and (word,) not in known.phrases:
        quantity = known.phrases.get((stem,), "")
        if quantity in known.vectors:
            return stem, last
    return (word,)


def _quantity(words: Phrase) -> tuple[str, int, int]:
    """Quantity, first word and length of the best run of words; a time word goes before all."""
    best = ("", 0, 0)
    best_key = (False, 0, 0)
    known = formats()
    for start in range(len(words)):
        for stop in range(start + 1, len(words) + 1):
            name = known.phrases.get(words[start:stop], "")
            key = (name == "time", stop - start, sum(map(len, words[start:stop])))
            if name and key > best_key:
                best, best_key = (name, start, stop - start), key
    return best


def _unit(dimension: str, bracketed: Sequence[str], spare: Phrase) -> tuple[str, Phrase]:
    """Unit from the brackets, else from the words left over, and the words it did not need."""
    for text in bracketed:
        unit = unit_named(dimension, text)
        if unit:
            return unit, spare
    for size in (3, 2, 1):
        for start in range(len(spare) - size + 1):
            unit = unit_named(dimension, "".join(spare[start : start + size]))
            if unit:
                return unit, spare[:start] + spare[start + size :]
    return "", spare


def column(index: int, header: str, assumed: str = "") -> Column | None:
    """Recognise one header.

    Parameters
    ----------
    index : int
        Place of the column.
    header : str
        The word as it stands in the file.
    assumed : str
        Quantity of a header that names only an axis, for example from the file's name.

    Returns
    -------
    Column or None
        None where the header says nothing of use.

    Examples
    --------
    >>> found = column(2, "Acceleration x (m/s^2)")
    >>> (found.quantity, found.axis, found.unit)
    ('acceleration', 'x', 'ms2')
    """
    known = formats()
    bracketed = _BRACKETS.findall(header)
    words = words_of(_BRACKETS.sub(" ", header))
    quantity, start, length = _quantity(words)
    spare = words[:start] + words[start + length :]
    axis = next((word for word in reversed(spare) if word in known.axes), "")
    if quantity == "turn_rate" and not axis:
        axis = next((known.turn_axes[word] for word in spare if word in known.turn_axes), "")
    spare = tuple(word for word in spare if word != axis and word not in known.turn_axes)
    if not quantity and axis:
        quantity = assumed or "unnamed"
    unit, spare = _unit(known.dimension.get(quantity, "none"), bracketed, spare)
    if quantity == "unnamed" and bracketed:
        quantity, unit = _quantity_of_unit(bracketed[0])
    spare = tuple(word for word in spare if word not in known.fillers)
    short = length == 1 and len(words[start]) == 1
    if not quantity or (short and spare) or (quantity in known.vectors and not axis):
        return None
    return Column(
        index=index, quantity=quantity, axis=axis, unit=unit, words=words, rank=length, spare=spare
    )


def _quantity_of_unit(text: str) -> tuple[str, str]:
    """What a bare ``x [rad/s]`` measures, from its unit."""
    for quantity, dimension in (("turn_rate", "turn_rate"), ("acceleration", "acceleration")):
        unit = unit_named(dimension, text)
        if unit:
            return quantity, unit
    return "unnamed", ""


def columns(header: Sequence[str], *, file_name: str = "") -> tuple[Column, ...]:
    """Recognise the headers of a table; the file's name helps only where a header is a bare axis.

    Examples
    --------
    >>> [c.quantity for c in columns(["time", "z", "y"], file_name="Gyroscope.csv")]
    ['time', 'turn_rate', 'turn_rate']
    """
    assumed = quantity_of_file(file_name)
    found = (column(index, word, assumed) for index, word in enumerate(header))
    return tuple(one for one in found if one is not None)


def quantity_of_file(file_name: str) -> str:
    """Vector quantity, or ``"ignored"``, that a file's name speaks of; empty where it does not.

    Examples
    --------
    >>> quantity_of_file("TotalAcceleration.csv"), quantity_of_file("ride.csv")
    ('acceleration', '')
    """
    known = formats()
    words = tuple(word for word in words_of(file_name.rsplit(".", 1)[0]) if len(word) > 1)
    quantity, _, _ = _quantity(words)
    return quantity if quantity in known.vectors or quantity == "ignored" else ""
