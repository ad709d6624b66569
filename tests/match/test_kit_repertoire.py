"""All short recipes of a kit of several media."""

from collections.abc import Callable

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance
from laydown.match.ranking import Limits
from laydown.match.search.repertoire import repertoire
from laydown.media.film.fitting import fit_films
from laydown.media.kit.fit import KitFit, reflectance
from laydown.media.marker.fitting import fit_markers
from laydown.media.recipe import Colorant, Medium, Paper, Recipe, Step
from laydown.media.swatch import Swatch

PAPER = Paper("Gannet smooth", np.linspace(0.85, 0.9, 36))
NAMED = {
    Medium.MARKER: ("Kelp", "Dune"),
    Medium.PENCIL: ("Fern", "Root"),
    Medium.WASH: ("Loam", "Reed"),
}
LIMITS = Limits(steps=2, coats=2)


@pytest.fixture(scope="module")
def kit() -> KitFit:
    """Return a kit of two colorants of each medium, one coat of each swatched."""
    made = {}
    for number, (medium, names) in enumerate(NAMED.items()):
        swatches = []
        for place, name in enumerate(names):
            lean = np.exp((0.4 - 0.5 * place - 0.1 * number) * np.linspace(-1, 1, 36))
            seen = PAPER.reflectance * (0.5 + 0.1 * place) * lean
            recipe = Recipe((Step(Colorant(name, f"The {medium}", medium)),))
            swatches.append(Swatch(PAPER.name, recipe, seen))
        made[medium] = (
            fit_markers(swatches, PAPER)
            if medium is Medium.MARKER
            else fit_films(swatches, PAPER, medium)
        )
    return KitFit(*made.values())


def test_every_recipe_is_there_once_with_its_color(
    kit: KitFit, every_recipe: Callable[..., list[Recipe]]
) -> None:
    """The repertoire is the plain list of all recipes, colored as the model colors them."""
    found = repertoire(kit, limits=LIMITS)
    recipes = [found.recipe(place) for place in range(len(found))]
    plain = every_recipe(kit, LIMITS)
    assert len(recipes) == len(plain)
    assert set(recipes) == set(plain)
    assert recipes[0] == Recipe()
    some = range(0, len(recipes), 7)
    seen = np.array([reflectance(kit, recipes[place]) for place in some])
    assert found.lab[list(some)] == pytest.approx(lab_from_reflectance(seen), abs=1e-6)


def test_members_are_the_colorants_of_each_recipe(kit: KitFit) -> None:
    """What a recipe needs is told, mixtures included; without a medium its recipes are gone."""
    found = repertoire(kit, limits=LIMITS)
    for place in range(0, len(found), 5):
        used = {found.colorants[m] for m in found.members[place] if m >= 0}
        assert used == set(found.recipe(place).colorants)
    held = np.array([c.medium is not Medium.WASH for c in found.colorants])
    fewer = found.made_from(held)
    media = {c.medium for i in range(len(fewer)) for c in fewer.recipe(i).colorants}
    assert media == {Medium.MARKER, Medium.PENCIL}
