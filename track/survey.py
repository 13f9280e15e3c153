"""An arena from a walk round its boards, or from fixes taken at named letters and corners."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from ingest.columns import LAT_DEG, LON_DEG, NAME
from ingest.errors import ArenaError
from ingest.recording import Recording
from track.arena import HALF_LENGTH_M, HALF_WIDTH_M, LETTERS, SIZES, Arena, Size
from track.fixes import clean
from track.follow import follow
from track.geodesy import LocalPlane
from track.path import Estimate, Floats
from track.placement_prior import DAY_ERROR_M
from track.survey_checks import Check, letter_checks, walk_checks
from track.survey_sides import fitted, on_sides, placed, thinned
from track.survey_walk import ROUND_M, SLOW_ERROR_M, SLOW_ERROR_S, WALKER_OFFSET_M, rectangles

FIX_M: Final = 2.0
"""Error of a single fix per axis: repeats differ by 0.4-2.2 m [measured]."""
CORNERS: Final = {"AK": (-1, -1), "AF": (1, -1), "CH": (-1, 1), "CM": (1, 1)}
"""Corners by the letters on either side of them, as signs of x and y."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """An arena, how it was found and how well it fits.

    Attributes
    ----------
    arena : Arena
    width_m, length_m, diagonal_m : Estimate
        As measured: tape values are 20, 40 or 60, and 44.72 or 63.25.
    ends : {"known", "unknown"}
    log_odds : float or None
        Of the size against the other one; None when it was given or the letters tell.
    checks : tuple of Check
        Sides and diagonals against the tape.
    """

    arena: Arena
    width_m: Estimate
    length_m: Estimate
    diagonal_m: Estimate
    ends: Literal["known", "unknown"]
    log_odds: float | None
    checks: tuple[Check, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Registration:
    """A rigid move that takes one set of points onto another.

    Attributes
    ----------
    rotation_rad : float, rad
    shift_m : array, shape (2,), m
    mean_square_m2 : float
    mirrored_m2 : float
        What a mirror image would leave: far smaller means that left and right were mixed up.
    """

    rotation_rad: float
    shift_m: Floats
    mean_square_m2: float
    mirrored_m2: float


def register(here_m: Floats, there_m: Floats) -> Registration:
    """Rigid registration in the plane without scale (Umeyama 1991, eq. 40-42 with c = 1).

    Parameters
    ----------
    here_m, there_m : array, shape (n, 2), m

    Examples
    --------
    >>> import numpy as np
    >>> moved = register(np.array([[0.0, 0.0], [1.0, 0.0]]), np.array([[1.0, 0.0], [1.0, 1.0]]))
    >>> round(np.degrees(moved.rotation_rad), 6), moved.shift_m.round(6).tolist()
    (90.0, [1.0, 0.0])
    """
    mean_here, mean_there = here_m.mean(axis=0), there_m.mean(axis=0)
    a, b = here_m - mean_here, there_m - mean_there
    za, zb = a[:, 0] + 1j * a[:, 1], b[:, 0] + 1j * b[:, 1]
    total = float((np.abs(za) ** 2 + np.abs(zb) ** 2).sum())
    turn = np.sum(np.conj(za) * zb)
    angle = float(np.angle(turn))
    rotation = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    return Registration(
        rotation_rad=angle,
        shift_m=mean_there - rotation @ mean_here,
        mean_square_m2=max(total - 2 * abs(turn), 0.0) / len(za),
        mirrored_m2=max(total - 2 * abs(np.sum(za * zb)), 0.0) / len(za),
    )


def survey(
    recording: Recording, *, size: Size | None = None, start: str | None = None, name: str = ""
) -> Survey:
    """Find an arena from named fixes where there are at least three, else from a walked lap.

    Parameters
    ----------
    recording : Recording
    size : {"20x40", "20x60"}, optional
    start : {"A", "C"}, optional
        The end at which the walk began.
    name : str

    Raises
    ------
    ArenaError
        No arena is to be seen in it.
    """
    places = _named_places(recording)
    found = (
        _from_letters(*places, size) if len(places[0]) >= 3 else _from_walk(recording, size, start)
    )
    return replace(found, arena=replace(found.arena, name=name))


def _named_places(recording: Recording) -> tuple[list[str], Floats]:
    """Letters and corners among the waypoints, with latitude and longitude."""
    if recording.waypoints is None:
        return [], np.empty((0, 2))
    names, places = [], []
    for row in recording.waypoints.to_dict("records"):
        called = "".join(sorted(str(row[NAME]).strip().upper()))
        if called in LETTERS["20x60"] or called in CORNERS:
            names.append(called)
            places.append((float(row[LAT_DEG]), float(row[LON_DEG])))
    return names, np.array(places).reshape(-1, 2)


def _letter_place(called: str, size: Size) -> tuple[float, float] | None:
    if called in CORNERS:
        x, y = CORNERS[called]
        return x * HALF_WIDTH_M, y * HALF_LENGTH_M[size]
    return LETTERS[size].get(called)


def _from_letters(names: list[str], places: Floats, size: Size | None) -> Survey:
    plane = LocalPlane(lat_deg=float(places[:, 0].mean()), lon_deg=float(places[:, 1].mean()))
    earth = np.stack(plane.to_plane(places[:, 0], places[:, 1]), axis=1)
    fits: dict[Size, tuple[Registration, Floats]] = {}
    for tried in (size,) if size else SIZES:
        letters = [_letter_place(called, tried) for called in names]
        if all(place is not None for place in letters):
            there = np.array(letters, dtype=np.float64)
            fits[tried] = (register(there, earth), there)
    if not fits:
        raise ArenaError(
            f"waypoints: {', '.join(names)} are not all letters of {size or 'one size'}"
        )
    best = min(fits, key=lambda tried: fits[tried][0].mean_square_m2)
    fit, there = fits[best]
    if fit.mean_square_m2 > 36.0 and fit.mirrored_m2 < fit.mean_square_m2 / 4:
        raise ArenaError(
            "waypoints: the letters run the wrong way round; facing C, B is on the right: name "
            "them anew"
        )
    if fit.mean_square_m2 > 64.0:
        raise ArenaError(
            f"waypoints: off their places by {np.sqrt(fit.mean_square_m2):.0f} m on average; "
            "check names and size"
        )
    odds = [
        (f.mean_square_m2 - fit.mean_square_m2) * len(names) / (2 * FIX_M**2)
        for f, _ in fits.values()
    ]
    lat, lon = plane.to_earth(*fit.shift_m)
    lever = float((((there - there.mean(axis=0)) ** 2).sum()) ** 0.5)
    noise = max(FIX_M, float(np.sqrt(fit.mean_square_m2)))
    arena = Arena(
        size=best,
        x_lat_deg=float(lat),
        x_lon_deg=float(lon),
        bearing_deg=float(-np.degrees(fit.rotation_rad)) % 360.0,
        sd_m=noise / float(np.sqrt(len(names))),
        bearing_sd_deg=float(np.degrees(noise / lever)),
    )
    across, along = _spans(earth, fit.rotation_rad, there, best)
    return Survey(
        arena=arena,
        width_m=across,
        length_m=along,
        diagonal_m=_hypot(across, along),
        ends="known",
        log_odds=max(odds) if len(fits) > 1 else None,
        checks=letter_checks(names, earth, there, noise),
    )


def _spans(
    earth: Floats, rotation_rad: float, there: Floats, size: Size
) -> tuple[Estimate, Estimate]:
    """Width and length by the scale of the fixes along each axis of the arena."""
    cos, sin = np.cos(rotation_rad), np.sin(rotation_rad)
    turned = np.stack(
        [cos * earth[:, 0] + sin * earth[:, 1], -sin * earth[:, 0] + cos * earth[:, 1]]
    )
    out: list[Estimate] = []
    for seen, asked in zip(turned, there.T, strict=True):
        off = asked - asked.mean()
        power = float(off @ off)
        full = 2 * (HALF_LENGTH_M[size] if out else HALF_WIDTH_M)
        if power < 1.0:
            out.append(Estimate(value=float("nan"), sd=float("inf")))
        else:
            scale = float(off @ seen) / power
            out.append(Estimate(value=full * scale, sd=full * FIX_M / float(np.sqrt(power))))
    return out[0], out[1]


def _from_walk(recording: Recording, size: Size | None, start: str | None) -> Survey:
    if recording.fixes is None:
        raise ArenaError("walk: there are no positions in it; record them and walk again")
    fixes = clean(recording.fixes)
    found = rectangles(fixes.east_m, fixes.north_m, (size,) if size else SIZES)
    if found[0].mean_square_m2 > ROUND_M**2:
        return _from_ride(recording, size, start)
    best, lap = found[0], max(float(fixes.t_s[-1] - fixes.t_s[0]) / SLOW_ERROR_S, 2.0)
    walk = thinned(fixes.t_s, fixes.east_m, fixes.north_m, best.size)
    fit = fitted(walk, np.array([best.rotation_rad, *best.centre_m]))
    lat, lon = fixes.plane.to_earth(fit.pose[1], fit.pose[2])
    x, y = placed(walk, fit.pose)
    swap = start is not None and (float(y[:10].mean()) > 0) == (start.upper() == "A")
    across, along = _between_sides(x, y, best.size)
    centre_sd_m = float(np.sqrt((fit.covariance[1, 1] + fit.covariance[2, 2]) / 2))
    return Survey(
        arena=Arena(
            size=best.size,
            x_lat_deg=float(lat),
            x_lon_deg=float(lon),
            bearing_deg=(float(np.degrees(fit.pose[0])) + 180.0 * swap) % 360.0,
            sd_m=float(np.hypot(centre_sd_m, DAY_ERROR_M)),
            bearing_sd_deg=float(np.degrees(np.sqrt(fit.covariance[0, 0]))),
        ),
        width_m=across,
        length_m=along,
        diagonal_m=_hypot(across, along),
        ends="known" if start else "unknown",
        log_odds=(found[1].mean_square_m2 - best.mean_square_m2) * lap / SLOW_ERROR_M**2
        if len(found) > 1
        else None,
        checks=walk_checks(walk, fit.pose, on_sides(walk, fit.pose), fit.wander_m),
    )


def _from_ride(recording: Recording, size: Size | None, start: str | None) -> Survey:
    """Not a plain walk round: the arena that a whole ride shows."""
    track = follow(recording, size=size)
    if track.path is None or track.placement is None:
        why = track.notes[-1].text if track.notes else "There are no positions."
        raise ArenaError(f"walk: {why}")
    path, arena = track.path, track.placement.arena
    if start is not None:
        moving = np.flatnonzero(path.speed_ms > 0.3)
        first = float(path.y_m[moving[:10]].mean()) if len(moving) else float(path.y_m[0])
        if (first > 0) == (start.upper() == "A"):
            arena = replace(arena, bearing_deg=(arena.bearing_deg + 180.0) % 360.0)
    across, along = _between_sides(path.x_m, path.y_m, arena.size)
    rival = track.placement.runner_up
    return Survey(
        arena=arena,
        width_m=across,
        length_m=along,
        diagonal_m=_hypot(across, along),
        ends="known" if start else "unknown",
        log_odds=rival.log_odds if rival and rival.size != arena.size else None,
    )


def _between_sides(x: Floats, y: Floats, size: Size) -> tuple[Estimate, Estimate]:
    """Distance between opposite sides as walked, the walker's distance from the boards added."""
    out: list[Estimate] = []
    half_x, half_y = HALF_WIDTH_M, HALF_LENGTH_M[size]
    for place, half, other, half_other in ((x, half_x, y, half_y), (y, half_y, x, half_x)):
        near = (np.abs(place) > half - 4.0) & (np.abs(other) < half_other - 3.0)
        sides = [place[near & (np.sign(place) == sign)] for sign in (1, -1)]
        if min(len(side) for side in sides) == 0:
            out.append(Estimate(value=float("nan"), sd=float("inf")))
        else:
            span = float(np.median(sides[0]) - np.median(sides[1])) + 2 * WALKER_OFFSET_M
            out.append(Estimate(value=span, sd=SLOW_ERROR_M * float(np.sqrt(2.0))))
    return out[0], out[1]


def _hypot(across: Estimate, along: Estimate) -> Estimate:
    value = float(np.hypot(across.value, along.value))
    return Estimate(value=value, sd=float(np.hypot(across.sd, along.sd)) / float(np.sqrt(2)))
