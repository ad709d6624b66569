from collections import Counter

import numpy as np

from laydown.media.colorant import Colorant, Paper
from laydown.media.film.fitting import fit_films
from laydown.media.kit.design import minimum_design, missing, swatched
from laydown.media.kit.fit import KitFit
from laydown.media.laydown import Medium
from laydown.media.marker.marker import fit_markers
from laydown.media.recipe import Recipe, Step
from laydown.media.swatch import Swatch

PAPER = Paper("Gannet smooth", np.linspace(0.85, 0.9, 36))
KELP, FERN = Colorant("Kelp", "Estuary"), Colorant("Fern", "Meadow", Medium.PENCIL)
LOAM = Colorant("Loam", "Pond", Medium.WASH)


def test_each_medium_gets_its_own_design_and_the_paper_is_left_bare_once() -> None:
    """A kit's design is its media's designs one after the other, with one bare patch."""
    whole = minimum_design([KELP, FERN, LOAM])
    assert Counter(whole)[Recipe()] == 1
    for colorant in (KELP, FERN, LOAM):
        own = minimum_design([colorant])[1:]
        assert set(own) <= set(whole)
        assert all(recipe.colorants == (colorant,) for recipe in own)


def test_an_evening_is_enough_for_a_range_of_24() -> None:
    """A range of 24 pencils or washes needs 59 patches, no more."""
    for medium in (Medium.PENCIL, Medium.WASH):
        range_ = [Colorant(f"Leaf {i}", "Meadow", medium) for i in range(24)]
        assert len(minimum_design(range_)) == 59


def test_what_is_missing_is_missing_in_each_medium() -> None:
    """One coat of each swatched, the deep ones and the thin ones are still missing."""
    ones = [Swatch(PAPER.name, Recipe((Step(c),)), 0.5 * PAPER.reflectance) for c in (KELP, FERN)]
    fit = KitFit(fit_markers(ones[:1], PAPER), fit_films(ones[1:], PAPER, Medium.PENCIL))
    left = missing(fit)
    assert {c for recipe in left for c in recipe.colorants} == {KELP, FERN}
    assert swatched(fit) == {swatch.recipe for swatch in ones}
    assert not set(left) & swatched(fit)
    alone = fit_markers(ones[:1], PAPER)
    assert swatched(alone) == {ones[0].recipe}
    assert set(missing(alone)) <= set(left)
