"""How long matching takes: a test of five to six minutes, alone and within an hour of riding.

Run as ``python -m tests.bench.match``. Goals: under 1 s and under 5 s, processor time.
"""

from __future__ import annotations

import time

from sample_rides.sheets import demo_sheet
from tests.track.invented_ride import ride
from track.lay_out import lay_out
from track.match import match, other_end_log_odds

LAP = [(0.0, -29.0), (9.0, -29.0), (9.0, 29.0), (-9.0, 29.0), (-9.0, -29.0), (0.0, -29.0)]


def main() -> None:
    started = time.process_time()
    layout = lay_out(demo_sheet("ten metre"))
    print(f"lay out: {time.process_time() - started:.3f} s")
    for laps in (0, 72):
        made = ride(layout, [(0.0, layout.length_m)], before=LAP * laps, seed=1)
        path = made.path
        started = time.process_time()
        found = match(path, layout, gait_t_s=path.t_s, gait_names=made.gaits)
        matched = time.process_time()
        other_end_log_odds(path, layout, gait_t_s=path.t_s, gait_names=made.gaits)
        ended = time.process_time()
        print(
            f"{path.t_s[-1] / 60:.0f} min, {len(found.runs)} run: "
            f"match {matched - started:.2f} s, ends {ended - matched:.2f} s"
        )


if __name__ == "__main__":
    main()
