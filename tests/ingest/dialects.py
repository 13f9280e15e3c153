"""Ways loggers write a motion log, as data; and a writer for any combination of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import cycle, product
from pathlib import Path

import numpy as np

from tests.ingest.signals import EPOCH_S, GRAVITY_MS2, Floats, Invented, iso

NUMBERS = [(",", "."), (";", "."), ("\t", "."), (";", ","), ("\t", ","), (",", ",")]
"""Delimiter and decimal sign; a decimal comma between commas only goes with quotes."""

TIMES = {
    "epoch ns": (1e9, EPOCH_S),
    "epoch us": (1e6, EPOCH_S),
    "epoch ms": (1e3, EPOCH_S),
    "epoch s": (1.0, EPOCH_S),
    "boot ns": (1e9, 12_345.6),
    "boot ms": (1e3, 987_654.3),
    "boot s": (1.0, 4_321.0),
    "elapsed s": (1.0, 0.0),
    "iso z": (0.0, EPOCH_S),
    "iso offset": (0.0, EPOCH_S),
}
"""Factor to seconds (none for text) and the first stamp."""

ACCELERATION = {"m/s²": 1.0, "g": 1.0 / GRAVITY_MS2, "mg": 1e3 / GRAVITY_MS2}
TURN_RATE = {"rad/s": 1.0, "deg/s": 180.0 / np.pi}
UNITS = [("m/s²", "rad/s"), ("g", "rad/s"), ("m/s²", "deg/s"), ("g", "deg/s"), ("mg", "deg/s")]

WORDS = {
    "snake": ("time", "acc_{}", "lin_acc_{}", "gravity_{}", "gyro_{}"),
    "plain": ("Time", "Accelerometer {}", "Linear Acceleration {}", "Gravity {}", "Gyroscope {}"),
    "short": ("t", "a{}", "la_{}", "grav_{}", "g{}"),
    "camel": ("timestamp", "acceleration{}", "userAcceleration{}", "gravity{}", "rotationRate{}"),
    "german": (
        "Zeit",
        "Beschleunigung {}",
        "Lineare Beschleunigung {}",
        "Schwerkraft {}",
        "Drehrate {}",
    ),
    "dotted": ("timeStamp", "acc.{}", "linearAcceleration.{}", "gravity.{}", "angularVelocity.{}"),
    "dutch": (
        "tijd",
        "versnelling_{}",
        "lineaire versnelling {}",
        "zwaartekracht {}",
        "hoeksnelheid {}",
    ),
}
GRAVITY = ["in", "out", "apart"]
ORDERS = ["t xyz xyz", "t zyx zyx", "xyz xyz t", "t gyro first"]
LAYOUTS = ["wide", "split"]
DRESSING = ["plain", "bom", "crlf", "comment", "quoted", "utf-16", "unit row"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One combination."""

    delimiter: str
    decimal: str
    time: str
    acceleration: str
    turn_rate: str
    words: str
    gravity: str
    order: str
    layout: str
    dressing: str

    @property
    def name(self) -> str:
        mark = {",": "comma", ";": "semicolon", "\t": "tab"}[self.delimiter]
        parts = (self.time, self.acceleration, self.turn_rate, self.words, self.gravity)
        more = (self.order, self.layout, self.dressing)
        return "-".join((mark, "dec" + self.decimal, *parts, *more)).replace(" ", "_")


def ways() -> Iterator[Way]:
    """Every delimiter, decimal sign, form of time and pair of units; the rest taken in turn.

    Every two values of different kinds meet in some combination.
    """
    rest = cycle(product(WORDS, GRAVITY, ORDERS, LAYOUTS, DRESSING))
    skip = 29  # prime to the length of the product, 1176, and lets every pair meet
    for (delimiter, decimal), time, (acceleration, turn_rate) in product(NUMBERS, TIMES, UNITS):
        words, gravity, order, layout, dressing = next(rest)
        for _ in range(skip - 1):
            next(rest)
        yield Way(
            delimiter=delimiter,
            decimal=decimal,
            time=time,
            acceleration=acceleration,
            turn_rate=turn_rate,
            words=words,
            gravity=gravity,
            order=order,
            layout=layout,
            dressing=dressing,
        )


