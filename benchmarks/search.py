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
from resource import RUSAGE_SELF, getrusage
from time import perf_counter, process_time

import numpy as np
from rivals import brute_in_single_precision, plain_numpy, plain_products, tree_misses

sys.path.insert(0, str(Path(__file__).parent.parent / "tests" / "match"))
from conftest import make_kit
from laydown.match.search.exact import search_many
from laydown.match.search.prepared import Prepared, prepare
from laydown.match.search.tables import make_table, search_table
from laydown.match.space import Limits
from laydown.media.marker.marker import MarkerFit

SEED, REACHED, BEYOND = 11, 80, 20


def timed(work: Callable[[], object]) -> tuple[float, float]:
    """Return seconds on the wall and of processor time."""
    wall, cpu = perf_counter(), process_time()
    work()
    return perf_counter() - wall, process_time() - cpu


@cache
def fit_of(count: int) -> MarkerFit:
    """Make a fit of so many colorants, one of them a blender."""
    return make_kit(count, seed=1, blenders=1)


def kit(count: int, steps: int = 3) -> Prepared:
    """Prepare it for recipes of up to so many steps of one or two coats."""
    return prepare(fit_of(count), limits=Limits(steps=steps, coats=2))


def targets(prepared: Prepared, reached: int, beyond: int) -> np.ndarray:
    """Draw colors near recipes of one, two and three steps in turn, and others far too vivid."""
    rng, base = np.random.default_rng(SEED), len(prepared.kit.colorants) * 2 + 1
    rows = rng.integers(1, base, (reached + beyond, 3))
    deep = 1 + np.arange(len(rows)) % 3
    numbers = sum(rows[:, i] * float(base) ** i * (deep > i) for i in range(3))
    labs = prepared.kit.lab(numbers) + rng.normal(0, 1, (len(rows), 3))
    labs[reached:] = prepared.kit.lab(rows[reached:, 0].astype(float)) * [1.0, 2.2, 2.2]
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


def single_targets() -> None:
    """Compare one target at a time on 120 colorants, three steps, one or two coats."""
    prepared = kit(120)
    labs = targets(prepared, REACHED, BEYOND)
    warm_up = kit(5)
    brute_in_single_precision(warm_up, labs[0], 0.5)
    search_table(make_table(warm_up), warm_up, labs[:2])
    search_many(warm_up, labs[:2])
    runs = [timed(lambda i=i: brute_in_single_precision(prepared, labs[i], 0.5)) for i in range(7)]
    brute = tuple(np.median(np.array(runs), axis=0))
    print(f"120 colorants, {prepared.kit.considered:,} recipes, exact top 10, 100 targets\n")
    rate = prepared.kit.considered / brute[0] / 1e6
    print(
        f"(b) brute force in float32: {brute[0]:.2f} s wall, {brute[1]:.2f} s CPU, {rate:.1f} M/s"
    )
    print(f"    plain products to XYZ (BLAS): {plain_products():.0f} M/s")
    print(f"(a) plain numpy: {plain_numpy(prepared, labs[0]):.2f} M/s\n")
    print(
        "| | median ms | worst | median CPU ms | worst | (b)/median | (b)/worst | CPU | CPU worst |"
    )
    print("|---|---|---|---|---|---|---|---|---|")
    cold = [timed(lambda lab=lab: search_many(kit(120), lab[None])) for lab in labs]
    print(line("cold, all 100", cold, brute))
    print(line("cold, within reach", cold[:REACHED], brute))
    print(line("cold, out of reach", cold[REACHED:], brute))
    table, building = None, []
    for _ in range(3):
        start = perf_counter(), process_time()
        table = make_table(prepared)
        building.append((perf_counter() - start[0], process_time() - start[1]))
    print(line("making the table", building, brute))
    warm = [timed(lambda lab=lab: search_table(table, prepared, lab[None])) for lab in labs]
    print(line("warm, all 100", warm, brute))
    print(line("warm, within reach", warm[:REACHED], brute))
    print(line("warm, out of reach", warm[REACHED:], brute))
    forty = [timed(lambda: search_many(kit(120), labs[30:70])) for _ in range(3)]
    print(line("40 together, cold", forty, brute))
    forty = [timed(lambda: search_many(kit(120), labs[60:100])) for _ in range(3)]
    print(line("40 together, half of them out of reach", forty, brute))
    picture = targets(prepared, 100_000, 0)
    wall, cpu = timed(lambda: search_table(table, prepared, picture, top=1))
    print(f"\ntable: {table.size / 1e6:.0f} MB; 100,000 colors: {wall:.1f} s, {cpu:.1f} s CPU")


def growth(large: bool) -> None:
    """Show how time grows with the kit and with depth."""
    print("\n| colorants | steps | recipes | median ms | median CPU ms | CPU ns a recipe |")
    print("|---|---|---|---|---|---|")
    for count, steps in [(24, 1), (24, 3), (24, 4), (60, 3), (120, 3), *[(300, 3)] * large]:
        prepared = kit(count, steps)
        labs = targets(prepared, 4, 1)
        runs = [timed(partial(search_many, prepared, lab[None])) for lab in labs]
        wall, cpu = np.median(np.array(runs), axis=0)
        recipes = prepared.kit.considered
        print(
            f"| {count} | {steps} | {recipes:,} | {1e3 * wall:.1f} | {1e3 * cpu:.1f} "
            f"| {1e9 * cpu / recipes:.2f} |"
        )
    peak = getrusage(RUSAGE_SELF).ru_maxrss / 1e3
    print(f"\nmost memory of the whole run so far, 100,000 colors included: {peak:.0f} MB")


def tree() -> None:
    """Say how often a tree over Lab, re-ranked by CIEDE2000, misses the best."""
    prepared = kit(40)
    labs = targets(prepared, 40, 10)
    print("\n(c) KD-tree over prepared Lab, 40 colorants, 50 targets, kL 0.5:")
    for taken in (10, 100, 1000):
        best, ten = tree_misses(prepared, labs, taken)
        print(f"    nearest {taken} re-ranked: the best missed {best} times, the ten {ten} times")


if __name__ == "__main__":
    single_targets()
    growth("--large" in sys.argv)
    tree()
