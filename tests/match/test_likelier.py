"""A blender is recommended only where nothing else is likelier to be accepted."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from laydown.color.lab import lab_from_reflectance
from laydown.match.judge import has_blender, match_color
from laydown.match.outcome import Target
from laydown.media.kit.fit import reflectance
from laydown.media.laydown import Laydown
from laydown.media.marker.marker import MarkerFit
from laydown.media.marker.priors import BLENDER
from laydown.media.recipe import Recipe, Step

Maker = Callable[..., MarkerFit]


def with_doubt(fit: MarkerFit, sd: float) -> MarkerFit:
    """Return a fit whose blender's share is known to so much."""
    covariance = np.array(fit.covariance)
    covariance[BLENDER, BLENDER] = sd**2
    return replace(fit, covariance=covariance)


def blended(fit: MarkerFit) -> tuple[Recipe, Target]:
    """Return a dark dye with two coats of blender on it, and its color as what is wanted."""
    dark = fit.colorants[1 + int(np.argmax(fit.strength[1:]))]
    recipe = Recipe((Step(dark), Step(fit.colorants[0], Laydown(coats=2))))
    return recipe, Target("wanted", lab_from_reflectance(reflectance(fit, recipe)))


def test_an_unsure_blender_yields_to_a_likelier_recipe(invented_kit: Maker) -> None:
    """What is recommended is never less likely accepted than the best without the blender."""
    fit = with_doubt(invented_kit(6, seed=3, blenders=1), 0.4)
    _, target = blended(fit)
    best = match_color(target, fit).best
    others = match_color(target, without_blender(fit))
    assert best.acceptance >= others.best.acceptance - 1e-9


def without_blender(fit: MarkerFit) -> MarkerFit:
    """Return the same kit with its blender, the first colorant, taken out."""
    rest = [*range(7), *range(8, 7 + len(fit.colorants))]
    return replace(
        fit,
        colorants=fit.colorants[1:],
        absorption=fit.absorption[1:],
        strength=fit.strength[1:],
        blender=fit.blender[1:],
        own=fit.own[1:],
        xyz_only=fit.xyz_only[1:],
        most_coats=fit.most_coats[1:],
        covariance=fit.covariance[np.ix_(rest, rest)],
    )


def test_the_note_says_why_the_blender_was_passed_over(invented_kit: Maker) -> None:
    """Where the nearest recipe blends and the one given doesn't, a sentence tells both."""
    told = 0
    for seed in range(6):
        fit = with_doubt(invented_kit(6, seed=seed, blenders=1), 0.5)
        _, target = blended(fit)
        match = match_color(target, fit)
        passed_over = any("its blender carries off" in note for note in match.notes)
        assert not (passed_over and has_blender(match.best.prediction.recipe))
        told += passed_over
    assert told > 0
