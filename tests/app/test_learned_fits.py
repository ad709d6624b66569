"""Each medium of a kit learns from its own trials, and keeps what it learned."""

from pathlib import Path

import numpy as np
import pytest

from laydown.app.fits import Supplies, set_up
from laydown.app.library import Library, open_named
from laydown.app.notebook.asking import CompareHands, compare_hands, show_calibration
from laydown.app.notebook.trials import (
    AddTrial,
    add_trial,
    edit_trial,
    export_trials,
    import_trials,
    list_trials,
)
from laydown.color.lab import lab_from_reflectance
from laydown.media.kit.fit import KitFit
from laydown.media.laydown import Laydown
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Colorant, Medium, Recipe, Step
from laydown.media.swatch import Swatch

PAPER = "Gannet smooth"
KELP, DUNE, NET = (Colorant(name, "Shoal") for name in ("Kelp", "Dune", "Net"))
MOSS = Colorant("Moss", "Bank", Medium.PENCIL)
HEATH = Colorant("Heath", "Bank", Medium.PENCIL)
SLANT = np.linspace(-0.08, 0.08, 36)


def _swatch(colorant: Colorant | None, level: float, coats: int = 1) -> Swatch:
    steps = (Step(colorant, Laydown(coats=coats)),) if colorant else ()
    return Swatch(PAPER, Recipe(steps), level + SLANT * (1 if colorant else 0.1))


def _typed(level: float) -> str:
    """Return how a color of the swatches' own kind is typed."""
    L, a, b = lab_from_reflectance(level + SLANT)
    return f"lab:{L:.2f},{a:.2f},{b:.2f}"


@pytest.fixture
def mixed(tmp_path: Path) -> Library:
    """Markers and pencils on one paper, all of them in the kit mine."""
    library = open_named(str(tmp_path / "mixed.db"))
    with library.work("fill") as work:
        work.add_swatches([
            _swatch(None, 0.9), _swatch(KELP, 0.35), _swatch(KELP, 0.2, 2), _swatch(DUNE, 0.6),
            _swatch(NET, 0.5), _swatch(MOSS, 0.45), _swatch(MOSS, 0.3, 2), _swatch(HEATH, 0.55),
        ])  # fmt: skip
        work.add_kit("mine")
        work.own("mine", [KELP, DUNE, NET, MOSS, HEATH])
    return library


def test_each_medium_learns_for_itself(mixed: Library) -> None:
    """A trial of a pencil moves the pencils and leaves the markers as they were."""
    supplies = Supplies(kit="mine", paper=PAPER)
    before = set_up(mixed, supplies).whole
    add_trial(mixed, AddTrial(recipe="Moss", color=_typed(0.38), kit="mine", paper=PAPER))
    bench = set_up(mixed, supplies)
    assert isinstance(before, KitFit)
    assert isinstance(bench.whole, KitFit)
    assert before.pencils is not None
    assert bench.whole.pencils is not None
    assert not np.allclose(bench.whole.pencils.own, before.pencils.own, atol=0.02)
    assert bench.whole.markers is not None
    assert before.markers is not None
    assert np.array_equal(bench.whole.markers.absorption, before.markers.absorption)
    assert any(f"on {PAPER} with pencils" in note for note in bench.notes)


def test_what_was_learned_is_kept_and_read_as_it_was(mixed: Library) -> None:
    """The second time the same numbers come from the library, notes and all."""
    supplies = Supplies(ranges=("Shoal",), paper=PAPER)
    add_trial(mixed, AddTrial(recipe="Kelp", color=_typed(0.28), paper=PAPER))
    first, second = set_up(mixed, supplies), set_up(mixed, supplies)
    assert isinstance(first.whole, MarkerFit)
    assert isinstance(second.whole, MarkerFit)
    assert np.array_equal(first.whole.absorption, second.whole.absorption)
    assert np.array_equal(first.whole.covariance, second.whole.covariance)
    assert first.notes == second.notes
    plain = set_up(mixed, supplies, by_trials=False)
    assert not np.allclose(plain.whole.absorption, first.whole.absorption, rtol=0.02)


def test_trials_of_one_kit_teach_no_other(mixed: Library) -> None:
    """Whole ranges don't hear of a kit's trials."""
    add_trial(mixed, AddTrial(recipe="Kelp", color=_typed(0.28), kit="mine", paper=PAPER))
    bench = set_up(mixed, Supplies(ranges=("Shoal",), paper=PAPER))
    assert not any("Learned" in note for note in bench.notes)


def test_a_hand_is_not_put_on_top_of_what_trials_taught(mixed: Library) -> None:
    """The hand against someone's swatches is the same before and after one's own trials."""
    theirs = "range,medium,color,paper,coats,L,a,b\n" + "".join(
        f"Shoal,marker,{c.name},{PAPER},1,{lightness},0,4\n"
        for c, lightness in ((KELP, 72), (DUNE, 86), (NET, 80))
    )
    request = CompareHands(theirs.encode(), "theirs.csv", Supplies(ranges=("Shoal",), paper=PAPER))
    before = compare_hands(mixed, request)
    add_trial(mixed, AddTrial(recipe="Kelp", color=_typed(0.28), paper=PAPER))
    after = compare_hands(mixed, request)
    assert before.hand.log_amount == after.hand.log_amount
    assert (before.by_trials, after.by_trials) == (False, True)


def test_calibration_covers_every_medium(mixed: Library) -> None:
    """Trials of markers and of pencils stand in one table, each judged by its own medium."""
    for recipe, level in (("Kelp", 0.28), ("Moss", 0.38), ("Dune", 0.52)):
        add_trial(mixed, AddTrial(recipe=recipe, color=_typed(level), kit="mine", paper=PAPER))
    found = show_calibration(mixed, Supplies(kit="mine", paper=PAPER))
    assert {one.number for one in found.calibration.trials} == {1, 2, 3}
    assert len(found.recipes) == 3
    assert "not yet on your work" in found.trust
    assert found.svg.startswith("<svg")


def test_what_somebody_else_laid_teaches_a_kit_nothing(mixed: Library) -> None:
    """Ten trials of a student's heavy hand under my kit are kept, and my answers stay mine."""
    supplies = Supplies(kit="mine", paper=PAPER)
    for _ in range(10):
        add_trial(
            mixed,
            AddTrial("Kelp", _typed(0.2), kit="mine", paper=PAPER, made_by="Ada"),
        )
    bench = set_up(mixed, supplies)
    assert bench.whole.fits[0] is bench.swatched.fits[0]
    assert not bench.notes
    edit_trial(mixed, 1, made_by="")
    assert any("Set aside" in note or "Learned" in note for note in set_up(mixed, supplies).notes)


def test_who_made_a_trial_is_handed_on(mixed: Library, tmp_path: Path) -> None:
    """It stands in the exported notebook, and in the library that takes that in."""
    add_trial(mixed, AddTrial("Kelp", _typed(0.2), kit="mine", paper=PAPER, made_by="Ada"))
    other = open_named(str(tmp_path / "other.db"))
    import_trials(other, export_trials(mixed).encode(), "notebook.json")
    assert [t.made_by for t in list_trials(other)[0]] == ["Ada"]
