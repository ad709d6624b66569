"""Life of layered recipes, held to dyes as clear films over white, whose fading is Beer's law."""

import numpy as np
import pytest

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.color.spectra import WAVELENGTHS
from laydown.media.film.fitting import fit_films
from laydown.media.kit.fit import KitFit, reflectance
from laydown.media.laydown import Laydown
from laydown.media.light.exposure import Exposure, Span
from laydown.media.light.fading import (
    Fading,
    faded_reflectance,
    fading_constants,
    share_left,
    shown_in,
)
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import (
    Colorant,
    Medium,
    Paper,
    Recipe,
    Step,
    Tool,
    Treatment,
    TreatmentStep,
)
from laydown.media.swatch import Swatch
from laydown.plan.light.life import Life, hours_to_last, recipe_life, soonest_first, years

WHITE = np.full(36, 0.88)
PAPER = Paper("Gannet smooth", WHITE)
ROSE, NAVY, WATER = (Colorant(name, "Quay") for name in ("Rose", "Navy", "Water"))
REED = Colorant("Reed", "Bank", Medium.PENCIL)
DYES = {
    ROSE: 0.7 * np.exp(-(((WAVELENGTHS - 530) / 50) ** 2)),
    NAVY: 1.9 * np.exp(-(((WAVELENGTHS - 600) / 80) ** 2)),
    REED: 0.5 * np.exp(-(((WAVELENGTHS - 440) / 60) ** 2)),
}
SOON, LATE = (
    Fading(Span(d, 4 * d), Span(0.5, 0.7), filtered=True, words="a test") for d in (0.2, 200.0)
)


def film(*parts: tuple[Colorant, float]) -> FloatArray:
    """Return amounts of dye as one clear film on white."""
    return WHITE * np.exp(-sum(amount * DYES[c] for c, amount in parts))


def one(*colorants: Colorant, coats: int = 1) -> Recipe:
    """Return a recipe of a step each."""
    return Recipe(tuple(Step(c, Laydown(coats=coats)) for c in colorants))


@pytest.fixture(scope="module")
def markers() -> MarkerFit:
    """Two dyes fitted from one and two coats, which add up exactly."""
    swatches = [Swatch(PAPER.name, Recipe(), WHITE)]
    for c in (ROSE, NAVY):
        swatches += [Swatch(PAPER.name, one(c, coats=n), film((c, n))) for n in (1, 2)]
    return fit_markers(swatches, PAPER)


@pytest.fixture(scope="module")
def both(markers: MarkerFit) -> KitFit:
    """The same with a pencil."""
    swatches = [Swatch(PAPER.name, Recipe(), WHITE), Swatch(PAPER.name, one(REED), film((REED, 1)))]
    return KitFit(markers=markers, pencils=fit_films(swatches, PAPER, Medium.PENCIL))


def test_a_faded_film_obeys_beers_law(markers: MarkerFit) -> None:
    """With a half or a tenth of a dye left a coat is a film of that much, to a tenth of the way."""
    seen = faded_reflectance(markers, one(NAVY), np.array([[0.5], [0.1]]))
    truth = np.array([film((NAVY, 0.5)), film((NAVY, 0.1))])
    off = ciede2000(lab_from_reflectance(seen), lab_from_reflectance(truth))
    way = ciede2000(lab_from_reflectance(film((NAVY, 1.0))), lab_from_reflectance(truth))
    assert (off / way).max() < 0.1


SWAB = Recipe((TreatmentStep(Treatment.SOLVENT, Tool.SWAB),))


@pytest.mark.parametrize(
    "recipe",
    [
        one(ROSE),
        one(ROSE, NAVY),
        one(NAVY, ROSE, NAVY),
        one(REED),
        one(ROSE, REED),
        one(ROSE, NAVY, REED).then(SWAB).then(one(REED)),
    ],
)
def test_what_has_not_faded_looks_as_it_was_laid(both: KitFit, recipe: Recipe) -> None:
    """With all of each colorant left, the model of layers says what it always says."""
    whole = np.ones((1, len(recipe.colorants)))
    assert faded_reflectance(both, recipe, whole)[0] == pytest.approx(
        reflectance(both, recipe), abs=1e-9
    )


def test_only_what_is_below_shows_once_the_rest_is_gone(both: KitFit) -> None:
    """Pencil over marker, the pencil's pigment gone, shows the marker through what scatters."""
    recipe = one(NAVY, REED)
    gone = faded_reflectance(both, recipe, np.array([[1.0, 0.0]]))[0]
    kept = reflectance(both, one(NAVY))
    yellow = WAVELENGTHS < 480
    assert np.abs(gone - kept)[yellow].max() < 0.1
    bare = faded_reflectance(both, recipe, np.zeros((1, 2)))[0]
    assert bare == pytest.approx(WHITE, abs=0.03)


