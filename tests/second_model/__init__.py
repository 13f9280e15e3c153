"""A second, frozen signal model: rides that share nothing with the product's own simulator.

Written from published facts and figures only (stride rates, speeds, force peaks, how positions of
phones err); it shares no code, waveform or noise family with ``sample_rides`` and uses of the
product only the tables at the door (``ingest``). It is frozen: mended where it is wrong, never
tuned to what a detector likes. Everything in it is invented data.
"""

from tests.second_model.model import SecondRide, ride
from tests.second_model.route import Leg
from tests.second_model.truth import SecondTruth

__all__ = ["Leg", "SecondRide", "SecondTruth", "ride"]
