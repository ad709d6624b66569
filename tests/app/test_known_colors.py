"""Colors that are known already, by which a picture is read."""

import numpy as np
import pytest

from laydown.app.library import Library
from laydown.app.sheets.known import CARRIED, MEASURING, choose_known, known_colors
from laydown.app.supplies.papers import add_paper
from laydown.color.lab import lab_from_reflectance, xyz_from_reflectance
from laydown.errors import NotMeasuredError
from laydown.media.laydown import Laydown
from laydown.media.recipe import Colorant, Recipe, Step
from laydown.media.swatch import Basis, Swatch

HERE, THERE = "Gannet smooth", "Heron laid"


def laid(name: str) -> Recipe:
    """Return one coat."""
    return Recipe((Step(Colorant(name, "Atlas"), Laydown()),))


def take_in(library: Library, paper: str, levels: dict[str, float], *, spread: float = 0.0) -> None:
    """Take in gray swatches of some levels."""
    with library.work("take in") as work:
        work.add_swatches(
            [
                Swatch(paper, laid(name), np.full(36, level), Basis.XYZ, spread)
                for name, level in levels.items()
            ]
        )


def test_what_is_known_on_this_paper_goes_before_what_is_carried_over(library: Library) -> None:
    """A color known elsewhere is as much darker than its paper here as there, and less sure."""
    add_paper(library, THERE, color="lab:80,0,0")
    take_in(library, HERE, {"Both": 0.4})
    take_in(library, THERE, {"Both": 0.2, "Only": 0.3})
    with library.look() as work:
        papers = [work.paper(name).reflectance for name in (HERE, THERE)]
        known = known_colors(work, HERE, [laid("Both"), laid("Only"), laid("Neither")])
        assert known_colors(work, HERE, [laid("Only")], carried=False) == {}
    assert set(known) == {laid("Both"), laid("Only")}
    xyz, noise, here = known[laid("Both")]
    assert here
    assert np.allclose(xyz, xyz_from_reflectance(np.full(36, 0.4)))
    assert noise == pytest.approx(MEASURING)
    carried = xyz_from_reflectance(np.full(36, 0.3) * papers[0] / papers[1])
    xyz, noise, here = known[laid("Only")]
    assert np.allclose(xyz, carried)
    assert noise == pytest.approx(np.hypot(MEASURING, CARRIED))
    assert not here


def test_a_color_read_by_paper_alone_tells_no_camera(library: Library) -> None:
    """What is off by eight units itself is known too badly; off by three it may serve."""
    take_in(library, HERE, {"Rough": 0.4}, spread=16.0)
    take_in(library, HERE, {"Good": 0.4}, spread=6.0)
    with library.look() as work:
        assert set(known_colors(work, HERE, [laid("Rough"), laid("Good")])) == {laid("Good")}


def test_eight_are_chosen_far_from_each_other(library: Library) -> None:
    """Of many grays eight are taken, the darkest first, and none that the sheet has anyway: its
    white paper is known, too.
    """
    levels = {f"Gray {i}": float(level) for i, level in enumerate(np.geomspace(0.04, 0.8, 20))}
    take_in(library, HERE, levels)
    with library.look() as work:
        chosen = choose_known(work, "Atlas", HERE, besides=[laid("Gray 0")])
    names = [recipe.colorants[0].name for recipe in chosen]
    assert len(set(names)) == 8
    assert "Gray 0" not in names
    assert names[0] == "Gray 1"
    lightness = sorted(lab_from_reflectance(np.full(36, levels[n]))[0] for n in names)
    assert np.diff(lightness).min() > 4


def test_too_few_known_colors_are_told(library: Library) -> None:
    """With two there is nothing to tell a camera by; three are put in as they are."""
    take_in(library, HERE, {"First": 0.1, "Second": 0.3})
    with library.look() as work, pytest.raises(NotMeasuredError, match="2 colors of Atlas"):
        choose_known(work, "Atlas", HERE, besides=[])
    take_in(library, HERE, {"Third": 0.5})
    with library.look() as work:
        assert len(choose_known(work, "Atlas", HERE, besides=[])) == 3
