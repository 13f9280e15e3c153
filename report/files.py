"""Writing results so that nothing half-written is ever left behind."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from ingest.errors import TanbarkError


def write_files(folder: Path, contents: Mapping[str, str | bytes]) -> None:
    """Write several files into a folder, all of them or none.

    Parameters
    ----------
    folder : Path
        Made when it does not exist.
    contents : mapping of str to str or bytes
        File name to contents; text is written as UTF-8.

    Raises
    ------
    TanbarkError
        The folder cannot be made or written to.
    """
    staged: list[tuple[Path, Path]] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in contents.items():
            staged.append((_stage(folder, content), folder / name))
        for temporary, final in staged:
            temporary.replace(final)
    except OSError as fault:
        for temporary, _ in staged:
            temporary.unlink(missing_ok=True)
        raise TanbarkError(
            f"{folder}: cannot be written ({fault.strerror}); choose another folder with --out"
        ) from fault


def _stage(folder: Path, content: str | bytes) -> Path:
    data = content.encode() if isinstance(content, str) else content
    handle, name = tempfile.mkstemp(dir=folder, prefix=".tanbark-")
    path = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        path.chmod(0o644)
    except OSError:
        path.unlink(missing_ok=True)
        raise
    return path