def _stamps(way: Way, t_s: Floats) -> list[str]:
    factor, start_s = TIMES[way.time]
    if way.time == "iso z":
        return [iso(start_s + t) for t in t_s]
    if way.time == "iso offset":
        return [iso(start_s + 7200.0 + t, zone="+02:00") for t in t_s]
    if factor >= 1e6:
        whole = round(start_s * factor)
        return [str(whole + round(t * factor)) for t in t_s]
    text = [f"{(start_s + t) * factor:.6f}" for t in t_s]
    return [word.replace(".", way.decimal) for word in text]


def _numbers(way: Way, column: Floats) -> list[str]:
    return [f"{value:.8f}".replace(".", way.decimal) for value in column]


def _sensors(way: Way, ride: Invented) -> dict[str, tuple[str, str, Floats]]:
    """Header pattern, unit and values of each sensor of this way."""
    _, total, linear, gravity, gyro = WORDS[way.words]
    scale = ACCELERATION[way.acceleration]
    rate = ride.gyro_rads * TURN_RATE[way.turn_rate]
    free = ride.accel_ms2 - ride.gravity_ms2
    found = {"gyro": (gyro, way.turn_rate, rate)}
    if way.gravity == "in":
        found["acc"] = (total, way.acceleration, ride.accel_ms2 * scale)
    else:
        found["acc"] = (linear, way.acceleration, free * scale)
    if way.gravity == "apart":
        found["gravity"] = (gravity, way.acceleration, ride.gravity_ms2 * scale)
    return found


def _columns(
    way: Way, sensors: dict[str, tuple[str, str, Floats]]
) -> list[tuple[str, str, list[str]]]:
    """Header word, unit and cells of every column but the time, in this way's order."""
    axes = "zyx" if "zyx" in way.order else "xyz"
    columns = []
    for name in sorted(sensors, reverse=way.order == "t gyro first"):
        pattern, unit, values = sensors[name]
        for axis in axes:
            word = pattern.format(axis.upper() if way.words == "camel" else axis)
            columns.append((word, unit, _numbers(way, values[:, "xyz".index(axis)])))
    return columns


def _written(way: Way, t_s: Floats, sensors: dict[str, tuple[str, str, Floats]]) -> bytes:
    columns = _columns(way, sensors)
    time = (WORDS[way.words][0], "", _stamps(way, t_s))
    columns = [*columns, time] if way.order.endswith(" t") else [time, *columns]
    unit_row = way.dressing == "unit row"
    # Gravity left out, nothing in the numbers tells the unit: then the header does.
    in_header = way.gravity == "out" and not unit_row
    header = [f"{word} [{unit}]" if in_header and unit else word for word, unit, _ in columns]
    rows = [header, *([[unit for _, unit, _ in columns]] if unit_row else [])]
    rows += [list(row) for row in zip(*(cells for _, _, cells in columns), strict=True)]
    quote = way.dressing == "quoted" or way.decimal == way.delimiter
    lines = [way.delimiter.join(f'"{cell}"' if quote else cell for cell in row) for row in rows]
    if way.dressing == "comment":
        lines = ["# logged at home", "# all is well", *lines[:20], "# a remark", *lines[20:]]
    text = ("\r\n" if way.dressing == "crlf" else "\n").join(lines) + "\n"
    if way.dressing == "utf-16":
        return text.encode("utf-16")
    return text.encode("utf-8-sig" if way.dressing == "bom" else "utf-8")


def write(way: Way, ride: Invented, folder: Path) -> list[Path]:
    """Write the motion of a ride in one way; the files, in an order that means nothing."""
    sensors = _sensors(way, ride)
    parts = [sensors] if way.layout == "wide" else [{name: sensors[name]} for name in sensors]
    paths = []
    for number, part in enumerate(parts):
        path = folder / f"log{number}.csv"
        path.write_bytes(_written(way, ride.t_s, part))
        paths.append(path)
    return paths
