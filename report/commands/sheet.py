"""``tanbark sheet``: check a test sheet; floor plan and call sheet with times."""

from __future__ import annotations

from pathlib import Path

import click


@click.command("sheet")
@click.argument("sheet", metavar="S", required=False)
@click.option("--out", type=click.Path(path_type=Path), help="Write the floor plan page here.")
@click.option(
    "--from", "source", type=click.Path(path_type=Path),
    help="A result.json: take this horse's own speeds from it.",
)  # fmt: skip
@click.option("--toml", is_flag=True, help="Print the sheet in its TOML form and stop.")
@click.option("--schema", is_flag=True, help="Print the JSON Schema of the TOML form and stop.")
@click.option("--quiet", is_flag=True, help="Print nothing but faults.")
def command(
    *,
    sheet: str | None,
    out: Path | None,
    source: Path | None,
    toml: bool,
    schema: bool,
    quiet: bool,
) -> None:
    """Check the test sheet S; with --out, draw its floor plan and call sheet."""
    import json

    from ingest.errors import SheetError
    from report.files import write_files
    from report.plan_page import render_plan
    from report.sheet_text import sheet_text, speeds_of
    from track.floorplan import Speeds
    from track.lay_out import lay_out
    from track.sheet_file import read_sheet, sheet_json_schema, write_sheet_toml

    if schema:
        click.echo(json.dumps(sheet_json_schema(), indent=1))
        return
    if sheet is None:
        raise SheetError("no sheet given; name a test sheet, a .txt or .toml file")
    made = read_sheet(Path(sheet))
    layout = lay_out(made)
    if toml:
        click.echo(write_sheet_toml(made), nl=False)
        return
    speeds = speeds_of(source) if source else Speeds()
    from_words = "from your own rides" if source else ""
    if not quiet:
        click.echo(sheet_text(layout, speeds, speeds_from=from_words), nl=False)
    if out is not None:
        page = render_plan(layout, speeds, speeds_from=from_words)
        write_files(out.parent, {out.name: page})
        if not quiet:
            click.echo(f"floor plan: {out}")
