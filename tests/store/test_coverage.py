from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from laydown.media.laydown import Laydown
from laydown.media.recipe import Colorant, Part, Recipe, Step
from laydown.media.swatch import Basis, Swatch
from laydown.store.library import Library, open_library
from laydown.store.records import Coverage

KELP, DUNE = Colorant("Kelp", "Shoal"), Colorant("Dune", "Shoal")
FIG = Colorant("Fig", "Orchard")


def swatch(paper: str, *steps: Step, level: float = 0.5) -> Swatch:
    """Return a swatch of these steps."""
    return Swatch(paper, Recipe(steps), np.full(36, level), Basis.SPECTRUM, 0.0)


@pytest.fixture
def library(tmp_path: Path, lay_library: Callable[[Path], Path]) -> Library:
    """Return a library with two ranges on two papers."""
    library = open_library(lay_library(tmp_path / "library.db"))
    with library.work("swatch") as work:
        work.add_swatches(
            [
                swatch("Gannet smooth"),
                swatch("Gannet smooth", Step(KELP)),
                swatch("Gannet smooth", Step(KELP, Laydown(coats=2))),
                swatch("Gannet smooth", Step(KELP), Step(DUNE)),
                swatch("Gannet smooth", Step(FIG)),
                swatch("Heron laid", Step(FIG)),
                swatch("Heron laid", Step(DUNE, mixed=(Part(DUNE, 1), Part(FIG, 2)))),
            ]
        )
    return library


def test_a_swatch_counts_once_for_each_range_it_uses(library: Library) -> None:
    """A pair counts once for its range, a mixture for both of its ranges, bare paper for none."""
    with library.look() as work:
        assert work.coverage() == (
            Coverage("Orchard", "Gannet smooth", 1, 1),
            Coverage("Orchard", "Heron laid", 2, 1),
            Coverage("Shoal", "Gannet smooth", 3, 2),
            Coverage("Shoal", "Heron laid", 1, 1),
        )


def test_one_range_is_counted_as_among_all(library: Library) -> None:
    """Asked for by its name however written, it has the same counts on the same papers."""
    with library.look() as work:
        whole = work.coverage()
        for name in ("Orchard", "shoal"):
            assert work.coverage(name) == tuple(c for c in whole if c.range == name.capitalize())


def test_swatches_are_counted_for_each_colorant(library: Library) -> None:
    """A colorant's swatches are those that it lies in, alone, in a pair or in a mixture."""
    with library.look() as work:
        assert work.swatches_by_label(["Shoal"]) == {
            "Shoal/Kelp": {"Gannet smooth": 3},
            "Shoal/Dune": {"Gannet smooth": 1, "Heron laid": 1},
        }


def test_what_is_held_is_counted(library: Library) -> None:
    """A library counts its ranges, colorants, papers, swatches and kits."""
    with library.look() as work:
        assert work.held() == {
            "ranges": 2, "colorants": 3, "papers": 2, "swatches": 7, "kits": 0
        }  # fmt: skip


@pytest.mark.parametrize(("skip", "most", "got"), [(0, 2, 2), (3, 10, 2), (5, None, 0)])
def test_swatches_come_in_pages(library: Library, skip: int, most: int | None, got: int) -> None:
    """So many are passed over, so many listed at most, and the count is of all."""
    with library.look() as work:
        everything = work.swatches(paper="Gannet smooth")
        page = work.swatches(paper="Gannet smooth", skip=skip, most=most)
        assert work.count_swatches(paper="Gannet smooth") == len(everything) == 5
    assert [s.id for s in page] == [s.id for s in everything[skip:]][:most]
    assert len(page) == got
