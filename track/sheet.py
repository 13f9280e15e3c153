"""The test sheet as the rider wrote it: marks, terms and changes, before anything is laid out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from track.arena import Size

Level = Literal["walk and trot", "first canter", "ten metre"]
Rein = Literal["left", "right"]
GaitName = Literal["halt", "walk", "trot", "canter"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    """One mark of the sheet.

    Attributes
    ----------
    number : int
        Its place in the sheet, from 1.
    ride : tuple of str
        Terms in the order ridden, in canonical words; empty where ``of`` is given.
    change : tuple of str
        Changes of gait in riding order, in canonical words.
    coefficient : int
    show : str
        What is to be shown, for example ``"stretch"`` or ``"lengthened strides from M to K"``.
    text : str
        For people.
    of : tuple of int
        Numbers of the movements whose transitions this mark is for.
    """

    number: int
    ride: tuple[str, ...] = ()
    change: tuple[str, ...] = ()
    coefficient: int = 1
    show: str = ""
    text: str = ""
    of: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A test sheet: what is to be ridden, in words."""

    title: str
    arena: Size
    enter: GaitName
    level: Level
    movements: tuple[Movement, ...]
