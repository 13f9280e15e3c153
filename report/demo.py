"""A bundled sample ride through the whole tool."""

from __future__ import annotations

import tempfile
from pathlib import Path

from ingest.reading import read_recording
from report.bands import bands_of
from report.pipeline import Analysis, Options, analyse_recording
from sample_rides.demo import DEMO_RIDES, demo_files
from sample_rides.sheets import demo_sheet

RIDE_FILES = ("ride.gpx.gz", "motion.csv.gz")


def analyse_demo(name: str) -> tuple[Analysis, str]:
    """Analyse a bundled ride.

    Parameters
    ----------
    name : str
        One of ``sample_rides.demo.DEMO_RIDES``.

    Returns
    -------
    analysis : Analysis
    story : str
        What the ride is, in one sentence.
    """
    ride = DEMO_RIDES[name]
    sheet = demo_sheet(ride.sheet)
    options = Options(
        horse=ride.horse,
        kind="schooling",
        pocket=ride.scenario.pocket,
        label="sample ride, made up",
    )
    with tempfile.TemporaryDirectory() as folder:
        files = [Path(folder) / file for file in RIDE_FILES]
        contents = demo_files(name)
        for file in files:
            file.write_bytes(contents[file.name])
        recording = read_recording(files)
    return analyse_recording(recording, sheet, bands_of(sheet.level), options), ride.story
