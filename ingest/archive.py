"""Named files, folders, ``.gz`` and ``.zip`` as a flat list of sources of bytes.

Nothing is unpacked to disk; names inside an archive are shown, never used as paths.
"""

from __future__ import annotations

import gzip
import io
import zipfile
import zlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import IO, TYPE_CHECKING, Final, cast

from ingest.errors import RecordingError
from ingest.limits import MAX_ENTRIES, MAX_FILE_BYTES

if TYPE_CHECKING:
    from _typeshed import WriteableBuffer

_BESIDE: Final = """
.html .json .toml .md .xml .plist .py .log .db .sqlite .png .jpg .jpeg .svg .pdf .xls .xlsx
.doc .docx .mp3 .mp4 .m4a .mov
"""
NOT_RIDES: Final = frozenset(_BESIDE.split())
"""Endings of files that lie beside rides and are none; passed over in folders and archives."""

MAX_NAME: Final = 80
"""Letters of a file's name that are shown."""

UNREADABLE: Final = (OSError, EOFError, zlib.error, zipfile.BadZipFile, NotImplementedError)
"""What damaged archives raise."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One file, wherever it lies.

    Attributes
    ----------
    name : str
        The file's own name, to be shown.
    container : str
        Name of the folder or archive it was found in; empty for a file named by the user.
    opener : callable
        Opens the (unpacked) bytes anew.
    """

    name: str
    container: str
    opener: Callable[[], IO[bytes]]

    @property
    def named(self) -> bool:
        """True when the user named this very file."""
        return not self.container

    def open(self) -> IO[bytes]:
        """The bytes, unpacked, up to the limit on size."""
        try:
            return self.opener()
        except (*UNREADABLE, RuntimeError) as fault:
            raise RecordingError(f"{self.name}: cannot be opened ({_plain(fault)})") from fault

    def head(self, count: int) -> bytes:
        """The first ``count`` bytes."""
        with self.open() as stream:
            return self._read(stream, count)

    def whole(self, limit: int) -> bytes:
        """All bytes; ``RecordingError`` above ``limit``."""
        with self.open() as stream:
            content = self._read(stream, limit + 1)
        if len(content) > limit:
            raise too_large(self.name, limit)
        return content

    def _read(self, stream: IO[bytes], count: int) -> bytes:
        try:
            return stream.read(count)
        except UNREADABLE as fault:
            raise RecordingError(
                f"{self.name}: damaged ({_plain(fault)}); export it again"
            ) from None


class _Limited(io.RawIOBase):
    """Bytes of another stream, until a limit is passed."""

    def __init__(self, inner: IO[bytes], under: IO[bytes], name: str) -> None:
        self._inner, self._under, self._name, self._left = inner, under, name, MAX_FILE_BYTES

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: WriteableBuffer) -> int:
        view = memoryview(buffer)
        content = self._inner.read(len(view))
        self._left -= len(content)
        if self._left < 0:
            raise too_large(self._name, MAX_FILE_BYTES)
        view[: len(content)] = content
        return len(content)

    def close(self) -> None:
        self._inner.close()
        self._under.close()
        super().close()


def too_large(name: str, limit: int) -> RecordingError:
    """The fault of a file above the limit on size."""
    return RecordingError(
        f"{name}: larger than {limit // 2**20} MB unpacked; cut the recording to the ride"
    )


def _plain(fault: BaseException) -> str:
    """One short line about a fault of the operating system or of an unpacker, without paths."""
    text = getattr(fault, "strerror", None) or str(fault) or type(fault).__name__
    return " ".join(str(text).split())[:80]


def _gunzipped(stream: IO[bytes], name: str) -> IO[bytes]:
    inner = cast(IO[bytes], gzip.GzipFile(fileobj=stream))
    return io.BufferedReader(_Limited(inner, stream, name), 1 << 16)


def _shown(name: str) -> str:
    """A name fit for one line of text."""
    plain = "".join(letter if letter.isprintable() else "?" for letter in name)
    return plain if len(plain) <= MAX_NAME else plain[: MAX_NAME - 3] + "..."


def _without_gz(name: str) -> str:
    return name[:-3] if name.lower().endswith(".gz") else name


