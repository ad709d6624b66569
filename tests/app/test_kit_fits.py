from dataclasses import replace

import numpy as np
import pytest

from laydown.app import fits
from laydown.app.encoding import from_text, to_text
from laydown.app.fits import kit_fit_for, sound
from laydown.app.library import Library
from laydown.errors import NotMeasuredError, TooLargeError
from laydown.media.film.model import FilmFit
from laydown.media.kit.fit import KitFit, predict
from laydown.media.laydown import Laydown
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import (
    Colorant,
    Medium,
    Recipe,
    Step,
    Tool,
    Treatment,
    TreatmentStep,
    mixture,
)
from laydown.media.swatch import Swatch

PAPER = "Gannet smooth"
FERN, ROOT = (Colorant(name, "Meadow", Medium.PENCIL) for name in ("Fern", "Root"))
LOAM, REED = (Colorant(name, "Pond", Medium.WASH) for name in ("Loam", "Reed"))


def swatch(*steps: object, level: float) -> Swatch:
    """Return an invented swatch of some steps."""
    return Swatch(PAPER, Recipe(steps), level + np.linspace(-0.08, 0.08, 36))


@pytest.fixture
def full(library: Library) -> Library:
    """Return a library that has pencils and washes besides."""
    solvent = TreatmentStep(Treatment.SOLVENT, Tool.SWAB)
    with library.work("fill") as work:
        work.add_swatches(
            [
                swatch(Step(FERN), level=0.5),
                swatch(Step(ROOT), level=0.6),
                swatch(Step(FERN), Step(ROOT), solvent, level=0.33),
                swatch(Step(LOAM), level=0.45),
                swatch(Step(REED, Laydown(coats=2)), level=0.5),
                swatch(mixture((2, LOAM), (1, REED)), level=0.5),
            ]
        )
    return library


def test_all_media_are_fitted_on_one_paper(full: Library) -> None:
    """A kit of three media has three fits; markers alone stay what they were."""
    fit = kit_fit_for(full, ("Meadow", "Pond", "Shoal"), PAPER)
    assert isinstance(fit, KitFit)
    assert {c.name for c in fit.colorants} == {"Kelp", "Dune", "Fern", "Root", "Loam", "Reed"}
    assert fit.pencils is not None
    assert "solvent by swab cover" in fit.pencils.told
    assert isinstance(kit_fit_for(full, ("Shoal", "Cliff"), PAPER), MarkerFit)


def test_a_kept_film_fit_is_the_fit(full: Library) -> None:
    """The second time the fit is read, not made, and predicts the same to the last digit."""
    first, second = (kit_fit_for(full, ("Meadow", "Pond"), PAPER) for _ in range(2))
    for recipe in (Recipe((Step(FERN), Step(ROOT))), Recipe((mixture((1, LOAM), (3, REED)),))):
        one, other = predict(first, recipe), predict(second, recipe)
        assert np.array_equal(one.reflectance, other.reflectance)
        assert np.array_equal(one.covariance, other.covariance)
    assert isinstance(first, KitFit)
    assert first.washes is not None
    text = to_text(first.washes)
    assert to_text(from_text(text, FilmFit)) == text


def test_a_kept_wash_is_made_anew_where_its_swatches_cannot_be(full: Library) -> None:
    """One laydown short, or a deep swatch no deeper than the plain one, and no fit is read."""
    kit = kit_fit_for(full, ("Meadow", "Pond"), PAPER)
    assert isinstance(kit, KitFit)
    washes = kit.washes
    assert washes is not None
    asked = FilmFit, washes.colorants, washes.paper
    assert sound(to_text((washes, ())), *asked)
    short = replace(washes, deep_laydowns=washes.deep_laydowns[1:])
    shallow = replace(washes, deep_laydowns=washes.reference_laydowns, believed=washes.believed + 1)
    for wrong in (short, shallow):
        assert sound(to_text((wrong, ())), *asked) is None


def test_a_range_without_swatches_is_named(full: Library) -> None:
    """A range that has none on this paper is said to have none."""
    with full.work("another") as work:
        other = Colorant("Sedge", "Marsh", Medium.WASH)
        work.add_swatches([Swatch("Heron laid", Recipe((Step(other),)), np.full(36, 0.4))])
    with pytest.raises(NotMeasuredError, match="Marsh"):
        kit_fit_for(full, ("Marsh", "Pond"), PAPER)


def test_a_range_too_large_to_be_fitted_is_said(
    full: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A range of more colorants than one fit takes is a sentence, and others stay usable."""
    monkeypatch.setattr(fits, "MOST_FITTED", 1, raising=False)
    for range_name in ("Shoal", "Meadow"):
        with pytest.raises(TooLargeError, match=rf"{range_name} has 2 colorants on Gannet smooth"):
            kit_fit_for(full, (range_name,), PAPER)
    assert isinstance(kit_fit_for(full, ("Cliff",), PAPER), MarkerFit)
