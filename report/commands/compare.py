"""``tanbark compare``: rides side by side, from their result files."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("compare")
@click.argument("results", nargs=-1, metavar="RESULT.json...", type=click.Path(path_type=Path))
@click.option(
    "--before",
    type=int,
    help="How many of the rides are before; else two labels make the two groups, or halves.",
)
@click.option("--trend", is_flag=True, help="Change along a line from the first ride to the last.")
@click.option("--out", type=click.Path(path_type=Path), help="Write the coach's page here.")
@click.option("--quiet", is_flag=True, help="Print nothing but faults.")
def command(
    *, results: tuple[Path, ...], before: int | None, trend: bool, out: Path | None, quiet: bool
) -> None:
    """Compare rides from their RESULT.json files, or the folders that hold them, oldest first.

    One ride counts once. Rides of different horses, or with the phone in different pockets, are
    never mixed: each horse and pocket is compared with itself.
    """
    from report.compare_page import render_compare
    from report.compare_rides import CompareError, read_rides, seasons_of
    from report.compare_rows import compared
    from report.compare_text import compare_text
    from report.files import write_files
    from report.words_compare import NO_PAGE, WRITTEN

    if before is not None and trend:
        raise CompareError("--before and --trend: a line has no before; give one of them")
    seasons, left = seasons_of(read_rides(results), before=before, line=trend)
    made = [(season, compared(season)) for season in seasons]
    if out is not None:
        write_files(out.parent, {out.name: render_compare(made, left)})
    if not quiet:
        click.echo(compare_text(made, left))
        click.echo(NO_PAGE if out is None else WRITTEN.format(out))
