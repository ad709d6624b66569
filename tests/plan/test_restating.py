from dataclasses import replace

import numpy as np
import pytest

from laydown.media.film.fitting import fit_films
from laydown.media.laydown import Laydown, Stroke
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Colorant, Medium, Paper, Recipe, Step
from laydown.media.swatch import Swatch
from laydown.plan.notebook import restate

KELP, SKIFF = Colorant("Kelp", "Shoal"), Colorant("Skiff", "Shoal")
BAND = np.linspace(0.0, 1.0, 36)


@pytest.fixture(scope="module")
def teacher() -> MarkerFit:
    """The teacher's fit of two markers."""
    paper = Paper("Gannet smooth", np.full(36, 0.9))
    spectra = (0.9 - 0.6 * BAND, 0.3 + 0.5 * BAND)
    swatches = [
        Swatch(paper.name, Recipe((Step(c),)), s)
        for c, s in zip((KELP, SKIFF), spectra, strict=True)
    ]
    return fit_markers(swatches, paper)


def by_hand(fit: MarkerFit, amount: float) -> MarkerFit:
    """Return the fit of someone who lays so much."""
    return replace(fit, absorption=amount * fit.absorption, strength=amount * fit.strength)


def test_a_like_hand_lays_it_as_they_do(teacher: MarkerFit) -> None:
    """Nothing is restated where nothing is gained."""
    recipe = Recipe((Step(KELP), Step(SKIFF)))
    found = restate(recipe, theirs=teacher, mine=teacher)
    assert found.mine == recipe
    assert found.words == ("Lay it as they do.",)


def test_a_light_hand_lays_two(teacher: MarkerFit) -> None:
    """Who lays little more than half takes two coats where the teacher takes one."""
    found = restate(Recipe((Step(KELP),)), theirs=teacher, mine=by_hand(teacher, 0.56))
    assert found.mine == Recipe((Step(KELP, Laydown(2)),))
    assert found.off < found.as_written
    assert found.words == ("Where they lay one coat of Kelp, lay two.",)


def test_a_heavy_hand_lays_light_ones(teacher: MarkerFit) -> None:
    """Who lays a quarter more takes a quick stroke."""
    found = restate(Recipe((Step(KELP),)), theirs=teacher, mine=by_hand(teacher, 1.3))
    assert found.mine == Recipe((Step(KELP, Laydown(stroke=Stroke.QUICK)),))
    assert found.words == ("Where they lay one coat of Kelp, lay one light coat.",)


@pytest.mark.parametrize(
    ("medium", "amount", "told"),
    [
        (Medium.PENCIL, 0.5, "lay two"),
        (Medium.PENCIL, 1.9, "light"),
        (Medium.WASH, 0.5, "lay two"),
        (Medium.WASH, 2.6, "half water"),
    ],
)
def test_pencils_and_washes_are_restated_too(medium: Medium, amount: float, told: str) -> None:
    """Who lays half as much lays two coats; who lays twice presses lightly or adds water."""
    paper = Paper("Gannet smooth", np.full(36, 0.9))
    colorants = [Colorant(name, "Meadow", medium) for name in ("Fern", "Root")]
    swatches = [
        Swatch(paper.name, Recipe((Step(c),)), spectrum)
        for c, spectrum in zip(colorants, (0.9 - 0.6 * BAND, 0.3 + 0.5 * BAND), strict=True)
    ]
    theirs = fit_films(swatches, paper, medium)
    own = theirs.own.copy()
    own[:, 0] += np.log(amount)
    mine = replace(theirs, own=own)
    found = restate(Recipe((Step(colorants[0]),)), theirs=theirs, mine=mine)
    assert found.off < 0.7 * found.as_written
    assert told in found.words[0]
