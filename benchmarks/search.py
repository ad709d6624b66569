"""Measure the exact search against plain ways to the same answer, all in one run.

    python benchmarks/search.py [--large]

Kits of invented dyes, seeded. Times are of the whole process on two threads: seconds on the wall,
and seconds of processor time, which suffer less from what else the machine does. Nothing is
asserted; the results are kept in benchmarks/results/search.md.
"""

import sys
from collections.abc import Callable
from functools import cache, partial
from pathlib import Path
from time import perf_counter, process_time

import numpy as np
from memory import most_memory
from rivals import brute_in_single_precision, plain_numpy, plain_products, tree_misses

sys.path.insert(0, str(Path(__file__).parent.parent / "tests" / "match"))
from conftest import make_kit
from laydown.match.ranking import Limits, Wanted, usual_ranking
from laydown.match.search.recipes import RecipeSpace, recipe_space
from laydown.match.search.search import search_many, search_once
from laydown.match.search.tables import make_table, search_table
from laydown.media.marker.model import MarkerFit

SEED, REACHED, BEYOND = 11, 32, 8


def timed(work: Callable[[], object]) -> tuple[float, float]:
    """Return seconds on the wall and of processor time."""
    wall, cpu = perf_counter(), process_time()
    work()
    return perf_counter() - wall, process_time() - cpu


@cache
def fit_of(count: int) -> MarkerFit:
    """Make a fit of so many colorants, one of them a blender."""
    return make_kit(count, seed=1, blenders=1)


def kit(count: int, coats: int = 2, steps: int = 3) -> RecipeSpace:
    """Return all its recipes of up to so many steps of up to so many coats."""
    return recipe_space(fit_of(count), limits=Limits(steps=steps, coats=coats))


def targets(space: RecipeSpace, reached: int, beyond: int) -> np.ndarray:
    """Draw colors near recipes of one, two and three steps in turn, and others far too vivid."""
    rng, base = np.random.default_rng(SEED), space.base
    rows = rng.integers(1, base, (reached + beyond, 3))
    deep = np.minimum(1 + np.arange(len(rows)) % 3, space.limits.steps)
    numbers = sum(rows[:, i] * base**i * (deep > i) for i in range(3))
    labs = space.lab(numbers) + rng.normal(0, 1, (len(rows), 3))
    labs[reached:] = space.lab(rows[reached:, 0]) * [1.0, 2.2, 2.2]
    return labs


def line(name: str, times: list[tuple[float, float]], rival: tuple[float, float]) -> str:
    """Write a row of the table: medians and worst, and how often the rival's time that is."""
    wall, cpu = np.array(times).T
    return (
        f"| {name} | {1e3 * np.median(wall):.1f} | {1e3 * wall.max():.1f} "
        f"| {1e3 * np.median(cpu):.1f} | {1e3 * cpu.max():.1f} "
        f"| {rival[0] / np.median(wall):.0f} | {rival[0] / wall.max():.1f} "
        f"| {rival[1] / np.median(cpu):.0f} | {rival[1] / cpu.max():.1f} |"
    )


def colors_of(count: int, coats: int) -> None:
    """Compare one color at a time, and forty together, on a kit and three steps."""
    space = kit(count, coats)
    labs = targets(space, REACHED, BEYOND)
    print(f"\n{count} colorants, {coats} coats, {space.considered:,} recipes, exact top 10\n")
    brutes = [timed(partial(brute_in_single_precision, space, lab, 0.5)) for lab in labs[:5]]
    brute = tuple(np.median(np.array(brutes), axis=0))
    print(f"(b) brute force in float32: {brute[0]:.2f} s wall, {brute[1]:.2f} s CPU\n")
    print(
        "| | median ms | worst | median CPU ms | worst | (b)/median | (b)/worst | CPU | CPU worst |"
    )
    print("|---|---|---|---|---|---|---|---|---|")
    cold = [timed(partial(first_color, count, coats, lab)) for lab in labs]
    print(line("first color, within reach", cold[:REACHED], brute))
    print(line("first color, out of reach", cold[REACHED:], brute))
    forty = [timed(partial(together, count, coats, labs[-40:])) for _ in range(3)]
    print(line("40 together", forty, brute))
    print(f"\nmost memory so far: {most_memory() / 1e6:.0f} MB\n")
    building = [timed(partial(make_table, space)) for _ in range(2)]
    print(line("making the table", building, brute))
    table = make_table(space)
    warm = [timed(partial(search_table, table, space, Wanted(lab))) for lab in labs]
    print(line("with a table, within reach", warm[:REACHED], brute))
    print(line("with a table, out of reach", warm[REACHED:], brute))
    print(f"\ntable: {table.size / 1e6:.0f} MB; most memory so far: {most_memory() / 1e6:.0f} MB")


