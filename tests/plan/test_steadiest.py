from typing import Any

import numpy as np
import pytest

from laydown.color.arrays import FloatArray
from laydown.color.lab import WEIGHTS_D50, ciede2000, lab_from_reflectance
from laydown.color.light import find_light
from laydown.match.outcome import Target
from laydown.match.question import Question
from laydown.match.ranking import VALUE_FIRST, Limits
from laydown.match.search.repertoire import repertoire
from laydown.media.kit.fit import reflectance
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Recipe
from laydown.plan.light.lights import Steadiest, instead_words, steadiest

LIGHTS = tuple(find_light(name) for name in ("D50", "D65", "A", "FL11", "LED-B1"))
LIMITS = Limits(steps=2, coats=2)


def question(fit: MarkerFit, spectrum: FloatArray, **more: Any) -> Question:
    """Ask for a measured spectrum."""
    target = Target("wanted", lab_from_reflectance(spectrum), reflectance=spectrum)
    told = {"limits": LIMITS, "ranking": VALUE_FIRST, "tolerance": 2.25, "over": Recipe(), **more}
    return Question(target, fit, **told)


def wavy(fit: MarkerFit, seed: int) -> FloatArray:
    """Return a recipe's spectrum with a wave that daylight hardly sees."""
    rng = np.random.default_rng(seed)
    known = repertoire(fit, limits=LIMITS)
    spectrum = reflectance(fit, known.recipe(int(rng.integers(1, len(known)))))
    wave = np.cos(np.arange(36) / rng.uniform(2.0, 5.0) + rng.uniform(0, 6))
    basis, _ = np.linalg.qr(spectrum[:, None] * WEIGHTS_D50)
    return np.asarray(spectrum * (1.0 + 0.6 * (wave - basis @ (basis.T @ wave))))


def worst_by_hand(fit: MarkerFit, recipe: Recipe, wanted: FloatArray) -> float:
    """See one recipe under one light after the other, and keep the worst."""
    spectrum = reflectance(fit, recipe)
    return max(
        float(
            ciede2000(
                lab_from_reflectance(wanted, weights=light.weights),
                lab_from_reflectance(spectrum, weights=light.weights),
            )
        )
        for light in LIGHTS
    )


@pytest.mark.parametrize("seed", range(6))
def test_no_recipe_has_a_lesser_worst(quay: MarkerFit, seed: int) -> None:
    """Brute force over every recipe within the limits finds the least that is called proven."""
    wanted = wavy(quay, seed)
    asked = question(quay, wanted)
    recommended = asked.find().recipes[0]
    found = steadiest(asked, recommended, wanted, LIGHTS)
    known = repertoire(quay, limits=LIMITS)
    worsts = [worst_by_hand(quay, known.recipe(i), wanted) for i in range(len(known))]
    assert found.proven
    assert found.least == pytest.approx(min(worsts), abs=1e-6)
    assert found.worst == pytest.approx(worst_by_hand(quay, recommended, wanted), abs=1e-9)
    if found.recipe is not None:
        assert found.worst_instead == pytest.approx(
            worst_by_hand(quay, found.recipe, wanted), abs=1e-9
        )
        assert found.worst_instead < found.worst


def test_an_offer_is_accepted_everywhere_or_noticeably_nearer(quay: MarkerFit) -> None:
    """Over many targets an offer is never made for less, and some are made."""
    offers = 0
    for seed in range(12):
        wanted = wavy(quay, seed)
        asked = question(quay, wanted)
        found = steadiest(asked, asked.find().recipes[0], wanted, LIGHTS)
        if found.recipe is None:
            assert found.worst_instead == found.worst
            continue
        offers += 1
        assert found.worst_instead <= 2.25 < found.worst or (
            found.worst_instead <= found.worst - 0.8 + 1e-9
        )
    assert offers > 0


def test_what_is_accepted_everywhere_is_offered_even_where_it_is_little_nearer(
    quay: MarkerFit,
) -> None:
    """With the tolerance just below the recommended one's worst, an offer lies within it."""
    offers = 0
    for seed in range(32, 42):
        wanted = wavy(quay, seed)
        recommended = question(quay, wanted).find().recipes[0]
        worst = worst_by_hand(quay, recommended, wanted)
        asked = question(quay, wanted, tolerance=worst - 0.01)
        found = steadiest(asked, recommended, wanted, LIGHTS)
        assert (found.recipe is None) == (found.least > worst - 0.01)
        if found.recipe is not None:
            offers += 1
            assert found.worst_instead <= worst - 0.01
    assert offers > 0


def test_what_holds_already_needs_no_other(quay: MarkerFit) -> None:
    """A recipe wanted as itself is its own steadiest, seen and proven at once."""
    known = repertoire(quay, limits=LIMITS)
    recipe = known.recipe(5)
    wanted = reflectance(quay, recipe)
    found = steadiest(question(quay, wanted), recipe, wanted, LIGHTS)
    assert (found.recipe, found.proven) == (None, True)
    assert found.least == pytest.approx(0.0, abs=1e-6)


def test_what_lies_there_stays_there(quay: MarkerFit) -> None:
    """Recipes are seen over what the paper carries already."""
    ochre = repertoire(quay, limits=Limits(steps=1, coats=1)).recipe(2)
    wanted = wavy(quay, 3)
    asked = question(quay, wanted, over=ochre)
    found = steadiest(asked, Recipe(), wanted, LIGHTS)
    assert found.worst == pytest.approx(worst_by_hand(quay, ochre, wanted), abs=1e-9)


def test_a_search_cut_short_says_so() -> None:
    """Where not all recipes were seen, the words say how many were."""
    cut = instead_words(Steadiest(None, 9.0, 9.0, 8.8, 2000, proven=False))
    assert "of the 2,000 recipes nearest by day" in cut
    assert "all recipes" not in cut
