from collections import Counter

import numpy as np

from laydown.media.film.fitting import fit_films
from laydown.media.kit.fit import KitFit, minimum_design, missing, next_swatch, swatched
from laydown.media.laydown import Laydown
from laydown.media.marker.fitting import fit_markers
from laydown.media.recipe import Colorant, Medium, Paper, Recipe, Step
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
    """A range of 24 pencils needs 59 patches, no more, and of 24 pans, each over a dark, 81."""
    for medium, most in ((Medium.PENCIL, 59), (Medium.WASH, 81)):
        range_ = [Colorant(f"Leaf {i}", "Meadow", medium) for i in range(24)]
        assert len(minimum_design(range_)) == most


def test_each_pan_is_asked_for_over_a_dark_until_it_covers_another() -> None:
    """Depths on white don't say how far a wash covers; what lies over a dark isn't asked for."""
    pans = [Colorant(name, "Pond", Medium.WASH) for name in ("Reed", "Loam", "Silt")]
    alone = [
        Swatch(PAPER.name, Recipe((Step(c, Laydown(coats=n)),)), left**n * PAPER.reflectance)
        for c, left in zip(pans, (0.9, 0.7, 0.5), strict=True)
        for n in (1, 3)
    ]
    reed, loam, silt = pans
    over = Swatch(PAPER.name, Recipe((Step(silt), Step(reed))), 0.4 * PAPER.reflectance)
    for swatches, asked in ((alone, {reed, loam}), ([*alone, over], {loam})):
        fit = fit_films(swatches, PAPER, Medium.WASH)
        dark = [r for r in missing(fit) if len(r.steps) == 2 and r.colorants[0] == silt]
        assert {r.colorants[1] for r in dark} == asked
        recipe = Recipe((Step(reed), Step(loam)))
        assert any("Loam over a dark" in word for word in fit.outside(recipe))
        assert not any("over a dark" in word for word in fit.outside(Recipe((Step(loam),))))
        swatch, why = next_swatch(fit, [Recipe((Step(loam),))])
        assert swatch == Recipe((Step(silt), Step(loam)))
        assert "how far Loam covers" in why


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