def first_color(count: int, coats: int, lab: np.ndarray) -> None:
    """Search one color with nothing prepared."""
    search_once(kit(count, coats), Wanted(lab))


def together(count: int, coats: int, labs: np.ndarray) -> None:
    """Search colors in one pass, with nothing prepared."""
    search_many(kit(count, coats), [Wanted(lab) for lab in labs])


def growth(large: bool) -> None:
    """Show how time grows with the kit and with depth."""
    print("\n| colorants | steps | recipes | median ms | median CPU ms | CPU ns a recipe |")
    print("|---|---|---|---|---|---|")
    for count, steps in [(24, 1), (24, 3), (24, 4), (60, 3), (120, 3), *[(300, 3)] * large]:
        space = kit(count, steps=steps)
        runs = [timed(partial(search_once, space, Wanted(lab))) for lab in targets(space, 4, 1)]
        wall, cpu = np.median(np.array(runs), axis=0)
        print(
            f"| {count} | {steps} | {space.considered:,} | {1e3 * wall:.1f} | {1e3 * cpu:.1f} "
            f"| {1e9 * cpu / space.considered:.2f} |"
        )


def large_kits() -> None:
    """Search single colors of large kits as a match of tolerance class does, with its effort."""
    colors = {"violet": (20, 45, -70), "gray": (25, 0, 0), "black": (8, 0, 0), "tan": (75, 10, 20)}
    print("\n| colorants | steps | coats | recipes | color | CPU s |\n|---|---|---|---|---|---|")
    for count, steps, coats in [(300, 3, 2), (600, 3, 2), (600, 3, 3), (2000, 2, 3), (2000, 3, 2)]:
        limits = Limits(steps=steps, coats=coats)
        space = recipe_space(fit_of(count), limits=limits, ranking=usual_ranking("class"))
        for name, lab in colors.items():
            wanted = Wanted(np.array(lab, dtype=np.float64), 64)
            _, cpu = timed(partial(search_once, space, wanted))
            row = (count, steps, coats, f"{space.considered:,}", name, f"{cpu:.2f}")
            print(f"| {' | '.join(map(str, row))} |")


def tree() -> None:
    """Say how often a tree over Lab, re-ranked by CIEDE2000, misses the best."""
    space = kit(40)
    labs = targets(space, 40, 10)
    print("\n(c) KD-tree over prepared Lab, 40 colorants, 50 targets, kL 0.5:")
    for taken in (10, 100, 1000):
        best, ten = tree_misses(space, labs, taken)
        print(f"    nearest {taken} re-ranked: the best missed {best} times, the ten {ten} times")


if __name__ == "__main__":
    together(5, 2, targets(kit(5), 2, 0))
    brute_in_single_precision(kit(5), np.zeros(3), 0.5)
    colors_of(60, 3)
    colors_of(120, 2)
    growth("--large" in sys.argv)
    if "--large" in sys.argv:
        large_kits()
    tree()
    print(f"\nplain products to XYZ (BLAS): {plain_products():.0f} M/s")
    print(f"(a) plain numpy: {plain_numpy(kit(60), np.zeros(3)):.2f} M/s")
