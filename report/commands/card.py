"""``tanbark card``: the slip for the time between two tests."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("card")
@click.argument("sheets", nargs=-1, type=click.Path(path_type=Path))
@click.option("--starts", help="When each test starts, such as 10:40,11:02.")
@click.option(
    "--from",
    "results",
    multiple=True,
    type=click.Path(path_type=Path),
    help="result.json of a ride of your own; may be given again, the latest last.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("card.html"),
    help="Where to write the slip; card.html when left out.",
)
@click.option("--quiet", is_flag=True, help="Print nothing but faults.")
def command(
    sheets: tuple[Path, ...], starts: str | None, results: tuple[Path, ...], out: Path, quiet: bool
) -> None:
    """Make the slip for one or two test SHEETS: large type, on paper, no phone needed.

    Files ending in .json among them are taken as results, as if after --from.
    """
    from ingest.errors import TanbarkError
    from report.card_page import render_card
    from report.card_times import parse_starts
    from report.files import write_files
    from report.result_file import read_result
    from track.lay_out import lay_out
    from track.sheet_file import read_sheet

    rides = [*results, *(file for file in sheets if file.suffix == ".json")]
    tests = [file for file in sheets if file.suffix != ".json"]
    if not 1 <= len(tests) <= 2:
        raise TanbarkError(f"{len(tests)} test sheets named; name one or two, in riding order")
    times = parse_starts(starts, len(tests))
    layouts = [lay_out(read_sheet(file)) for file in tests]
    page = render_card(layouts, times, [read_result(file) for file in rides])
    write_files(out.parent, {out.name: page})
    if not quiet:
        click.echo(f"The slip: {out}")
