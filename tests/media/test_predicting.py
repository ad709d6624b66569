from collections.abc import Callable, Sequence

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance
from laydown.errors import BadRecipeError, NotMeasuredError
from laydown.media.kit.fit import outside, predict, reflectance
from laydown.media.laydown import Laydown, Pressure, Stroke, Wait
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import (
    Colorant,
    Medium,
    Paper,
    Part,
    Recipe,
    Step,
    Tool,
    Treatment,
    TreatmentStep,
)
from laydown.media.swatch import Swatch


@pytest.fixture(scope="module")
def fit(full: Sequence[Swatch], paper: Paper) -> MarkerFit:
    """The range fitted on the minimum design."""
    return fit_markers(full, paper)


@pytest.fixture(scope="module")
def handful(full: Sequence[Swatch], paper: Paper) -> MarkerFit:
    """The range fitted on one coat of each."""
    return fit_markers(full[:6], paper)


def test_layers_never_swatched_come_out(
    fit: MarkerFit, colorants: Sequence[Colorant], lay: Callable[[Recipe], np.ndarray]
) -> None:
    """Three layers of up to two coats, never swatched, are predicted within 1.5 units of Lab."""
    for below, middle, above in ((0, 3, 5), (5, 1, 2), (2, 4, 0)):
        laid = (colorants[below], 1), (colorants[middle], 2), (colorants[above], 1)
        recipe = Recipe(tuple(Step(c, Laydown(coats=n)) for c, n in laid))
        said = predict(fit, recipe)
        away = said.lab - lab_from_reflectance(lay(recipe))
        assert np.abs(away).max() < 1.5
        assert said.lab == pytest.approx(lab_from_reflectance(said.reflectance), abs=1e-9)
        assert said.reflectance == pytest.approx(reflectance(fit, recipe), abs=1e-12)


def test_bare_paper_is_the_paper(fit: MarkerFit, paper: Paper) -> None:
    """No steps reflect as the paper does, as surely as it was measured."""
    said = predict(fit, Recipe())
    assert said.reflectance == pytest.approx(paper.reflectance, abs=1e-12)
    assert said.covariance == pytest.approx(fit.measuring**2 * np.eye(3))


def test_less_swatching_is_less_sure(
    fit: MarkerFit, handful: MarkerFit, full: Sequence[Swatch]
) -> None:
    """One coat of each still predicts a pair, at least twice as wide as the minimum design."""
    recipe = full[12].recipe
    wide, narrow = (np.trace(predict(f, recipe).covariance) for f in (handful, fit))
    assert wide > 4.0 * narrow


def test_covariance_grows_with_layers_and_is_one(
    fit: MarkerFit, colorants: Sequence[Colorant]
) -> None:
    """Covariances are symmetric and positive, and a pair is less sure than one coat."""
    recipes = [Recipe(tuple(Step(c) for c in colorants[:n])) for n in range(5)]
    predictions = [predict(fit, recipe) for recipe in recipes]
    for said in predictions:
        assert said.covariance == pytest.approx(said.covariance.T)
        assert np.linalg.eigvalsh(said.covariance).min() > 0.0
    traces = [np.trace(said.covariance) for said in predictions]
    assert traces[0] < traces[1] < traces[2]


def test_inside_there_is_nothing_to_say(fit: MarkerFit, full: Sequence[Swatch]) -> None:
    """A recipe that was swatched carries no warning."""
    assert predict(fit, full[14].recipe).warnings == ()


def test_each_way_outside_has_its_sentence(
    fit: MarkerFit, handful: MarkerFit, colorants: Sequence[Colorant]
) -> None:
    """An unknown colorant, a stroke, a wait, more coats of one, more than the paper bears: each."""
    shell, moss = colorants[0], colorants[3]
    stranger = Recipe((Step(Colorant("Tern", "Cliff")),))
    assert outside(fit, stranger) == ("Tern has not been swatched on Plover.",)
    quick = Recipe((Step(shell, Laydown(stroke=Stroke.QUICK)),))
    assert "quick stroke" in outside(fit, quick)[0]
    wet = Recipe((Step(shell), Step(moss, Laydown(wait=Wait.WET))))
    assert "wet" in outside(fit, wet)[0]
    assert outside(fit, Recipe((Step(shell, Laydown(wait=Wait.WET)),))) == ()
    two = Recipe((Step(shell, Laydown(coats=2)),))
    assert outside(fit, two) == ()
    assert outside(handful, two) == ("2 coats of Shell: at most 1 were swatched.",)
    seven = Recipe((*two.steps, Step(moss, Laydown(coats=2)), *two.steps, Step(moss)))
    assert any("7 coats in all: Plover bears 6" in said for said in outside(fit, seven))
    assert any("4 coats of Shell" in said for said in outside(fit, seven))


def test_unknown_colorants_have_no_prediction(fit: MarkerFit) -> None:
    """A colorant never swatched on this paper is refused with what to do."""
    with pytest.raises(NotMeasuredError, match="Cliff/Tern") as caught:
        predict(fit, Recipe((Step(Colorant("Tern", "Cliff")),)))
    assert "one coat of Tern" in caught.value.hint


@pytest.mark.parametrize(
    "step",
    [
        TreatmentStep(Treatment.SOLVENT, Tool.SWAB),
        Step(Colorant("Loam", "Hedge", Medium.PENCIL)),
        Step(Colorant("Shell", "Cliff"), Laydown(pressure=Pressure.HEAVY)),
        Step(Colorant("Shell", "Cliff"), Laydown(dilution=0.5)),
        Step(
            Colorant("Shell", "Cliff"),
            mixed=(Part(Colorant("Shell", "Cliff"), 2), Part(Colorant("Mist", "Cliff"), 1)),
        ),
    ],
)
def test_what_no_marker_does_is_refused(fit: MarkerFit, step: Step | TreatmentStep) -> None:
    """Solvent, pencils, pressure, dilution and palette mixtures have no answer in this model."""
    for ask in (reflectance, outside, predict):
        with pytest.raises(BadRecipeError):
            ask(fit, Recipe((step,)))
