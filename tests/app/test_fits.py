import dataclasses

import numpy as np
import pytest

from laydown.app.encoding import from_text, to_text
from laydown.app.fits import fit_for
from laydown.app.library import Library
from laydown.errors import NotMeasuredError, UnknownNameError
from laydown.media.laydown import Laydown
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Colorant, Recipe, Step, Surface
from laydown.media.swatch import Swatch

PAPER = "Gannet smooth"
KELP = Colorant("Kelp", "Shoal")


@pytest.fixture
def fitted(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return a list that grows by the range's name whenever a fit is made anew."""
    made: list[str] = []
    fit = fit_markers

    def counting(swatches: list[Swatch], *rest: object, **named: object) -> MarkerFit:
        made.append(swatches[0].recipe.colorants[0].range)
        return fit(swatches, *rest, **named)  # type: ignore[arg-type]

    monkeypatch.setattr("laydown.app.fits.fit_markers", counting)
    return made


def _same(one: MarkerFit, other: MarkerFit) -> bool:
    for field in dataclasses.fields(MarkerFit):
        a, b = getattr(one, field.name), getattr(other, field.name)
        if field.name == "paper":
            a, b = (a.name, a.coats_limit, *a.reflectance), (b.name, b.coats_limit, *b.reflectance)
        if not np.array_equal(a, b) if isinstance(a, np.ndarray) else a != b:
            return False
    return True


def test_a_fit_survives_as_text(library: Library) -> None:
    """Every field of a fit, to the last digit, is what it was after writing and reading."""
    fit = fit_for(library, ["Shoal"], PAPER)
    assert _same(from_text(to_text(fit), MarkerFit), fit)


def test_a_kept_fit_is_used_again(library: Library, fitted: list[str]) -> None:
    """The second question of the same range and paper is answered from the library."""
    first = fit_for(library, ["Shoal"], PAPER)
    assert _same(fit_for(library, ["Shoal"], PAPER), first)
    assert fitted == ["Shoal"]


def test_a_new_swatch_makes_a_new_fit(library: Library, fitted: list[str]) -> None:
    """A further swatch of the range is another fit; of another range it isn't."""
    fit_for(library, ["Shoal"], PAPER)
    gull = Recipe((Step(Colorant("Gull", "Cliff"), Laydown(coats=2)),))
    with library.work("add") as work:
        work.add_swatches([Swatch(PAPER, gull, np.full(36, 0.3))])
    fit_for(library, ["Shoal"], PAPER)
    assert fitted == ["Shoal"]
    deep = Recipe((Step(KELP, Laydown(coats=3)),))
    with library.work("add") as work:
        work.add_swatches([Swatch(PAPER, deep, np.full(36, 0.1))])
    fit_for(library, ["Shoal"], PAPER)
    assert fitted == ["Shoal", "Shoal"]


def test_a_papers_limit_is_part_of_the_fit(library: Library) -> None:
    """A paper edited after fitting counts with its new limit of coats."""
    assert fit_for(library, ["Shoal"], PAPER).paper.coats_limit == 6
    with library.work("edit") as work:
        work.set_coats_limit(PAPER, 3)
    assert fit_for(library, ["Shoal"], PAPER).paper.coats_limit == 3


def test_a_papers_surface_is_part_of_the_fit(library: Library, fitted: list[str]) -> None:
    """A paper that is said to be coated after fitting is fitted anew, as one that is coated."""
    fit_for(library, ["Shoal"], PAPER)
    with library.work("edit") as work:
        work.set_surface(PAPER, Surface.COATED)
    assert fit_for(library, ["Shoal"], PAPER).paper.surface is Surface.COATED
    assert fitted == ["Shoal", "Shoal"]


def test_another_model_makes_a_new_fit(
    library: Library, fitted: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fit kept by another version of the model is not used."""
    fit_for(library, ["Shoal"], PAPER)
    monkeypatch.setattr("laydown.app.fits.MODEL_VERSION", "another")
    fit_for(library, ["Shoal"], PAPER)
    assert fitted == ["Shoal", "Shoal"]


def test_ranges_of_a_kit_are_fitted_apart_and_joined(library: Library, fitted: list[str]) -> None:
    """Two ranges give one fit with the colorants of both."""
    fit = fit_for(library, ["Shoal", "Cliff"], PAPER)
    assert sorted(c.name for c in fit.colorants) == ["Dune", "Gull", "Kelp"]
    assert fitted == ["Cliff", "Shoal"]


def test_keeping_a_fit_is_nothing_to_undo(library: Library) -> None:
    """A kept fit is no change of the user's."""
    before = library.history()
    fit_for(library, ["Shoal"], PAPER)
    assert library.history() == before


def test_no_swatch_is_no_fit(library: Library) -> None:
    """A range without a swatch on the paper is said so; an unknown paper, too."""
    with library.work("add") as work:
        work.add_paper("Heron laid")
    with pytest.raises(NotMeasuredError, match="No swatch of Shoal on Heron laid"):
        fit_for(library, ["Shoal"], "Heron laid")
    with pytest.raises(UnknownNameError):
        fit_for(library, ["Shoal"], "Blotting paper")
