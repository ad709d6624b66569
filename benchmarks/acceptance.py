"""Whether chances of being accepted are kept: `python benchmarks/acceptance.py`.

Simulated ranges of twelve, their minimum designs swatched; colors near true ones are answered by
match, the answers laid once by the same hand, and looked at. Nothing was tuned on these seeds.
Results go to ``benchmarks/results/acceptance.csv``.
"""

import csv
import runpy
import sys
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import numpy as np

from laydown.color.lab import lab_from_reflectance
from laydown.demo.oracle import Steadiness, by_hand, truth
from laydown.media.kit.fit import KitFit
from laydown.media.recipe import Medium, Recipe
from laydown.media.swatch import Basis

sys.path.insert(0, str(Path(__file__).parent.parent / "tests"))
from simulated.people import any_recipe, swatched_range
from simulated.promises import by_class, promised_and_kept, wanted_near

TESTS = Path(__file__).parent.parent / "tests"
RESULTS = Path(__file__).parent / "results" / "acceptance.csv"
CLASSES = ("under 1 in 3", "1 to 2 in 3", "over 2 in 3")
SHARES = (0.0, 0.1, 1.0)
SEEDS = (41, 42, 43)
COLORS = 40


def main() -> None:
    """Run all and write the table."""
    asked = {f"marker, dye in the top {s:g} of the paper": partial(markers, s) for s in SHARES}
    asked |= {str(m): partial(films, m) for m in (Medium.PENCIL, Medium.WASH)}
    rows, found = list[tuple[str, ...]](), list[np.ndarray]()
    for name, ask in asked.items():
        found.append(np.concatenate([ask(seed) for seed in SEEDS]))
        rows += told(name, found[-1])
    rows += told("all", np.concatenate(found))
    with RESULTS.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerows([("range", "promised", "colors", "promised mean", "kept"), *rows])


def told(name: str, rows: np.ndarray) -> Iterator[tuple[str, ...]]:
    """Yield a row of the table for each class of chances."""
    for promised, (count, said, kept) in zip(CLASSES, by_class(rows), strict=True):
        row = name, promised, str(count), f"{said:.2f}", f"{kept:.2f}"
        print(*row, sep=" | ", flush=True)
        yield row


def markers(share: float, seed: int) -> np.ndarray:
    """Return promised and kept chances of colors asked of markers."""
    known, rng = swatched_range(seed, colorants=12, share=share), np.random.default_rng([seed, 3])
    near = [any_recipe(known.colorants, rng) for _ in range(COLORS)]
    labs = [lab_from_reflectance(truth(known.bench, recipe)) for recipe in near]

    def lay(recipe: Recipe) -> np.ndarray:
        return by_hand(known.bench, recipe, Steadiness(), rng)

    return promised_and_kept(known.fit, wanted_near(labs, rng), lay)


def films(medium: Medium, seed: int) -> np.ndarray:
    """Return the same of pencils or washes."""
    made = runpy.run_path(str(TESTS / "media" / "test_film_fit.py"))["Trial"]
    run = made(medium, Basis.SPECTRUM, seed)
    labs = [lab_from_reflectance(run.bench.truth(recipe)) for recipe in run.pairs(COLORS)]

    def lay(recipe: Recipe) -> np.ndarray:
        uneven = np.exp(run.hand * run.rng.standard_normal(recipe.coats))
        return np.asarray(run.bench.truth(recipe, uneven))

    fit = run.fit()
    pencils, washes = (fit, None) if medium is Medium.PENCIL else (None, fit)
    return promised_and_kept(KitFit(None, pencils, washes), wanted_near(labs, run.rng), lay)


if __name__ == "__main__":
    main()
