"""Would residuals that carry to near recipes help? `python benchmarks/carried_residuals.py`.

Five simulated benches, dye from film to fibre, each five times: the minimum design, two coats of
each dye and 30 layered recipes are swatched; 80 other layered recipes are predicted, by the model
alone and with a Gaussian process over what it leaves of the layered swatches. Its covariance is the
share of coats that two recipes have in common, to a power; all powers and noises are tried, so that
the best of them flatters the process.
"""

import sys
from collections import Counter
from itertools import product
from pathlib import Path

import numpy as np

from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.demo.oracle import Steadiness, swatch, truths
from laydown.media.inference.prediction import without_residuals
from laydown.media.kit.fit import predict_lab
from laydown.media.laydown import Laydown
from laydown.media.marker.design import minimum_design
from laydown.media.marker.fitting import fit_markers
from laydown.media.recipe import Paper, Recipe, Step

sys.path[:0] = [str(Path(__file__).parent.parent / "tests" / room) for room in (".", "media")]
from test_bench import SHARES, disturbed_bench, layered  # noqa: E402

SEEDS = (1, 2, 3, 41, 42)
POWERS, NOISES = (1, 2, 4), (1, 3, 10, 30)
"""Of the covariance, and the variance of noise as a multiple of the process's."""


def in_common(one: Recipe, other: Recipe) -> float:
    """Return the share of coats that two recipes have in common."""
    first, second = (
        Counter({s.colorant: s.laydown.coats for s in recipe.steps}) for recipe in (one, other)
    )
    shared = sum(np.sqrt(first[c] * second[c]) for c in first if c in second)
    return float(shared / np.sqrt(first.total() * second.total()))


def off_with_and_without(share: float, seed: int) -> dict[tuple[int, int], tuple[float, float]]:
    """Return by power and noise the mean ΔE00 of the model alone and with the process."""
    rng, hand = np.random.default_rng(1000 + seed), Steadiness(spread=0.06)
    bench, dyes, strengths = disturbed_bench(share, seed)
    swatched, unseen = (layered(dyes, rng, count) for count in (30, 80))
    twice = [Recipe((Step(dye, Laydown(coats=2)),)) for dye in dyes]
    recipes = dict.fromkeys([*minimum_design(dyes, strengths), *swatched, *twice])
    paper, *swatches = [swatch(bench, recipe, hand, rng) for recipe in recipes]
    fit = without_residuals(fit_markers(swatches, Paper(bench.paper, paper.reflectance)))
    known = [s for s in swatches if s.recipe.coats > 1]
    left = lab_from_reflectance(np.array([s.reflectance for s in known]))
    left -= predict_lab(fit, [s.recipe for s in known])
    near = np.array([[in_common(a.recipe, b.recipe) for b in known] for a in known])
    near_unseen = np.array([[in_common(a, b.recipe) for b in known] for a in unseen])
    said, true = predict_lab(fit, unseen), lab_from_reflectance(truths(bench, unseen))
    found = {}
    for power, noise in product(POWERS, NOISES):
        weights = np.linalg.solve(near**power + noise * np.eye(len(known)), left)
        moved = said + near_unseen**power @ weights
        found[power, noise] = tuple(float(ciede2000(x, true).mean()) for x in (said, moved))
    return found


def main() -> None:
    """Print what the best process of each bench brings, and what each brings over all."""
    changes = Counter[tuple[int, int]]()
    for share in SHARES:
        runs = [off_with_and_without(share, seed) for seed in SEEDS]
        means = {key: np.mean([run[key] for run in runs], axis=0) for key in runs[0]}
        best = min(means, key=lambda key: means[key][1])
        print(f"share {share}: {means[best][0]:.2f}, with the best process {means[best][1]:.2f}")
        changes.update({key: float(x[1] - x[0]) / len(SHARES) for key, x in means.items()})
    for (power, noise), change in sorted(changes.items()):
        print(f"power {power}, noise {noise}: {change:+.3f}")


if __name__ == "__main__":
    main()
