"""Small sound recordings, and ways to spoil them; everything from one seeded generator."""

from __future__ import annotations

import gzip
import io
import re
import zipfile
from collections.abc import Callable
from functools import cache
from typing import Final

import numpy as np

from tests.ingest.signals import EPOCH_S, Floats, csv_text, gpx_text, invented, iso

Rng = np.random.Generator
Mutation = Callable[[bytes, Rng], bytes]

RIDE: Final = invented(duration_s=60.0, rate_hz=20.0)
SENSORS: Final = ["acc_x", "acc_y", "acc_z", "gyro_x", "gyro_y", "gyro_z"]
_NUMBER: Final = re.compile(rb"(?<![\w.])-?\d+(\.\d+)?")
_ODD: Final = (
    b"NaN", b"inf", b"-inf", b"1e300", b"-1e300", b"", b"-1", b"0", b"oops", b"9" * 40, b"1e-320",
    b"2026-13-45T99:99:99Z", b"0x1F", b"\xff\xfe", b"#", b'"', b"1,5", b"\x00",
    b"-9223372036854775809",
)  # fmt: skip


def _zip(files: dict[str, bytes]) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return packed.getvalue()


def _wide(times: list[str], delimiter: str = ",", decimal: str = ".", unit: str = "") -> bytes:
    names = [f"{name}{unit}" if name.startswith("gyro") else name for name in SENSORS]
    rows = [delimiter.join(["time", *names])]
    for time, values in zip(times, np.hstack([RIDE.accel_ms2, RIDE.gyro_rads]), strict=True):
        cells = [f"{value:.5f}".replace(".", decimal) for value in values]
        rows.append(delimiter.join([time, *cells]))
    return "\n".join(rows).encode()


def _location() -> Floats:
    return np.column_stack([RIDE.lat_deg, RIDE.lon_deg, RIDE.speed_ms, RIDE.course_deg])


@cache
def seeds() -> dict[str, bytes]:
    """Sound recordings by file name, one of each kind."""
    place = ["time", "latitude", "longitude", "speed", "bearing"]
    seconds = [f"{EPOCH_S + t:.3f}" for t in RIDE.t_s]
    gpx = gpx_text(RIDE).encode()
    location = csv_text(place, [EPOCH_S + RIDE.fix_s, *_location().T]).encode()
    acc = csv_text(["time", "z", "y", "x"], [EPOCH_S + RIDE.t_s, *RIDE.accel_ms2.T[::-1]]).encode()
    gyro = csv_text(["time", "z", "y", "x"], [EPOCH_S + RIDE.t_s, *RIDE.gyro_rads.T[::-1]]).encode()
    return {
        "ride.gpx": gpx,
        "wide.csv": _wide(seconds),
        "german.csv": _wide([s.replace(".", ",") for s in seconds], ";", ","),
        "iso.csv": _wide([iso(EPOCH_S + t) for t in RIDE.t_s], unit=" (rad/s)"),
        "ns.csv": _wide([f"{EPOCH_S + t:.9f}".replace(".", "") for t in RIDE.t_s], unit="_rads"),
        "Location.csv": location,
        "wide.csv.gz": gzip.compress(_wide(seconds)),
        "ride.zip": _zip({"Accelerometer.csv": acc, "Gyroscope.csv": gyro, "ride.gpx": gpx}),
    }


def flip_bytes(data: bytes, rng: Rng) -> bytes:
    """A few bytes become others."""
    out = bytearray(data)
    for place in rng.integers(0, max(len(out), 1), int(rng.integers(1, 30))):
        if out:
            out[place] = int(rng.integers(0, 256))
    return bytes(out)


def cut(data: bytes, rng: Rng) -> bytes:
    """The end, or a piece of the middle, is lost."""
    first, last = sorted(rng.integers(0, len(data) + 1, 2))
    return data[:first] if rng.random() < 0.5 else data[:first] + data[last:]


