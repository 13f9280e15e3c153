"""``tanbark simulate``: a made-up ride from a test sheet, with its truth."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from sample_rides.faults import FORMS

_FAULTS = "\b\nFaults to plant:\n" + "\n".join(
    f"  {form.words:<30} {form.means}" for form in FORMS.values()
)


@click.command("simulate", epilog=_FAULTS)
@click.argument("sheet", metavar="S")
@click.option("--seed", type=int, required=True, help="The same seed gives the same ride.")
@click.option(
    "--out",
    "out",
    type=click.Path(file_okay=False, path_type=Path),
    required=True,
    help="Folder for ride.gpx, motion.csv and truth.json.",
)
@click.option(
    "--fault",
    "faults",
    multiple=True,
    metavar="FAULT",
    help="Plant a known fault (repeatable); the forms are listed below.",
)
@click.option("--draw", is_flag=True, help="Draw horse, pocket, phone and place from the seed.")
@click.option("--height", "withers_m", type=click.FloatRange(1.0, 1.9), help="At the withers, m.")
@click.option("--seat", type=click.Choice(["rising", "sitting"]), help="Of the trot.")
@click.option("--pocket", type=click.Choice(["thigh", "jacket", "chest"]))
@click.option(
    "--rate", "motion_rate_hz", type=click.FloatRange(20.0, 200.0), help="Of the motion log, Hz."
)
@click.option(
    "--fix-every", "fix_interval_s", type=click.FloatRange(0.2, 10.0), help="Between fixes, s."
)
@click.option(
    "--noise",
    type=click.Choice(["none", "good", "typical", "poor", "bound_table"]),
    help="Of the positions.",
)
@click.option("--speed/--no-speed", "speed_and_course", default=None, help="In the GPX file.")
@click.option("--gyro/--no-gyro", default=None, help="In the motion log.")
@click.option("--gravity/--no-gravity", default=None, help="In the acceleration.")
@click.option(
    "--lag", "receiver_lag_s", type=click.FloatRange(0.0, 5.0), help="Of the receiver, s."
)
@click.option("--offset", "clock_offset_s", type=float, help="Motion clock less position clock, s.")
@click.option("--shared-clock/--boot-clock", "clocks_shared", default=None)
@click.option("--before", type=click.Choice(["boards", "outside", "none"]), help="Ridden first.")
@click.option("--laps", type=click.IntRange(1, 2), help="Along the boards, one per rein.")
@click.option("--after/--no-after", default=None, help="Ride out of the arena at the end.")
@click.option(
    "--track-offset",
    "track_offset_m",
    type=click.FloatRange(0.4, 1.5),
    help="Of the rider's body from the boards, m.",
)
@click.option("--zipped", is_flag=True, help="Compress the files with gzip.")
@click.option("--quiet", is_flag=True, help="Print nothing.")
def command(
    *,
    sheet: str,
    seed: int,
    out: Path,
    faults: tuple[str, ...],
    draw: bool,
    track_offset_m: float | None,
    zipped: bool,
    quiet: bool,
    **chosen: Any,
) -> None:
    """Make up a ride of the test sheet S (a file, or the name of a demo sheet) with its truth."""
    from dataclasses import replace

    from report.files import write_files
    from sample_rides.faults import parse_fault
    from sample_rides.scenario import Scenario
    from sample_rides.sheets import DEMO_SHEETS, demo_sheet
    from sample_rides.simulate import simulate
    from sample_rides.writing import ride_files
    from track.lay_out import TRACK_OFFSET_M, lay_out
    from track.sheet_file import read_sheet

    planted = [parse_fault(text) for text in faults]
    named = sheet in DEMO_SHEETS and not Path(sheet).exists()
    asked = demo_sheet(sheet) if named else read_sheet(Path(sheet))
    offset_m = TRACK_OFFSET_M if track_offset_m is None else track_offset_m
    layout = lay_out(asked, track_offset_m=offset_m)
    given = {name: value for name, value in chosen.items() if value is not None}
    scenario = replace(Scenario.drawn(seed) if draw else Scenario(), **given)
    ride = simulate(layout, seed=seed, scenario=scenario, faults=planted)
    contents = ride_files(ride, zipped=zipped)
    write_files(out, contents)
    if not quiet:
        duration_s = ride.truth.path.t_s[-1] - ride.truth.path.t_s[0]
        click.echo(
            f"{layout.sheet.title}, seed {seed}: {duration_s:.0f} s, "
            f"{len(ride.truth.movements)} movements; wrote {', '.join(contents)} to {out}"
        )
