"""False "changed" and smallest detectable change over made-up pairs of seasons.

``python -m tests.accuracy compare --rides 1000 --seed 1``: so many pairs of 2 x 8 sessions, 30 rows
each, sessions apart by a normal sd of 1 and known to 0.3. Goals: any false "changed" at most 5 %;
the smallest change as stated within 10 % of the one called in 8 of 10.
"""

from __future__ import annotations

import argparse

import numpy as np

from gait.compare import between, called, shares, smallest_change
from report.compare_rows import weights_of

ROWS, SESSIONS, APART, WITHIN = 30, 8, 1.0, 0.3
SIDES = (
    (3, 3, 1.0), (3, 3, 3.0), (3, 8, 3.0), (3, 8, 1 / 3), (5, 8, 3.0), (8, 8, 2.0), (8, 8, 3.0),
    (8, 12, 3.0),
)  # fmt: skip
"""Sessions on either side, and how many times further apart the first side's are."""


def unequal(rng: np.random.Generator, pairs: int) -> None:
    """Print false changes where the sides differ in spread, or have few sessions."""
    weights = weights_of([True, True, *[False] * (ROWS - 2)])
    for first, second, spread in SIDES:
        false = 0
        for _ in range(pairs):
            before = rng.normal(0.0, np.hypot(spread, WITHIN), (ROWS, first))
            after = rng.normal(0.0, np.hypot(APART, WITHIN), (ROWS, second))
            doubts = np.full(first, WITHIN), np.full(second, WITHIN)
            found = [between(a, b, *doubts) for a, b in zip(before, after, strict=True)]
            false += any(called([1.0 if one is None else one.chance for one in found], weights))
        print(
            f"false changed, {first} and {second} sessions, spreads {spread:g} and {APART:g}: "
            f"{100 * false / pairs:.1f} % of {pairs} (goal <= 5 %)"
        )


def main() -> None:
    """Print the two figures beside their goals."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rides", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--through-results", action="store_true", help="simulate and analyse")
    parser.add_argument("--sessions", type=int, default=4, help="a side, through results")
    parser.add_argument("--planted", type=float, default=4.0, help="strides/min, through results")
    options = parser.parse_args()
    if options.through_results:
        from tests.accuracy.compare_through import through_results

        through_results(options.seed, options.sessions, options.planted)
        return
    unequal(np.random.default_rng(options.seed + 1), options.rides)
    rng = np.random.default_rng(options.seed)
    weights = weights_of([True, True, *[False] * (ROWS - 2)])
    levels, doubt = shares(weights), np.full(SESSIONS, WITHIN)
    spread = float(np.hypot(APART, WITHIN))
    false, stated = 0, []
    effects = np.linspace(1.2, 3.0, 10)
    hits = np.zeros(effects.size)
    for _ in range(options.rides):
        x = rng.normal(0.0, spread, (2, ROWS, SESSIONS))
        found = [between(x[0, i], x[1, i], doubt, doubt) for i in range(ROWS)]
        chances = [one.chance for one in found if one is not None]
        false += any(called(chances, weights))
        first = found[0]
        if first is not None:
            stated.append(smallest_change(first.se, first.df, float(levels[0])))
        for index, effect in enumerate(effects):
            moved = between(x[0, 0], x[1, 0] + effect, doubt, doubt)
            own = 1.0 if moved is None else moved.chance
            hits[index] += called([own, *chances[1:]], weights)[0]
    true = float(np.interp(0.8, hits / options.rides, effects))
    print(f"false changed: {100 * false / options.rides:.1f} % of {options.rides} (goal <= 5 %)")
    print(
        f"smallest change: stated {np.median(stated):.3f}; called in 8 of 10 at {true:.3f}: "
        f"{100 * (np.median(stated) / true - 1):+.1f} % (goal within 10 %)"
    )


if __name__ == "__main__":
    main()