def insert_bytes(data: bytes, rng: Rng) -> bytes:
    """Random bytes in between."""
    place = int(rng.integers(0, len(data) + 1))
    return data[:place] + rng.bytes(int(rng.integers(1, 200))) + data[place:]


def swap_lines(data: bytes, rng: Rng) -> bytes:
    """Lines change places, or all are reversed."""
    lines = data.split(b"\n")
    if rng.random() < 0.2:
        return b"\n".join(lines[::-1])
    for _ in range(int(rng.integers(1, 20))):
        a, b = rng.integers(0, len(lines), 2)
        lines[a], lines[b] = lines[b], lines[a]
    return b"\n".join(lines)


def repeat_lines(data: bytes, rng: Rng) -> bytes:
    """Some lines stand there twice or many times."""
    lines = data.split(b"\n")
    place = int(rng.integers(0, len(lines)))
    return b"\n".join(lines[:place] + lines[place : place + 5] * int(rng.integers(2, 60)) + lines)


def drop_column(data: bytes, rng: Rng) -> bytes:
    """One column is missing from all rows, or only from the header."""
    lines = data.split(b"\n")
    mark = b";" if b";" in lines[0] else b","
    place = int(rng.integers(0, 8))
    rows = [line.split(mark) for line in lines]
    for row in rows[: 1 if rng.random() < 0.3 else None]:
        if place < len(row):
            del row[place]
    return b"\n".join(mark.join(row) for row in rows)


def odd_numbers(data: bytes, rng: Rng) -> bytes:
    """Numbers become what is none, or far too large."""
    share = float(rng.choice([0.001, 0.01, 0.2, 1.0]))
    odd = _ODD[int(rng.integers(0, len(_ODD)))]

    def spoilt(found: re.Match[bytes]) -> bytes:
        return odd if rng.random() < share else found.group()

    return _NUMBER.sub(spoilt, data)


def same_numbers(data: bytes, rng: Rng) -> bytes:
    """A whole column has one value throughout."""
    lines = data.split(b"\n")
    mark = b";" if b";" in lines[0] else b","
    place = int(rng.integers(0, 8))
    rows = [line.split(mark) for line in lines]
    for row in rows[1:]:
        if place < len(row):
            row[place] = b"3"
    return b"\n".join(mark.join(row) for row in rows)


def reverse_times(data: bytes, rng: Rng) -> bytes:
    """The rows run backwards, or the stamps jump."""
    lines = data.split(b"\n")
    if rng.random() < 0.5:
        return b"\n".join([lines[0], *lines[:0:-1]])
    shift = rng.integers(-(10**9), 10**9, len(lines))
    jumped = [str(shift[k]).encode() + line[10:] for k, line in enumerate(lines[1:])]
    return b"\n".join([lines[0], *jumped])


def no_header(data: bytes, rng: Rng) -> bytes:
    """The first line is lost, or becomes nonsense."""
    lines = data.split(b"\n")
    return b"\n".join(lines[1:] if rng.random() < 0.5 else [rng.bytes(40), *lines[1:]])


def other_delimiter(data: bytes, rng: Rng) -> bytes:
    """Every comma becomes something else."""
    return data.replace(b",", rng.choice([b";", b"\t", b"|", b" ", b",,"]))


def endless_line(data: bytes, rng: Rng) -> bytes:
    """All on one line, or a line of a million letters."""
    if rng.random() < 0.5:
        return data.replace(b"\n", b",")
    place = int(rng.integers(0, len(data) + 1))
    return data[:place] + b"7" * 1_000_000 + data[place:]


