"""Motion columns of a CSV file -> one stream per vector sensor, in the file's own units."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, cast

import numpy as np

from ingest.formats import Column, formats
from ingest.recording import Note
from ingest.streams import Quantity, Stream
from ingest.table import Table
from ingest.times import Stamps, Tidy, tidied

ABSURD: Final = 1e5
"""No sensor of a phone writes such a number in any unit (mg and deg/s included)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Triple:
    """Three columns that are x, y and z of one sensor.

    Attributes
    ----------
    quantity : str
    places : tuple of int
        Columns of x, y, z, in whatever order the file has them.
    unit : str
    words : tuple of str
        Header words without the axis.
    rank : int
    """

    quantity: Quantity
    places: tuple[int, int, int]
    unit: str
    words: tuple[str, ...]
    rank: int


def _key(column: Column) -> tuple[str, tuple[str, ...]]:
    turn_axes = formats().turn_axes
    words = tuple(w for w in column.words if w != column.axis and w not in turn_axes)
    return column.quantity, words


def triples(found: Sequence[Column]) -> list[Triple]:
    """Put the vector columns of a table together, three and three.

    Examples
    --------
    >>> from ingest.formats import columns
    >>> [t.places for t in triples(columns(["t", "acc_z", "acc_y", "acc_x"]))]
    [(3, 2, 1)]
    """
    vectors = formats().vectors | {"unnamed"}
    groups: dict[tuple[str, tuple[str, ...]], dict[str, Column]] = {}
    for column in found:
        if column.quantity in vectors and column.axis:
            groups.setdefault(_key(column), {}).setdefault(column.axis, column)
    whole = [
        Triple(
            quantity=cast(Quantity, quantity),
            places=(axes["x"].index, axes["y"].index, axes["z"].index),
            unit=axes["x"].unit,
            words=words,
            rank=axes["x"].rank,
        )
        for (quantity, words), axes in groups.items()
        if len(axes) == 3
    ]
    return _best_turn_rate(whole)


def _best_turn_rate(found: list[Triple]) -> list[Triple]:
    """Of several turn rates in one file, keep the one its header names most fully."""
    turn = [one for one in found if one.quantity == "turn_rate"]
    if len(turn) < 2:
        return found
    best = max(turn, key=lambda one: one.rank)
    return [one for one in found if one.quantity != "turn_rate" or one is best]


def stream_of(name: str, triple: Triple, table: Table, stamps: Stamps) -> Stream | None:
    """One sensor with its rows in order of time; None where no row has all three numbers."""
    if any(place not in table.values for place in triple.places):
        return None
    columns = [table.values[place] for place in triple.places]
    # NaN is below nothing, so that a row with one missing number is out as well.
    usable = np.abs(columns[0]) + np.abs(columns[1]) + np.abs(columns[2]) < ABSURD
    xyz = np.column_stack(columns)
    tidy = tidied(stamps.t_s, xyz, usable, spread=True)
    if len(tidy.t_s) < 2:
        return None
    whole = len(tidy.order) == len(xyz) and not tidy.disordered
    return Stream(
        name=name,
        quantity=triple.quantity,
        clock=stamps.clock,
        t_s=tidy.t_s,
        xyz=xyz if whole else xyz[tidy.order],
        unit=triple.unit,
        notes=_order_note(name, triple) + _notes(name, tidy),
    )


def _order_note(name: str, triple: Triple) -> tuple[Note, ...]:
    if triple.places == tuple(sorted(triple.places)):
        return ()
    order = ", ".join(axis for _, axis in sorted(zip(triple.places, "xyz", strict=True)))
    text = f"Axes of {name} stand in the order {order}."
    return (Note(code="axes-order", text=text),)


def _notes(name: str, tidy: Tidy) -> tuple[Note, ...]:
    notes = []
    if tidy.disordered:
        text = f"Rows of {name} stand out of the order of time ({tidy.disordered} times); sorted."
        notes.append(Note(code="rows-disordered", text=text))
    if tidy.doubled:
        text = f"{tidy.doubled} rows of {name} are there twice; counted once."
        notes.append(Note(code="rows-doubled", text=text))
    if tidy.bursty:
        text = f"Stamps of {name} come in bursts; its samples are laid evenly between them."
        notes.append(Note(code="stamps-bursty", text=text))
    return tuple(notes)
