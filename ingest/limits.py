"""Limits on what is read: far above an afternoon's riding, far below what would hurt a computer."""

from __future__ import annotations

from typing import Final

MAX_FILE_BYTES: Final = 256 * 2**20
"""Unpacked size of one file, and of everything together in one archive."""
MAX_GPX_BYTES: Final = 24 * 2**20
"""A GPX file is held in memory as a tree, some fifteen times its size."""
MAX_ENTRIES: Final = 500
"""Files in one folder or archive."""
MAX_ROWS: Final = 3_000_000
"""Rows of one table: four hours at 200 Hz."""
MAX_LINE_BYTES: Final = 65_536
"""One line of a table."""
MAX_COLUMNS: Final = 500
MAX_XML_DEPTH: Final = 64
"""Nesting of elements in a GPX file."""