def _unpacked(name: str, container: str, opener: Callable[[], IO[bytes]]) -> Source:
    """A source whose bytes pass through gzip where they are gzipped, whatever the name says."""

    def unpack() -> IO[bytes]:
        stream = opener()
        magic = stream.read(2)
        stream.seek(0)
        if magic != b"\x1f\x8b":
            return stream
        return _gunzipped(stream, name)

    return Source(name=_shown(_without_gz(name)), container=_shown(container), opener=unpack)


def _is_zip(path: Path) -> bool:
    try:
        with path.open("rb") as stream:
            return stream.read(4) in (b"PK\x03\x04", b"PK\x05\x06")
    except OSError as fault:
        raise RecordingError(f"{path.name}: cannot be opened ({_plain(fault)})") from fault


def _skipped(name: str) -> bool:
    parts = PurePosixPath(name.replace("\\", "/")).parts
    hidden = any(p.startswith((".", "__MACOSX")) and p not in (".", "..") for p in parts)
    return hidden or PurePosixPath(_without_gz(name)).suffix.lower() in NOT_RIDES


def _zip_sources(path: Path) -> Iterator[Source]:
    """The files of an archive, unpacked into memory in one go, as a whole within the limit."""
    try:
        with zipfile.ZipFile(path) as archive:
            entries = [entry for entry in archive.infolist() if not entry.is_dir()]
            _check_entries(path.name, len(entries))
            if sum(entry.file_size for entry in entries) > MAX_FILE_BYTES:
                raise too_large(path.name, MAX_FILE_BYTES)
            for entry in entries:
                if not _skipped(entry.filename):
                    yield _zip_member(archive, entry, path.name)
    except (*UNREADABLE, ValueError) as fault:
        text = f"{path.name}: not a whole zip ({_plain(fault)}); copy it again"
        raise RecordingError(text) from fault


def _zip_member(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, container: str) -> Source:
    name = PurePosixPath(entry.filename.replace("\\", "/")).name
    try:
        content = archive.read(entry)
    except (*UNREADABLE, RuntimeError) as fault:  # RuntimeError: it asks for a password
        why = RecordingError(f"{name}: cannot be unpacked ({_plain(fault)})")
        return Source(name=name, container=container, opener=lambda: _refuse(why))
    return _unpacked(name, container, lambda: io.BytesIO(content))


def _refuse(fault: RecordingError) -> IO[bytes]:
    raise fault


def _check_entries(name: str, count: int) -> None:
    if count > MAX_ENTRIES:
        raise RecordingError(
            f"{name}: holds {count} files, more than {MAX_ENTRIES}; name the files of one ride"
        )


def _folder_sources(path: Path) -> Iterator[Source]:
    found = []
    for file in path.rglob("*"):
        relative = file.relative_to(path)
        if not _skipped(str(relative)) and file.is_file():
            found.append(file)
            _check_entries(path.name, len(found))
    for file in sorted(found):
        yield from _file_sources(file, container=path.resolve().name)


def _file_sources(path: Path, *, container: str) -> Iterator[Source]:
    if _is_zip(path):
        yield from _zip_sources(path)
        return
    if path.stat().st_size > MAX_FILE_BYTES:
        raise too_large(path.name, MAX_FILE_BYTES)
    yield _unpacked(path.name, container, lambda: path.open("rb"))


def sources(paths: Sequence[Path]) -> list[Source]:
    """List what is to be read.

    Parameters
    ----------
    paths : sequence of Path
        Files, folders and archives as the user named them.

    Returns
    -------
    list of Source
        In the order named; inside folders by name.

    Raises
    ------
    RecordingError
        One line for every path that does not exist, cannot be opened or is above a limit.
    """
    found: list[Source] = []
    faults: list[str] = []
    for path in paths:
        try:
            found.extend(_sources_of(path))
        except RecordingError as fault:
            faults.extend(fault.faults)
        except (OSError, ValueError) as fault:
            faults.append(f"{_shown(path.name)}: cannot be opened ({_plain(fault)})")
    if faults:
        raise RecordingError(*faults)
    return found


def _sources_of(path: Path) -> list[Source]:
    if path.is_dir():
        inside = list(_folder_sources(path))
    elif path.exists():
        inside = list(_file_sources(path, container=""))
    else:
        raise RecordingError(f"{path.name}: no such file or folder; check the name")
    if not inside:
        raise RecordingError(
            f"{path.name or path.resolve().name}: holds no ride file; "
            "a ride is a GPX file, CSV files, or both"
        )
    return inside
