"""The one family of errors a user can mend: one line, what, where, what to do; exit code 2."""

from __future__ import annotations


class TanbarkError(Exception):
    """A fault in what was handed in, told in one line per fault.

    Parameters
    ----------
    *faults : str
        One sentence per fault: what is wrong, where, and what to do about it.

    Examples
    --------
    >>> str(TanbarkError("ride.gpx: no times; export the recording with times"))
    'ride.gpx: no times; export the recording with times'
    """

    exit_code = 2

    def __init__(self, *faults: str) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults


class RecordingError(TanbarkError):
    """A ride file cannot be read, or not without an answer from the rider."""


class SheetError(TanbarkError):
    """A test sheet cannot be understood or cannot be ridden."""


class ArenaError(TanbarkError):
    """An arena file, or the fixes it is to be made from, are no use."""


class MarksError(TanbarkError):
    """A file of judge's marks cannot be read."""
