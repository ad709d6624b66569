from dataclasses import replace

import numpy as np
import pytest

from laydown.color.arrays import FloatArray
from laydown.color.lab import WEIGHTS_D50, ciede2000, lab_from_reflectance
from laydown.color.light import DAY, find_light, named_lights
from laydown.match.outcome import Target
from laydown.match.pairing import pair_of
from laydown.media.kit.fit import reflectance
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Recipe, parse_recipe
from laydown.plan.light.lights import (
    Holding,
    LightedMatch,
    change_words,
    holding,
    summary_words,
    under_lights,
    verdict_words,
)

LIGHTS = tuple(one for one in named_lights() if one.cie != DAY)
TOLERANCE = 2.25


def recipe_of(fit: MarkerFit, text: str) -> Recipe:
    """Read a recipe of the kit's colorants."""
    return parse_recipe(text, lambda name: next(c for c in fit.colorants if c.name == name))


def metamer(spectrum: FloatArray, size: float) -> FloatArray:
    """Return a spectrum of the same color by day, apart from it by a wave that daylight hides."""
    basis, _ = np.linalg.qr(spectrum[:, None] * WEIGHTS_D50)
    wave = np.cos(np.arange(36) / 3.0)
    return np.asarray(spectrum * (1.0 + size * (wave - basis @ (basis.T @ wave))))


def measured(spectrum: FloatArray) -> Target:
    """Return a target with its spectrum, read without any noise."""
    return Target("wanted", lab_from_reflectance(spectrum), reflectance=spectrum)


def seen(fit: MarkerFit, target: Target, text: str) -> LightedMatch:
    """Check a recipe against a target under all lights."""
    return under_lights(
        pair_of(target, fit, recipe_of(fit, text)),
        recipe_of(fit, text),
        day=find_light(DAY),
        lights=LIGHTS,
        tolerance=TOLERANCE,
    )


def test_the_same_spectrum_holds_under_every_light(quay: MarkerFit) -> None:
    """A recipe wanted as itself has no difference and no index anywhere."""
    own = reflectance(quay, recipe_of(quay, "Ochre; Sky"))
    check = seen(quay, measured(own), "Ochre; Sky")
    assert check.holding is Holding.HOLDS
    assert verdict_words(check) == "holds under all lights asked for"
    assert max(one.index for one in check.lights) < 1e-9
    assert max(one.difference.delta_e for one in check.lights) < 1e-9
    assert {change_words(one) for one in check.lights} == {"stays"}


def test_a_pair_that_agrees_by_day_alone_breaks_by_lamp(quay: MarkerFit) -> None:
    """Built to match by day, a metamer is off by lamp, and all of that is the light's doing."""
    spectrum = reflectance(quay, recipe_of(quay, "Ochre; Sky"))
    target = measured(metamer(spectrum, 0.5))
    check = seen(quay, target, "Ochre; Sky")
    assert check.by_day.difference.delta_e < 1e-6
    lamp = next(one for one in check.lights if one.light.cie == "A")
    weights = find_light("A").weights
    expected = float(
        ciede2000(
            lab_from_reflectance(metamer(spectrum, 0.5), weights=weights),
            lab_from_reflectance(spectrum, weights=weights),
        )
    )
    assert expected > TOLERANCE
    assert lamp.difference.delta_e == pytest.approx(expected, abs=1e-9)
    assert lamp.index == pytest.approx(expected, abs=1e-6)
    assert lamp.holding is Holding.BREAKS
    assert lamp in check.where(Holding.BREAKS)
    assert check.holding is Holding.BREAKS
    assert "evening lamp" in verdict_words(check).partition("drifts")[0]
    assert lamp.acceptance < check.by_day.acceptance


def test_a_light_that_changes_little_is_seen_as_little(quay: MarkerFit) -> None:
    """The same pair with a tenth of the wave holds, since nobody would notice."""
    spectrum = reflectance(quay, recipe_of(quay, "Ochre; Sky"))
    check = seen(quay, measured(metamer(spectrum, 0.05)), "Ochre; Sky")
    assert check.holding is Holding.HOLDS
    assert 0 < max(one.index for one in check.lights) < 0.8


def test_the_range_holds_the_index_of_a_sure_pair(quay: MarkerFit) -> None:
    """The index lies within the range that is told of it where little is left open."""
    spectrum = reflectance(quay, recipe_of(quay, "Ochre"))
    check = seen(quay, measured(metamer(spectrum, 0.5)), "Ochre")
    for one in check.lights:
        if one.index > 1.0:
            assert one.index_range[0] <= one.index <= one.index_range[1]


def test_a_color_without_a_spectrum_is_less_sure(quay: MarkerFit) -> None:
    """Known by its Lab alone, the same color has a wider range under a lamp, not by day."""
    spectrum = reflectance(quay, recipe_of(quay, "Ochre"))
    known = measured(spectrum)
    sure, guessed = (
        seen(quay, target, "Ochre") for target in (known, replace(known, reflectance=None))
    )
    wide = [one.index_range[1] - one.index_range[0] for one in guessed.lights]
    narrow = [one.index_range[1] - one.index_range[0] for one in sure.lights]
    assert all(w > n for w, n in zip(wide, narrow, strict=True))
    assert guessed.by_day.acceptance == pytest.approx(sure.by_day.acceptance, abs=1e-6)


def test_noise_of_the_reading_widens_the_range_a_little(quay: MarkerFit) -> None:
    """What the instrument may be off by does nearly the same under both lights, not quite."""
    spectrum = reflectance(quay, recipe_of(quay, "Ochre"))
    sure, noisy = (
        seen(
            quay,
            replace(measured(metamer(spectrum, 0.5)), covariance=variance * np.eye(3)),
            "Ochre",
        )
        for variance in (0.0, 9.0)
    )
    for one, other in zip(sure.lights, noisy.lights, strict=True):
        wide, narrow = (
            low_high[1] - low_high[0] for low_high in (other.index_range, one.index_range)
        )
        assert narrow < wide < narrow + 2.0
    assert noisy.by_day.acceptance < sure.by_day.acceptance


@pytest.mark.parametrize(
    ("by_day", "there", "index", "expected"),
    [
        (0.0, 0.7, 0.7, "holds"),
        (2.2, 2.4, 0.3, "holds"),
        (0.5, 1.9, 1.6, "drifts"),
        (0.5, 2.4, 2.0, "breaks"),
        (2.2, 2.3, 0.9, "breaks"),
        (4.0, 4.5, 1.5, "drifts"),
        (4.0, 1.0, 3.5, "drifts"),
        (4.0, 5.0, 1.5, "breaks"),
    ],
)
def test_the_three_verdicts(by_day: float, there: float, index: float, expected: str) -> None:
    """Unnoticed holds; seen and borne drifts; accepted no longer, or noticeably worse, breaks."""
    assert holding(by_day, there, index, tolerance=TOLERANCE).value == expected


def test_matches_are_counted_by_their_worst(quay: MarkerFit) -> None:
    """A lesson's summary counts each match once."""
    spectrum = reflectance(quay, recipe_of(quay, "Ochre; Sky"))
    checks = [
        seen(quay, measured(metamer(spectrum, size)), "Ochre; Sky") for size in (0.0, 0.02, 0.5)
    ]
    assert (
        summary_words(checks)
        == "Of 3 matches 2 hold under all lights and 1 breaks under one or more."
    )
