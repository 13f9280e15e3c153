"""``python -m tests.bench ingest``: an hour at 100 Hz and 3600 fixes, read and checked.

Each round is a fresh process, so that peak memory is that of one reading. Time is counted from
after the imports (the command's own, and the library's that it makes) to the three lines; the
target is 0.5 s and 200 MB on a quiet machine.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

from tests.ingest.signals import EPOCH_S, gpx_text, invented

HOUR_S = 3600.0

_ROUND = """
import json, re, resource, sys, time
from pathlib import Path
import numpy, pandas, gpxpy, gpxpy.parser
import pandas.io.parsers
from ingest.reading import read_recording
from report.check_lines import check_lines
def peak_mb():
    return int(re.search(r"VmHWM:\\s+(\\d+)", Path("/proc/self/status").read_text())[1]) / 1024
imports_mb = peak_mb()
before = resource.getrusage(resource.RUSAGE_SELF)
start = time.perf_counter()
recording = read_recording([Path(name) for name in sys.argv[1:]])
read = time.perf_counter()
lines = check_lines(recording)
end = time.perf_counter()
after = resource.getrusage(resource.RUSAGE_SELF)
print(json.dumps({
    "read_s": read - start, "check_s": end - read, "peak_mb": peak_mb(), "imports_mb": imports_mb,
    "cpu_s": after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime,
    "rows": len(recording.motion), "fixes": len(recording.fixes),
}))
"""


def write_hour(folder: Path) -> list[Path]:
    """An invented hour: GPX with 3600 fixes, and a table of 360 000 rows by 7 columns."""
    ride = invented(duration_s=HOUR_S, rate_hz=100.0)
    gpx, motion = folder / "ride.gpx", folder / "motion.csv"
    gpx.write_text(gpx_text(ride))
    table = np.column_stack([EPOCH_S + ride.t_s, ride.accel_ms2, ride.gyro_rads])
    with motion.open("w") as out:
        out.write("time_s,acc_x_ms2,acc_y_ms2,acc_z_ms2,gyro_x_rads,gyro_y_rads,gyro_z_rads\n")
        np.savetxt(out, table, delimiter=",", fmt=["%.3f"] + ["%.6f"] * 6)
    return [gpx, motion]


def main() -> int:
    """Run some rounds and print the median and the extremes."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench ingest")
    parser.add_argument("--rounds", type=int, default=7)
    rounds = parser.parse_args().rounds
    with tempfile.TemporaryDirectory() as folder:
        files = write_hour(Path(folder))
        size_mb = files[1].stat().st_size / 2**20
        command = [sys.executable, "-c", _ROUND, *map(str, files)]
        found = [
            json.loads(subprocess.run(command, capture_output=True, text=True, check=True).stdout)
            for _ in range(rounds)
        ]
    rows, fixes = found[0]["rows"], found[0]["fixes"]
    print(f"{rows} rows x 7 ({size_mb:.0f} MB), {fixes} fixes, {rounds} rounds")
    for name in ("read_s", "check_s", "cpu_s", "imports_mb", "peak_mb"):
        values = [one[name] for one in found]
        print(
            f"{name:>11}: median {np.median(values):.3f}, least {min(values):.3f}, "
            f"most {max(values):.3f}"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
