"""Prepared tables on disk."""

from dataclasses import replace

import numpy as np
import pytest

from laydown.app.matches import colors as table_cache
from laydown.app.matches.colors import Tables, key_of
from laydown.match.ranking import Limits, Ranking, Wanted
from laydown.match.search.recipes import RecipeSpace, recipe_space
from laydown.match.search.search import search_once
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from laydown.media.swatch import Swatch


@pytest.fixture(scope="module")
def fit() -> MarkerFit:
    """Fit three invented colorants from one coat each."""
    paper = Paper("Gannet smooth", np.full(36, 0.9))
    shapes = [np.linspace(0.2, 0.8, 36), np.linspace(0.8, 0.1, 36), np.full(36, 0.3)]
    swatches = [
        Swatch(paper.name, Recipe((Step(Colorant(name, "Estuary")),)), shape)
        for name, shape in zip(("Kelp", "Dune", "Slate"), shapes, strict=True)
    ]
    return fit_markers(swatches, paper)


def ready(fit: MarkerFit, steps: int = 2) -> RecipeSpace:
    """Return the kit's recipes of so many steps."""
    return recipe_space(fit, limits=Limits(steps=steps))


def test_another_fit_or_limit_has_another_table_and_another_ranking_has_not(
    fit: MarkerFit,
) -> None:
    """The hash follows what the colors depend on, and nothing else."""
    usual = key_of(ready(fit))
    other = replace(fit, absorption=fit.absorption * 1.001)
    assert key_of(ready(other)) != usual
    assert key_of(ready(fit, steps=3)) != usual
    assert key_of(recipe_space(fit, limits=Limits(steps=2), ranking=Ranking(k_L=1.0))) == usual


def test_a_task_of_many_colors_makes_a_table_when_it_is_asked_again(
    fit: MarkerFit, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first color is searched in a pass, later ones in a table, with the answers of passes."""
    monkeypatch.setattr(table_cache, "FEWEST_RECIPES", 0)
    tables, space = Tables(4), ready(fit)
    for made, lab in enumerate(np.random.default_rng(0).uniform(20, 80, (3, 3))):
        assert len(tables.held) == max(made - 1, 0)
        wanted = Wanted(lab, 3, 0.5)
        found = tables.find(space, wanted, None)
        expected = search_once(space, wanted)
        assert found.recipes == expected.recipes
        np.testing.assert_array_equal(found.costs, expected.costs)
    assert list(tables.held) == [key_of(space)]


def test_few_colors_or_few_recipes_make_no_table(fit: MarkerFit) -> None:
    """Where passes are sooner done, nothing is made or kept."""
    for tables in (Tables(3), Tables(40)):
        for _ in range(3):
            tables.find(ready(fit), Wanted(np.array([50.0, 0.0, 0.0]), 3), None)
        assert not tables.held


def test_what_no_table_is_worth_is_laid_once(
    fit: MarkerFit, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two colors of a large kit share what lies below the last step, with the answers of passes."""
    monkeypatch.setattr(table_cache, "FEWEST_RECIPES", 0)
    tables, space, kept = Tables(2), ready(fit, steps=3), list[object]()
    for lab in np.random.default_rng(0).uniform(20, 80, (2, 3)):
        wanted = Wanted(lab, 3)
        found, expected = tables.find(space, wanted, None), search_once(space, wanted)
        assert found.recipes == expected.recipes
        np.testing.assert_array_equal(found.costs, expected.costs)
        kept += tables.held.values()
    assert kept[0] is kept[1]
    assert isinstance(kept[0], tuple)
