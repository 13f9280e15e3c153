"""The bundled sample rides: invented riders and horses, made by the simulator.

Their arenas lie in the open sea, so that nobody's place is named.
"""

from __future__ import annotations

import gzip
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib.resources import files
from types import MappingProxyType
from typing import Final

from sample_rides.faults import Fault
from sample_rides.scenario import Scenario


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoRide:
    """What a bundled ride was made from.

    Attributes
    ----------
    sheet : str
        Name of the demo sheet that is ridden.
    horse : str
        Invented.
    story : str
        One sentence, for people.
    seed : int
    scenario : Scenario
    faults : tuple of Fault
        Planted, so that there is something to find.
    """

    sheet: str
    horse: str
    story: str
    seed: int
    scenario: Scenario
    faults: tuple[Fault, ...] = field(default=())


DEMO_RIDES: Final[Mapping[str, DemoRide]] = MappingProxyType(
    {
        "acorn": DemoRide(
            sheet="walk and trot",
            horse="Acorn",
            story="A 1.48 m cob at home, rising trot, phone in the jacket; one lap of walk along "
            "the boards first.",
            seed=15,
            scenario=Scenario(
                withers_m=1.48,
                speed_factor=1.02,
                seat="rising",
                pocket="jacket",
                receiver_lag_s=0.6,
                clock_offset_s=1.7,
                lat_deg=54.5,
                lon_deg=3.1,
                bearing_deg=312.0,
                after=False,
            ),
            faults=(
                Fault(kind="egg", movement=2, amount=4.0, unit="m"),
                Fault(kind="late", movement=8, amount=5.0, unit="m"),
            ),
        ),
        "juniper": DemoRide(
            sheet="first canter",
            horse="Juniper",
            story="A 1.64 m mare, sitting trot, phone in a breast pocket; one lap of walk along "
            "the boards first.",
            seed=46,
            scenario=Scenario(
                withers_m=1.64,
                speed_factor=1.0,
                seat="sitting",
                pocket="chest",
                orientation_deg=(-80.0, 35.0, 160.0),
                receiver_lag_s=0.3,
                clock_offset_s=-0.8,
                lat_deg=55.2,
                lon_deg=4.4,
                bearing_deg=75.0,
                after=False,
            ),
            faults=(
                Fault(kind="small", movement=12, amount=2.5, unit="m"),
                Fault(kind="late", movement=5, amount=6.0, unit="m"),
            ),
        ),
    }
)


def demo_files(name: str) -> dict[str, bytes]:
    """The files of a bundled ride: ``ride.gpx.gz``, ``motion.csv.gz`` and ``truth.json.gz``.

    Parameters
    ----------
    name : str
        One of :data:`DEMO_RIDES`.
    """
    if name not in DEMO_RIDES:
        raise KeyError(f"{name!r} is not a bundled ride; there are {', '.join(DEMO_RIDES)}")
    folder = files("sample_rides") / "rides" / name
    return {item.name: item.read_bytes() for item in folder.iterdir() if item.name.endswith(".gz")}


def demo_truth_text(name: str) -> str:
    """The bundled ride's truth, as JSON."""
    return gzip.decompress(demo_files(name)["truth.json.gz"]).decode()
