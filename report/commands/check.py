"""``tanbark check``: what was recorded, how good it is, what to do better next time."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("check")
@click.argument("files", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--motion-unit", help="Units of the motion log: ms2, g or mg; rads or degs; up, down."
)
@click.option(
    "--motion-start", help="When the motion log began: ISO 8601, or s after the first fix."
)
@click.option("--motion-rate", type=float, help="Samples per second of a motion log without times.")
@click.option("--quiet", is_flag=True, help="Print nothing but faults.")
def command(
    files: tuple[Path, ...],
    motion_unit: str | None,
    motion_start: str | None,
    motion_rate: float | None,
    quiet: bool,
) -> None:
    """Three lines: what was recorded, how good it is, what to do better next time."""
    from ingest.errors import RecordingError
    from ingest.reading import ReadOptions, read_recording
    from report.check_lines import check_lines

    if not files:
        raise RecordingError("no files named; name the GPX and CSV files of one ride")
    options = ReadOptions(
        motion_unit=motion_unit, motion_start=motion_start, motion_rate_hz=motion_rate
    )
    recording = read_recording(files, options=options)
    if not quiet:
        for line in check_lines(recording):
            click.echo(line)