def test_share_left_leads_back_to_the_difference(markers: MarkerFit) -> None:
    """A plain coat with the share left that was found has moved as far as was asked."""
    asked = np.array([0.0, 0.8, 1.6, 5.0])
    left = share_left(markers, NAVY, asked)
    own = lab_from_reflectance(reflectance(markers, one(NAVY)))
    moved = ciede2000(
        own, lab_from_reflectance(faded_reflectance(markers, one(NAVY), left[:, None]))
    )
    assert moved == pytest.approx(asked, abs=0.02)
    assert share_left(markers, NAVY, np.array([500.0])).tolist() == [0.0]


def test_a_plain_coat_lives_as_its_colorant_is_stated(markers: MarkerFit) -> None:
    """For one coat the range is the class's own, for a noticeable and for a clear change."""
    found = recipe_life(markers, one(NAVY), {NAVY.label: SOON})
    assert found.noticeable.low == pytest.approx(SOON.noticeable.low, rel=0.03)
    assert found.noticeable.high == pytest.approx(SOON.noticeable.high, rel=0.03)
    told = fading_constants()
    times = told["clear"] / told["noticeable"]
    low = SOON.noticeable.low * times ** (1.0 / SOON.exponent.high)
    high = SOON.noticeable.high * times ** (1.0 / SOON.exponent.low)
    assert found.clear.low == pytest.approx(low, rel=0.03)
    assert found.clear.high == pytest.approx(high, rel=0.03)


def test_a_layered_recipe_goes_by_its_weakest_colorant_that_shows(markers: MarkerFit) -> None:
    """Navy over rose goes when the weaker of the two does, whichever that is."""
    recipe = one(ROSE, NAVY)
    for weak, strong in ((ROSE, NAVY), (NAVY, ROSE)):
        found = recipe_life(markers, recipe, {weak.label: SOON, strong.label: LATE})
        assert found.first == weak.label
        alone = recipe_life(markers, one(weak), {weak.label: SOON})
        assert found.noticeable.low < 20 * alone.noticeable.low
        lasting = recipe_life(markers, recipe, {weak.label: LATE, strong.label: LATE})
        assert found.noticeable.high < lasting.noticeable.low


def test_a_weak_colorant_under_a_dark_one_is_seen_later(markers: MarkerFit) -> None:
    """Rose that fades under three coats of navy is noticed later than rose alone."""
    under = Recipe((Step(ROSE), Step(NAVY, Laydown(coats=3))))
    covered = recipe_life(markers, under, {ROSE.label: SOON, NAVY.label: LATE})
    alone = recipe_life(markers, one(ROSE), {ROSE.label: SOON})
    assert covered.noticeable.low > 1.5 * alone.noticeable.low


def test_an_unknown_colorant_means_no_forecast(markers: MarkerFit) -> None:
    """One colorant without a class is enough, and it is named."""
    found = recipe_life(markers, one(ROSE, NAVY), {ROSE.label: SOON})
    assert (found.noticeable, found.clear, found.first) == (None, None, "")
    assert found.why_not == "no known lightfastness: Navy"


def test_bare_paper_has_no_forecast(markers: MarkerFit) -> None:
    """Nothing is foretold of the paper itself."""
    assert "paper" in recipe_life(markers, Recipe(), {}).why_not


def test_an_unknown_share_of_ultraviolet_leaves_the_beginning_open(markers: MarkerFit) -> None:
    """A lasting color tested without ultraviolet gives a range that begins at 0 with it."""
    fading = shown_in(LATE, filtered=False)
    found = recipe_life(markers, one(NAVY), {NAVY.label: fading})
    assert found.noticeable.low == 0.0
    assert found.noticeable.high == pytest.approx(800.0, rel=0.03)


def test_years_take_the_soonest_of_the_most_light() -> None:
    """A dose of 1 to 2 under 0.5 to 1 a year is 1 to 4 years; half the light is twice the time."""
    bright = Exposure(Span(250.0, 500.0), hours=10.0, days=200.0)
    dim = Exposure(Span(125.0, 250.0), hours=10.0, days=200.0)
    assert years(Span(1.0, 2.0), bright) == Span(1.0, 4.0)
    assert years(Span(1.0, 2.0), dim) == Span(2.0, 8.0)
    assert hours_to_last(1.0, lux=500.0, years=1.0, days=200.0) == pytest.approx(10.0)


def test_the_soonest_stands_first_and_the_unknown_nowhere() -> None:
    """Lives are ordered by the middle of their ranges, and those without forecast left out."""
    lives = [
        Life(Span(3.0, 9.0), Span(5.0, 20.0)),
        Life(None, None, why_not="unknown"),
        Life(Span(1.0, 4.0), Span(2.0, 9.0)),
        Life(Span(0.0, 1.0), Span(0.0, 2.0)),
        Life(Span(0.0, np.inf), Span(0.0, np.inf)),
    ]
    assert soonest_first(lives) == [3, 2, 0, 4]
