"""The command line: a thin layer over the library; heavy imports wait inside the commands."""

from __future__ import annotations

import sys
from importlib import import_module
from typing import Final

import click

from ingest.errors import TanbarkError

COMMANDS: Final[dict[str, str]] = {
    "demo": "Analyse a bundled sample ride and say where its page is.",
    "analyse": "Analyse one ride: report.html, coach.html and result.json.",
    "check": "Three lines: what was recorded, how good it is, what to do better.",
    "sheet": "Check a test sheet; floor plan and call sheet.",
    "card": "Make the slip for the time between two tests.",
    "compare": "Set rides side by side, from their result files.",
    "arena": "Make an arena file from a walk round the boards.",
    "simulate": "Make up a ride from a test sheet, with its truth.",
}
"""Every command and its line in ``--help``; the command itself is in ``report.commands.NAME``."""


class LazyCommands(click.Group):
    """A group that imports a command's module only when the command is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order of :data:`COMMANDS`."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the module that holds the command; None for an unknown name."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = import_module(f"report.commands.{cmd_name}").command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=LazyCommands)
@click.version_option(package_name="tanbark")
def cli() -> None:
    """Lay a phone's recording of a dressage ride onto the arena, with the doubt of every number."""


def main() -> None:
    """Run a command; a fault the user can mend is one line each on stderr and exit code 2."""
    try:
        cli()
    except TanbarkError as fault:
        for line in fault.faults:
            click.echo(f"tanbark: {line}", err=True)
        sys.exit(fault.exit_code)
