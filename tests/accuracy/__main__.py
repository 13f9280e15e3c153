"""Accuracy figures by name: ``python -m tests.accuracy NAME ...`` runs ``tests.accuracy.NAME``."""

from __future__ import annotations

import runpy
import sys


def main(argv: list[str]) -> None:
    if not argv or argv[0].startswith("-"):
        sys.exit("usage: python -m tests.accuracy NAME [options]")
    sys.argv = [f"tests.accuracy.{argv[0]}", *argv[1:]]
    runpy.run_module(f"tests.accuracy.{argv[0]}", run_name="__main__", alter_sys=True)


if __name__ == "__main__":
    main(sys.argv[1:])
