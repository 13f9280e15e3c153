"""Make the bundled sample rides anew: ``python -m sample_rides.bundle``."""

from __future__ import annotations

from pathlib import Path

from sample_rides.demo import DEMO_RIDES
from sample_rides.sheets import demo_sheet
from sample_rides.simulate import SimulatedRide, simulate
from sample_rides.writing import ride_files
from track.lay_out import lay_out

FOLDER = Path(__file__).parent / "rides"


def make_demo(name: str) -> SimulatedRide:
    """Simulate a bundled ride from what :data:`DEMO_RIDES` says of it."""
    demo = DEMO_RIDES[name]
    return simulate(
        lay_out(demo_sheet(demo.sheet)),
        seed=demo.seed,
        scenario=demo.scenario,
        faults=demo.faults,
    )


def bundle(folder: Path = FOLDER) -> None:
    """Write every bundled ride below a folder."""
    for name in DEMO_RIDES:
        place = folder / name
        place.mkdir(parents=True, exist_ok=True)
        for file_name, content in ride_files(make_demo(name), zipped=True).items():
            (place / file_name).write_bytes(content)


if __name__ == "__main__":
    bundle()
