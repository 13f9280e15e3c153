"""``python -m tests.bench simulate``: seconds of one core to make up a ride and its recording.

The target is 0.5 s for a ride of five minutes. Rides are drawn from the whole population of
scenarios, so most last longer; the figure is also told per five minutes of ride.
"""

from __future__ import annotations

import argparse
import time

import numpy as np

from sample_rides.scenario import Scenario
from sample_rides.sheets import DEMO_SHEETS, demo_sheet
from sample_rides.simulate import simulate
from track.lay_out import lay_out

FIVE_MINUTES_S = 300.0


def main() -> None:
    """Time some rides and print one line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rides", type=int, default=30)
    rides = parser.parse_args().rides
    layouts = [lay_out(demo_sheet(name)) for name in DEMO_SHEETS]
    simulate(layouts[0], seed=0).recording()
    took_s, lasted_s = [], []
    for seed in range(rides):
        started = time.process_time()
        ride = simulate(layouts[seed % 3], seed=seed, scenario=Scenario.drawn(seed))
        ride.recording()
        took_s.append(time.process_time() - started)
        lasted_s.append(float(ride.truth.path.t_s[-1]))
    per_five = FIVE_MINUTES_S * np.sum(took_s) / np.sum(lasted_s)
    print(
        f"{rides} rides, seeds 0 to {rides - 1}: {np.mean(lasted_s):.0f} s of ride each in "
        f"{np.mean(took_s):.2f} s (longest {np.max(took_s):.2f} s); "
        f"{per_five:.2f} s per five minutes (target 0.5 s)"
    )


if __name__ == "__main__":
    main()
