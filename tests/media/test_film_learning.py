from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest

from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.demo.films import FilmBench, Pigment
from laydown.media.film import design as film_design
from laydown.media.film.fitting import fit_films
from laydown.media.film.model import FilmFit
from laydown.media.inference.learning import learn
from laydown.media.laydown import Laydown
from laydown.media.recipe import Colorant, Medium, Paper, Recipe, Step
from laydown.media.swatch import Swatch, Trial
from simulated.dyes import dye_set, white_slab

COLORANTS = 6
HAND = {Medium.PENCIL: 0.7, Medium.WASH: 1.35}
"""A light hand with pencils, a heavy one with washes."""


@dataclass
class Scene:
    """A swatched range, someone's trials of it, and recipes to judge by."""

    fit: FilmFit
    trials: list[Trial]
    tests: list[Recipe]
    truth: Callable[[Recipe], np.ndarray]

    def missed(self, fit: FilmFit) -> float:
        """Return how far predictions are from what this person gets, mean CIEDE2000."""
        said = lab_from_reflectance(np.array([fit.reflectance(r) for r in self.tests]))
        seen = lab_from_reflectance(np.array([self.truth(r) for r in self.tests]))
        return float(ciede2000(seen, said).mean())


@pytest.fixture(scope="module", params=[Medium.PENCIL, Medium.WASH])
def scene(request: pytest.FixtureRequest) -> Scene:
    """Six colorants of a medium on the bench, and ten trials by another hand."""
    medium, rng = request.param, np.random.default_rng(4)
    kit = [Colorant(f"Dye {i}", "Test", medium) for i in range(COLORANTS)]
    dyes = dye_set(3, COLORANTS).values()
    pigments = {
        c.label: Pigment(dye.absorption, np.full(36, 0.8 if medium is Medium.PENCIL else 0.25))
        for c, dye in zip(kit, dyes, strict=True)
    }
    bench = FilmBench(white_slab(share=0.1), pigments)
    paper = Paper("Test white", bench.truth(Recipe()))
    depth = [-bench.truth(Recipe((Step(c),))).mean() for c in kit]
    swatches = [
        Swatch(paper.name, recipe, bench.truth(recipe))
        for recipe in film_design.minimum_design(kit, depth)[1:]
    ]
    fit = fit_films(swatches, paper, medium, colorants=kit)

    def truth(recipe: Recipe) -> np.ndarray:
        return bench.truth(recipe, np.full(recipe.coats, HAND[medium]))

    def by_hand(recipe: Recipe) -> np.ndarray:
        factors = HAND[medium] * np.exp(0.06 * rng.standard_normal(recipe.coats))
        return lab_from_reflectance(bench.truth(recipe, factors))

    def pair(a: int, b: int) -> Recipe:
        return Recipe((Step(kit[a]), Step(kit[b])))

    laid = [
        *(Recipe((Step(c),)) for c in kit[:4]),
        *(Recipe((Step(c, Laydown(2)),)) for c in kit[2:5]),
        pair(0, 1), pair(3, 2), pair(4, 1),
    ]  # fmt: skip
    trials = [Trial(n, recipe, by_hand(recipe)) for n, recipe in enumerate(laid, 1)]
    tests = [pair(5, 0), pair(1, 5), pair(2, 4), Recipe((Step(kit[5]),)), pair(0, 3)]
    return Scene(fit, trials, tests, truth)


def test_without_trials_nothing_changes(scene: Scene) -> None:
    """The fit of swatches is handed back itself."""
    assert learn(scene.fit, []).fit is scene.fit


def test_a_hand_with_pencils_or_washes_is_learned(scene: Scene) -> None:
    """Ten trials bring recipes never tried nearer by at least two fifths; none is set aside."""
    learned = learn(scene.fit, scene.trials)
    assert scene.missed(learned.fit) < 0.6 * scene.missed(scene.fit)
    assert np.sign(learned.amount) == np.sign(np.log(HAND[scene.fit.medium]))
    assert learned.flagged_numbers == ()


def test_a_slip_is_flagged(scene: Scene) -> None:
    """A trial whose colors belong to another recipe is set aside."""
    wrong = Trial(99, scene.trials[0].recipe, scene.trials[3].lab)
    assert learn(scene.fit, [*scene.trials, wrong]).flagged_numbers == (99,)


def test_trials_narrow_what_is_open(scene: Scene) -> None:
    """Ten trials leave less open of the amounts than two."""
    few, many = (learn(scene.fit, scene.trials[:n]) for n in (2, 10))
    assert many.amount_deviation < few.amount_deviation < 0.27
