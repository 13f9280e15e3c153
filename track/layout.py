"""A test sheet laid out in metres: the line a rider's body can ride, and what is asked where."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from track.path import Floats
from track.sheet import GaitName, Rein, Sheet

StretchKind = Literal[
    "line", "track", "turn", "circle", "half circle", "return", "diagonal", "serpentine", "loop"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """One term of ``ride``, laid out.

    Attributes
    ----------
    kind : str
    text : str
        The term in canonical words.
    filled : bool
        True where the sheet left it out and the layout went on along the track.
    start_m, end_m : float, m
        Along the whole test's line.
    rein : {"left", "right"} or None
        Of the figure, or of the track it lies on; None on a straight through the middle.
    nominal_m : float or None, m
        Board-to-board diameter of a circle or half circle, depth of a loop.
    centre_m : (float, float) or None, m
        Centre of a circle or half circle of the rider's body line.
    radius_m : float or None, m
        Radius of the rider's body line (half the target diameter).
    loops : int
        Number of loops of a serpentine, else 0.
    width_m : float or None, m
        Extent of the rider's body line across the heading at the start of a circle or half
        circle; the span of one loop of a serpentine.
    arc_m : (float, float) or None, m
        Where the whole arc of a turn begins and ends (the stretch itself ends at its middle).
    straight_m : (float, float) or None, m
        The straight run within a line, diagonal or return.
    """

    kind: StretchKind
    text: str
    start_m: float
    end_m: float
    filled: bool = False
    rein: Rein | None = None
    nominal_m: float | None = None
    centre_m: tuple[float, float] | None = None
    radius_m: float | None = None
    loops: int = 0
    width_m: float | None = None
    arc_m: tuple[float, float] | None = None
    straight_m: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """One ridden corner of the arena."""

    x_m: float
    y_m: float
    start_m: float
    end_m: float
    rein: Rein


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One transition asked for.

    Attributes
    ----------
    text : str
        In canonical words, for example ``"walk between C and H"``.
    from_gait, to_gait : str
        ``"free walk"`` counts as walk: ``from_gait == to_gait`` then.
    lead : {"left", "right"} or None
        Of a canter.
    free : bool
        True for a free walk.
    where : {"at", "between", "from", "part"}
        ``"part"`` is a window such as the first half of a circle.
    place : str
        Letter(s) or words, for people: ``"C"``, ``"C and H"``.
    start_m, end_m : float, m
        Window along the line; equal for ``"at"``.
    via : {"walk", "trot"} or None
    via_steps : (int, int) or None
        ``walk for 3-5 steps at X``.
    halt_s : float or None, s
        Asked standing time.
    """

    text: str
    from_gait: GaitName
    to_gait: GaitName
    where: Literal["at", "between", "from", "part"]
    place: str
    start_m: float
    end_m: float
    lead: Rein | None = None
    free: bool = False
    via: Literal["walk", "trot"] | None = None
    via_steps: tuple[int, int] | None = None
    halt_s: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MovementLine:
    """One movement laid out; ``start_m == end_m`` for a mark that has no ride of its own.

    ``show_m`` is where something is to be shown (the sheet's ``show``), None where nothing is.
    """

    number: int
    start_m: float
    end_m: float
    stretches: tuple[Stretch, ...]
    changes: tuple[Change, ...]
    show_m: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """The line's nearest approach to a letter, as it happens along the ride."""

    letter: str
    s_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The whole test in metres.

    Attributes
    ----------
    s_m : array, shape (n,), m
        Distance along the line, evenly spaced by 0.1 m (the last step may be shorter).
    x_m, y_m : array, shape (n,), m
        Arena frame, the line of the rider's body.
    heading_rad : array, shape (n,), rad
        Unwrapped.
    curvature_1m : array, shape (n,), 1/m
        Left positive.
    gait : array of str, shape (n,)
        Gait asked for at each point; a change "between" takes effect in the window's middle.
    movements : tuple of MovementLine
    corners : tuple of Corner
    passages : tuple of Passage
    """

    sheet: Sheet
    track_offset_m: float
    corner_radius_m: float
    s_m: Floats
    x_m: Floats
    y_m: Floats
    heading_rad: Floats
    curvature_1m: Floats
    gait: tuple[GaitName, ...]
    movements: tuple[MovementLine, ...]
    corners: tuple[Corner, ...]
    passages: tuple[Passage, ...]

    @property
    def length_m(self) -> float:
        """Length of the whole line, metres."""
        return float(self.s_m[-1])
