"""``tanbark demo``: the main job on a bundled sample ride."""

from __future__ import annotations

from pathlib import Path

import click

RIDES = ("acorn", "juniper")


@click.command(name="demo")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("tanbark-demo"),
    help="Folder for the pages; tanbark-demo when left out.",
)
@click.option("--ride", type=click.Choice(RIDES), default=RIDES[0], help="Which sample ride.")
@click.option("--quiet", is_flag=True, help="Print nothing but faults.")
def command(out: Path, ride: str, quiet: bool) -> None:
    """Analyse a bundled sample ride: an invented rider, an invented horse, a made-up recording."""
    from report.demo import analyse_demo
    from report.output import write_analysis
    from report.summary import summary

    made, story = analyse_demo(ride)
    written = write_analysis(made, out, private=False, detect=False)
    if not quiet:
        click.echo(f"Sample ride, made up: {story}")
        click.echo(summary(written.result, written))
