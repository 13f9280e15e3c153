"""``python -m tests.bench NAME``: run ``tests/bench/NAME.py``; without a name, list them."""

from __future__ import annotations

import pkgutil
import runpy
import sys

import tests.bench


def main() -> int:
    """Hand over to the benchmark that was named."""
    names = [m.name for m in pkgutil.iter_modules(tests.bench.__path__) if m.name != "__main__"]
    if len(sys.argv) < 2 or sys.argv[1] not in names:
        print(f"python -m tests.bench NAME, where NAME is one of: {', '.join(names)}")
        return 2
    sys.argv = sys.argv[1:]
    runpy.run_module(f"tests.bench.{sys.argv[0]}", run_name="__main__")
    return 0


if __name__ == "__main__":
    sys.exit(main())
