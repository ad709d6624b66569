from types import SimpleNamespace

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance
from laydown.errors import BadRecipeError, DuplicateNameError, LibraryError, UnknownNameError
from laydown.media.recipe import Recipe
from laydown.media.swatch import Basis, Swatch
from laydown.store.library import Library
from laydown.store.supplies import usual_white


def test_an_unmeasured_paper_is_assumed_white_and_says_so(library: Library) -> None:
    """Without a bare swatch the usual white stands in: neutral, L* 95."""
    with library.work("add") as work:
        paper = work.add_paper(" Gannet  smooth", coats_limit=4)
    assert (paper.name, paper.coats_limit, paper.measured) == ("Gannet smooth", 4, False)
    np.testing.assert_allclose(lab_from_reflectance(usual_white()), [95, 0, 0], atol=0.05)


def test_a_measured_paper_is_the_mean_of_its_bare_swatches(
    library: Library, supplies: SimpleNamespace
) -> None:
    """Two bare swatches of .8 and .9 make a paper of .85; a colored one doesn't count."""
    with library.work("take in") as work:
        work.add_swatches(
            [
                supplies.swatch(level=0.8),
                supplies.swatch(level=0.9),
                supplies.swatch(supplies.one(supplies.kelp), level=0.1),
            ]
        )
        paper = work.paper("gannet smooth")
    assert paper.measured
    np.testing.assert_allclose(paper.reflectance, supplies.swatch(level=0.85).reflectance)


def test_a_spectrum_counts_before_xyz(library: Library, supplies: SimpleNamespace) -> None:
    """Where a paper has a spectrum, a bare swatch known by XYZ alone is left out of its mean."""
    from_xyz = Swatch("Gannet smooth", Recipe(), np.full(36, 0.5), Basis.XYZ)
    with library.work("take in") as work:
        work.add_swatches([from_xyz])
        assert work.paper("Gannet smooth").reflectance[0] == 0.5
        work.add_swatches([supplies.swatch(level=0.8)])
        np.testing.assert_allclose(work.paper("Gannet smooth").reflectance.mean(), 0.8)


def test_paper_names_are_unique_whatever_their_capitals(library: Library) -> None:
    """A second paper of the same name is refused; an unknown one is suggested near ones."""
    with library.work("add") as work:
        work.add_paper("Gannet smooth")
        with pytest.raises(DuplicateNameError, match="a paper “Gannet smooth” already"):
            work.add_paper("GANNET SMOOTH")
        with pytest.raises(UnknownNameError, match="no paper “Ganet smooth”") as trouble:
            work.paper("Ganet smooth")
    assert trouble.value.hint == "Did you mean Gannet smooth?"


def test_the_coats_limit_can_be_mended(library: Library) -> None:
    """A limit from 1 to 99 is kept, any other refused."""
    with library.work("add") as work:
        work.add_paper("Gannet smooth")
        assert work.set_coats_limit("gannet smooth", 9).coats_limit == 9
        with pytest.raises(BadRecipeError, match="limit of 0 coats"):
            work.set_coats_limit("Gannet smooth", 0)
        assert work.paper("Gannet smooth").coats_limit == 9


def test_a_paper_with_swatches_goes_only_when_told_so(full: Library) -> None:
    """Removing a paper that carries swatches needs saying that they go too."""
    with full.work("remove") as work:
        with pytest.raises(LibraryError, match="Gannet smooth carries 5 swatches"):
            work.remove_paper("Gannet smooth")
        assert work.remove_paper("Gannet smooth", with_swatches=True) == 5
        assert (work.papers(), work.swatches()) == ((), ())
        work.add_paper("Gannet smooth")
        assert work.remove_paper("Gannet smooth") == 0
