"""How far layers of two media are from simulated light: `python benchmarks/mixed_media.py`.

Six markers, pencils and washes a seed, the minimum design of each medium swatched by a noisy hand,
20 recipes of one medium over another of any laydown; no swatch shows two media. Rivals on the same
recipes: the top layer alone, and multiplying what the layers reflect. Rewrites ``mixed_media.csv``
beside this file.
"""

import csv
import runpy
import sys
from pathlib import Path

import numpy as np

from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.media.kit.fit import predict, reflectance
from laydown.media.recipe import Recipe
from laydown.media.swatch import Basis

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "tests"))
SEEDS = (1, 2, 3, 4)
COUNT = 20
CHI_SQUARE_80 = 4.6416
HEAD = ["layers", "read as", "mean", "95th", "held of 80 %", "top alone", "multiplied"]


def main() -> None:
    """Run all seeds and write the table."""
    trials = runpy.run_path(str(HERE.parent / "tests" / "media" / "test_mixed_media.py"))
    rows = []
    for basis in Basis:
        runs = [trials["MixedTrial"](seed, basis) for seed in SEEDS]
        fits = [run.fit() for run in runs]
        for below, above in trials["OVER"]:
            each = [judged(*one, below, above) for one in zip(runs, fits, strict=True)]
            means = [f"{x:.2f}" for x in np.mean(each, axis=0)]
            rows.append([f"{above} over {below}", basis.value, *means])
            print(*rows[-1], sep="  ")
    with (HERE / "mixed_media.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([HEAD, *rows])


def judged(run, fit, below, above) -> list[float]:
    """Return mean, 95th percentile, share inside 80 % regions, and the rivals' means."""
    recipes = run.layered(below, above, COUNT)
    seen = run.truths(recipes)
    off = ciede2000(seen, lab_from_reflectance(np.array([reflectance(fit, r) for r in recipes])))
    inside = []
    for recipe in recipes:
        said = predict(fit, recipe)
        away = lab_from_reflectance(run.swatch(recipe).reflectance) - said.lab
        inside.append(float(away @ np.linalg.solve(said.covariance, away)) <= CHI_SQUARE_80)
    parts = np.array([[reflectance(fit, Recipe((s,))) for s in r.steps] for r in recipes])
    product = lab_from_reflectance(parts[:, 0] * parts[:, 1] / fit.paper.reflectance)
    return [
        float(off.mean()),
        float(np.quantile(off, 0.95)),
        float(np.mean(inside)),
        float(ciede2000(seen, lab_from_reflectance(parts[:, 1])).mean()),
        float(ciede2000(seen, product).mean()),
    ]


if __name__ == "__main__":
    main()