def other_encoding(data: bytes, rng: Rng) -> bytes:
    """The same text in another encoding, or with a mark it does not deserve."""
    text = data.decode("latin-1")
    kind = int(rng.integers(0, 4))
    if kind == 0:
        return text.encode("utf-16")
    return (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")[kind - 1] + data


def entity_bomb(data: bytes, rng: Rng) -> bytes:
    """A document type with entities that would grow without end."""
    levels = b"".join(b'<!ENTITY e%d "%s">' % (k, b"&e%d;" % (k - 1) * 10) for k in range(1, 12))
    bomb = b'<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY e0 "x">' + levels + b"]>"
    body = data[data.find(b"<gpx") :] if b"<gpx" in data else b"<gpx>&e11;</gpx>"
    spoilt = bomb + body.replace(b"2026", b"&e11;", 1)
    return spoilt.decode("latin-1").encode("utf-16") if rng.random() < 0.2 else spoilt


def deep_elements(data: bytes, rng: Rng) -> bytes:
    """Elements nested deeper than anybody writes them."""
    depth = int(rng.integers(10, 200_000))
    inside = b"<a>" * depth + b"</a>" * (depth if rng.random() < 0.8 else depth - 1)
    return data.replace(b"<extensions>", b"<extensions>" + inside, 1)


def zip_bomb(_data: bytes, rng: Rng) -> bytes:
    """An archive that unpacks to far more than it is, or of far too many files."""
    kind = int(rng.integers(0, 3))
    if kind == 0:
        return _zip({f"{k}.csv": b"0" * 2**24 for k in range(int(rng.integers(1, 20)))})
    if kind == 1:
        return _zip({f"{k}.csv": b"time,x\n1,2\n" for k in range(int(rng.integers(1, 900)))})
    rows = b"time,acc_x,acc_y,acc_z\n" + b"1,2,3,4\n" * int(rng.integers(1, 4_000_000))
    return gzip.compress(rows, 1)


def odd_names(data: bytes, rng: Rng) -> bytes:
    """Names inside an archive that would lead elsewhere."""
    names = [
        "../../ride.gpx",
        "/etc/passwd",
        "C:\\ride.csv",
        "a/" * 300 + "b.csv",
        "\x01\n.csv",
        "ride.zip",
    ]
    return _zip(dict.fromkeys(rng.choice(names, 3, replace=False), data))


def two_in_one(data: bytes, rng: Rng) -> bytes:
    """Two recordings glued together."""
    other = list(seeds().values())[int(rng.integers(0, 6))]
    return data + other if rng.random() < 0.5 else other[: len(other) // 2] + data


def nothing(_data: bytes, rng: Rng) -> bytes:
    """No bytes, or noise."""
    return rng.bytes(int(rng.choice([0, 1, 5, 5000])))


TEXT: Final[tuple[Mutation, ...]] = (
    flip_bytes, cut, insert_bytes, swap_lines, repeat_lines, drop_column, odd_numbers, odd_numbers,
    odd_numbers, same_numbers, reverse_times, no_header, other_delimiter, endless_line,
    other_encoding, two_in_one,
)  # fmt: skip
XML: Final[tuple[Mutation, ...]] = (entity_bomb, deep_elements)
PACKED: Final[tuple[Mutation, ...]] = (flip_bytes, cut, insert_bytes)
RARE: Final[tuple[Mutation, ...]] = (zip_bomb, odd_names, nothing)


def spoilt(rng: Rng, sound: dict[str, bytes]) -> tuple[str, bytes, list[str]]:
    """One spoilt recording: its file's name, its bytes, and what was done to it."""
    name = str(rng.choice(list(sound)))
    data = sound[name]
    done: list[str] = []
    if rng.random() < 0.03:
        choices = RARE
    elif name.endswith((".zip", ".gz")):
        choices = PACKED
    else:
        choices = (*TEXT, *XML) if name.endswith(".gpx") else TEXT
    for _ in range(int(rng.integers(1, 4)) if choices is not RARE else 1):
        mutation = choices[int(rng.integers(0, len(choices)))]
        data = mutation(data, rng)
        done.append(mutation.__name__)
    return name, data, done
