"""What the rider does, by place: gaits, changes of gait, paces, mishaps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from track.sheet import GaitName, Rein


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A gait from some place on; a halt stands there for ``stand_s``.

    ``after_halt`` marks the step that moves off from a halt at the same place.
    """

    s_m: float
    gait: GaitName
    lead: Rein | None = None
    stand_s: float = 0.0
    after_halt: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Onset:
    """One change of gait as it was ridden.

    Attributes
    ----------
    from_gait, to_gait : str
    s_m : float, m
        Ridden distance at which the new gait begins.
    moving_off : bool
        From a halt: the instant is the end of the standing.
    between_m : float or None, m
        Where the old gait ended, when strides of neither lie between.
    movement, change : int or None
        Number of the movement and of its change, from 1; None outside the sheet.
    run : int
    window_m : (float, float) or None, m
        Ridden distance of the letter (equal) or of the window.
    """

    from_gait: GaitName
    to_gait: GaitName
    s_m: float
    moving_off: bool = False
    between_m: float | None = None
    movement: int | None = None
    change: int | None = None
    run: int = 1
    window_m: tuple[float, float] | None = None

    @property
    def off_place_m(self) -> float | None:
        """Onset against its letter or window along the ridden line, negative = early."""
        if self.window_m is None:
            return None
        low, high = self.window_m
        return self.s_m - low if self.s_m < low else max(self.s_m - high, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """Speed and stride rate against the ordinary, over a stretch of the ridden line."""

    start_m: float
    end_m: float
    speed_factor: float
    rate_factor: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Mishap:
    """Something that was not planned: strides in another gait, a stumble, a spook."""

    kind: Literal["break", "jog", "stumble", "spook"]
    start_m: float
    end_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Everything the rider does, by place."""

    steps: tuple[Step, ...]
    onsets: tuple[Onset, ...]
    paces: tuple[Pace, ...]
    mishaps: tuple[Mishap, ...] = ()
