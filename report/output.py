"""Writing an analysis: pages and result, all of them or none."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from report.detection import detection_rows
from report.files import write_files
from report.page import render_report
from report.page_coach import render_coach
from report.pipeline import Analysis
from report.result import Result
from report.result_file import dumped, stripped


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """Where the files of an analysis are."""

    folder: Path
    result: Result

    @property
    def report(self) -> Path:
        """The rider's page."""
        return self.folder / "report.html"


def default_folder(first: Path) -> Path:
    """Return the folder named after the first file, beside it.

    Examples
    --------
    >>> default_folder(Path("rides/monday.gpx.gz")).as_posix()
    'rides/monday'
    """
    name = first.name
    if not first.is_dir():
        for ending in (".gz", ".gpx", ".csv", ".txt", ".zip"):
            name = name.removesuffix(ending)
    return first.with_name(name + ("-tanbark" if first.is_dir() or name == first.name else ""))


def write_analysis(made: Analysis, folder: Path, *, private: bool, detect: bool) -> Written:
    """Write ``report.html``, ``coach.html`` and ``result.json`` into a folder."""
    result = stripped(made.result) if private else made.result
    if detect:
        rows = detection_rows(result, made.ridden)
        result = result.model_copy(update={"detection": rows})
    write_files(
        folder,
        {
            "report.html": render_report(result, made.layout, marks=made.marks),
            "coach.html": render_coach(result, made.layout, marks=made.marks),
            "result.json": dumped(result, private=private),
        },
    )
    return Written(folder=folder, result=result)
