"""What matching finds: which part of a ride is which part of the sheet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from track.path import Floats, Ints

ErrorKind = Literal["left out", "ridden again", "out of order", "wrong rein", "off the course"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MovementMatch:
    """One movement as it was ridden.

    Attributes
    ----------
    number : int
        In the sheet.
    run : int
        Which riding of the sheet, from 1.
    found : bool
    start_s, end_s : float or None, s
        None when it was not found.
    start_sd_s, end_sd_s : float or None, s
    because : str
        Why it was not found; empty when it was.
    """

    number: int
    run: int
    found: bool
    start_s: float | None = None
    start_sd_s: float | None = None
    end_s: float | None = None
    end_sd_s: float | None = None
    because: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CourseError:
    """Where the ride left the test, and where it came back.

    Attributes
    ----------
    movement : int
    run : int
    kind : str
    t_s, back_s : float, s
        When the line was left and when it was taken up again.
    x_m, y_m : float, m
        Where it was left.
    text : str
        One sentence for people.
    """

    movement: int
    run: int
    kind: ErrorKind
    t_s: float
    back_s: float
    x_m: float
    y_m: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One riding of the sheet: ``[start_s, end_s)``; ``whole`` when it reached the sheet's end."""

    number: int
    start_s: float
    end_s: float
    whole: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """A ride laid against a sheet.

    Attributes
    ----------
    t_s : array, shape (n,), s
        The path's epochs.
    s_m : array, shape (n,), m
        Distance along the ideal line at each epoch; NaN outside the test.
    run : array of int, shape (n,)
        Which riding of the sheet; 0 outside.
    runs : tuple of Run
    movements : tuple of MovementMatch
        Every movement of every run, in order.
    course_errors : tuple of CourseError
        In order of time.
    log_likelihood : float
        Of the best alignment, natural logarithm, against "no test was ridden" as 0; tempered for
        the correlation of neighbouring epochs, so that differences may be read as odds.
    """

    t_s: Floats
    s_m: Floats
    run: Ints
    runs: tuple[Run, ...]
    movements: tuple[MovementMatch, ...]
    course_errors: tuple[CourseError, ...]
    log_likelihood: float

    def time_at(self, s_m: float, run: int = 1) -> float | None:
        """When a place on the ideal line was passed; None where that part was not ridden.

        Where it was ridden more than once, the first complete passing counts.
        """
        here = np.flatnonzero((self.run == run) & np.isfinite(self.s_m))
        if here.size < 2:
            return None
        before, after = here[:-1], here[1:]
        s0, s1 = self.s_m[before], self.s_m[after]
        passed = (s0 <= s_m) & (s_m <= s1) & (after == before + 1) & (s1 - s0 < 8.0)
        if not passed.any():
            ends = [i for i in (here[0], here[-1]) if abs(self.s_m[i] - s_m) < 4.0]
            return float(self.t_s[ends[0]]) if ends else None
        i = int(np.flatnonzero(passed)[0])
        share = (s_m - s0[i]) / (s1[i] - s0[i]) if s1[i] > s0[i] else 0.0
        return float(self.t_s[before[i]] + share * (self.t_s[after[i]] - self.t_s[before[i]]))
