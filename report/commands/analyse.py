"""``tanbark analyse``: one ride in; ``report.html``, ``coach.html`` and ``result.json`` out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from report.options import ride_options

KINDS = ("schooling", "lesson", "warm-up", "run-through", "test")


@click.command(name="analyse")
@click.argument("files", nargs=-1, type=click.Path(path_type=Path))
@click.option("--sheet", type=click.Path(path_type=Path), help="The test sheet that was ridden.")
@click.option("--arena", type=click.Path(path_type=Path), help="Arena file of the school.")
@click.option("--size", type=click.Choice(["20x40", "20x60"]), help="Size of the school.")
@click.option("--marks", type=click.Path(path_type=Path), help="The judge's marks, as CSV.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the pages.")
@click.option("--horse", help="Name of the horse, for later comparison.")
@click.option("--kind", type=click.Choice(KINDS), help="What kind of ride it was.")
@click.option("--pocket", help="Where the phone was carried, for example jacket.")
@click.option("--label", help="Words of your own for this ride.")
@click.option("--private", is_flag=True, help="Leave out where on the earth the arena lies.")
@click.option("--detect", is_flag=True, help="Also say which faults this recording would show.")
@click.option("--tolerances", type=click.Path(path_type=Path), help="Your own bands, as TOML.")
@click.option(
    "--motion-unit", help="Units of the motion log: ms2, g or mg; rads or degs; up, down."
)
@click.option(
    "--motion-start", help="When the motion log began: ISO 8601, or s after the first fix."
)
@click.option("--motion-rate", type=float, help="Samples per second of a motion log without times.")
@click.option(
    "--a-end", help="Where A lies from the middle of the school: N, NE, E ... or degrees."
)
@click.option("--no-book", is_flag=True, help="Do not enter the ride into the schooling book.")
@click.option("--quiet", is_flag=True, help="Print nothing but faults.")
def command(files: tuple[Path, ...], **given: Any) -> None:
    """Analyse one ride from the FILES a phone wrote: GPX, CSV, a folder or a zip of them."""
    from ingest.errors import TanbarkError
    from report.output import default_folder, write_analysis
    from report.pipeline import analyse
    from report.summary import summary

    if not files:
        raise TanbarkError(
            "no files given; name the GPX and CSV files of one ride, or their folder"
        )
    made = analyse(files, ride_options(given))
    folder = given["out"] or default_folder(files[0])
    written = write_analysis(made, folder, private=given["private"], detect=given["detect"])
    if not given["quiet"]:
        click.echo(summary(written.result, written))
