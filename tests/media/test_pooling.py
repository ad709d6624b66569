from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from laydown.media.kit.fit import predict, reflectance
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit, pool
from laydown.media.marker.priors import LATER_COAT, SCALE, usual_priors
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from laydown.media.swatch import Swatch
from learn_priors import learn_priors


def of_range(swatches: Sequence[Swatch], name: str) -> list[Swatch]:
    """Return the same swatches, of a range of another name."""
    return [
        replace(s, recipe=Recipe(tuple(
            replace(step, colorant=replace(step.colorant, range=name)) for step in s.recipe.steps
        )))
        for s in swatches
    ]  # fmt: skip


@pytest.fixture(scope="module")
def two(full: Sequence[Swatch], paper: Paper) -> tuple[MarkerFit, MarkerFit]:
    """A range known well, and another known by one coat of each."""
    return fit_markers(full, paper), fit_markers(of_range(full[:4], "Dune"), paper)


def test_one_coat_of_each_stays_exact(two: tuple[MarkerFit, MarkerFit]) -> None:
    """In the pool one coat of every colorant reflects what it did in its own fit."""
    pooled = pool(two)
    assert len(pooled.colorants) == 10
    for fit in two:
        for colorant in fit.colorants:
            recipe = Recipe((Step(colorant),))
            assert reflectance(pooled, recipe) == pytest.approx(reflectance(fit, recipe), abs=1e-9)


def test_the_surer_range_leads_and_differences_widen(two: tuple[MarkerFit, MarkerFit]) -> None:
    """The pooled scale lies near the surer fit's, no surer than that fit, and apart is noted."""
    sure, _ = two
    pooled = pool(two)
    assert abs(pooled.scale - sure.scale) < 0.05
    assert pooled.covariance[SCALE, SCALE] > sure.covariance[SCALE, SCALE]
    assert pooled.assumed == {"quick", "soaked", "wet"}
    assert any("differently deep" in note for note in pooled.notes)
    assert np.linalg.eigvalsh(pooled.covariance).min() > 0.0


def test_layers_across_ranges_have_an_answer(
    two: tuple[MarkerFit, MarkerFit], colorants: Sequence[Colorant]
) -> None:
    """A colorant of one range over one of the other is predicted, warnings aside."""
    other = replace(colorants[2], range="Dune")
    said = predict(pool(two), Recipe((Step(colorants[4]), Step(other))))
    assert said.warnings == ()
    assert np.linalg.eigvalsh(said.covariance).min() > 0.0


def test_what_cannot_be_pooled(two: tuple[MarkerFit, MarkerFit]) -> None:
    """Nothing, two papers, or one colorant twice can't be pooled."""
    with pytest.raises(ValueError, match="nothing"):
        pool([])
    with pytest.raises(ValueError, match="papers"):
        pool([two[0], replace(two[1], paper=replace(two[1].paper, name="Dunlin"))])
    with pytest.raises(ValueError, match="two of the fits"):
        pool([two[0], two[0]])


def test_priors_are_learned_from_fits_that_tell(two: tuple[MarkerFit, MarkerFit]) -> None:
    """A fit that assumes an effect teaches nothing of it; one that tells it becomes the mean."""
    learned = learn_priors(two)
    assert learned.mean[LATER_COAT] == two[0].later_coat
    assert learned.sd[LATER_COAT] < usual_priors().sd[LATER_COAT]
    assert learn_priors([two[1]]).mean.tolist() == usual_priors().mean.tolist()
    assert learn_priors([]) is usual_priors()
