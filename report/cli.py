"""The command line: a thin layer over the library; heavy imports wait inside the commands."""

from __future__ import annotations

import click


@click.group()
@click.version_option(package_name="tanbark")
def main() -> None:
    """Lay a phone's recording of a dressage ride onto the arena, with the doubt of every number."""
