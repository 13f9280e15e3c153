"""``tanbark arena``: an arena file from a walk round the boards or from named fixes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from track.survey import Survey
    from track.survey_checks import Check


@click.command("arena")
@click.argument("files", nargs=-1, type=click.Path(path_type=Path))
@click.option("--size", type=click.Choice(["20x40", "20x60"]), help="Found out when left out.")
@click.option("--start", type=click.Choice(["A", "C"]), help="The end at which the walk began.")
@click.option("--name", default="", help="What you call this arena.")
@click.option(
    "--out", type=click.Path(path_type=Path), required=True, help="The arena file to write."
)
@click.option("--quiet", is_flag=True, help="Print nothing but faults.")
def command(  # noqa: PLR0917
    files: tuple[Path, ...],
    size: str | None,
    start: str | None,
    name: str,
    out: Path,
    quiet: bool,
) -> None:
    """Make an arena file from a walk round the boards, or from fixes named K, F, H, M."""
    from ingest.errors import ArenaError
    from ingest.reading import ReadOptions, read_recording
    from report.files import write_files
    from track.arena import SIZES
    from track.arena_file import arena_toml
    from track.survey import survey

    if not files:
        raise ArenaError("no files named; name the GPX or CSV file of a walk round the boards")
    chosen = next((known for known in SIZES if known == size), None)
    recording = read_recording(files, options=ReadOptions(waypoints_suffice=True))
    found = survey(recording, size=chosen, start=start, name=name or out.stem)
    write_files(out.parent, {out.name: arena_toml(found.arena)})
    if not quiet:
        for line in survey_lines(found):
            click.echo(line)
        click.echo(f"written: {out.name}")


def survey_lines(found: Survey) -> list[str]:
    """What was found, in plain words, and how sure it is."""
    from track.arena import HALF_LENGTH_M

    length = 2 * HALF_LENGTH_M[found.arena.size]
    tape = (20.0**2 + length**2) ** 0.5
    lines = [
        f"{found.arena.size}: width {_told(found.width_m.value, found.width_m.sd)} (asked 20), "
        f"length {_told(found.length_m.value, found.length_m.sd)} (asked {length:.0f}), "
        f"diagonal {_told(found.diagonal_m.value, found.diagonal_m.sd)} (asked {tape:.1f})",
        *(_check_line(check) for check in found.checks),
        f"X is known to {found.arena.sd_m:.1f} m, the direction to "
        f"{found.arena.bearing_sd_deg:.1f} degrees: {_sure(found.arena.bearing_sd_deg)}",
    ]
    if found.log_odds is not None:
        lines.append(_size_line(found.log_odds))
    if found.ends == "unknown":
        lines.append("which end is A cannot be told from a walk: say --start A or --start C")
    return lines


def _told(value: float, sd: float) -> str:
    return f"{value:.1f} ± {sd:.1f} m" if sd < 1e3 else "not seen"


def _check_line(check: Check) -> str:
    """One side or diagonal against the tape, in words."""
    measured = _told(check.measured_m.value, check.measured_m.sd)
    verdict = "fits" if check.fits else "does not fit: measure it with a tape"
    return f"{check.what} {measured}, {check.asked_m:.1f} by the rules: {verdict}"


def _sure(bearing_sd_deg: float) -> str:
    """How sure a direction is, in a plain word, and what would make it surer."""
    if bearing_sd_deg <= 0.5:
        return "sure enough to go by"
    if bearing_sd_deg <= 1.0:
        return "good; two or three laps in one recording make it surer"
    return "rough; walk two or three laps in one recording"


def _size_line(log_odds: float) -> str:
    if log_odds > 5:
        return "the other size does not fit"
    if log_odds > 2:
        return "the other size fits worse"
    return "the other size fits nearly as well: name the size with --size"
