"""One trial can't move what several swatches settled; several that agree can."""

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from laydown.app.fits import Supplies, set_up
from laydown.app.library import Library, open_named
from laydown.app.matches.colors import Asking, Tables, match_color
from laydown.app.matches.targets import one_coats_of
from laydown.app.notebook.asking import promises_of
from laydown.app.notebook.trials import AddTrial, add_trial, list_trials
from laydown.media.inference.learning import learn
from laydown.media.kit.fit import predict
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Recipe, format_recipe, parse_recipe
from laydown.media.swatch import Trial
from laydown.plan.notebook import REGIONS

KIT, PAPER = "demo student", "Gannet smooth"
SUPPLIES = Supplies(kit=KIT, paper=PAPER)
PHOTOGRAPH = 2.0
"""What a photograph with a reference chart is off by [CIELAB units per axis]."""


@pytest.fixture
def demo(tmp_path: Path, lay_demo: Callable[[Path], Path]) -> Library:
    """Give a library with the demo's supplies."""
    return open_named(str(lay_demo(tmp_path / "demo.db")))


def own_answers(library: Library) -> list[Recipe]:
    """Return the recipe given for each of the kit's own colors."""
    wanted, asking = (
        one_coats_of(library, PAPER, kit=KIT),
        Asking(SUPPLIES, steps=2, coats=2, top=1),
    )
    finder = Tables(len(wanted)).find
    return [
        match_color(library, one.color, asking, finder=finder).best.prediction.recipe
        for one in wanted
    ]


def laid(fit: MarkerFit, text: str) -> Recipe:
    """Return a recipe of the fit's colorants."""
    return parse_recipe(text, {colorant.name: colorant for colorant in fit.colorants}.__getitem__)


def note(library: Library, text: str, *, away: float) -> None:
    """Note a trial so many standard deviations off what was promised, where that is widest."""
    fit = set_up(library, SUPPLIES, by_trials=False).whole
    recipe = laid(fit, text)
    seen = predict(fit, recipe)
    spreads, axes = np.linalg.eigh(seen.covariance + PHOTOGRAPH**2 * np.eye(3))
    L, a, b = seen.lab + away * np.sqrt(spreads[-1]) * np.sign(axes[0, -1]) * axes[:, -1]
    add_trial(
        library,
        AddTrial(format_recipe(recipe), f"lab:{L},{a},{b}", kit=KIT, paper=PAPER, noise=PHOTOGRAPH),
    )


def test_one_trial_inside_what_was_promised_leaves_the_kits_own_colors_alone(
    demo: Library,
) -> None:
    """Of the 35 own colors of Orchard at most one has another answer after it; once 24 had."""
    before = own_answers(demo)
    note(demo, "Quince", away=-2.0)
    assert promises_of(demo, list_trials(demo)[0])[1][-1]
    after = own_answers(demo)
    assert len(before) == 35
    assert sum(a != b for a, b in zip(before, after, strict=True)) <= 1


def test_no_trial_just_inside_what_was_promised_tells_of_the_hand(demo: Library) -> None:
    """Perfectly measured and at the edge of the region of 80 in 100, none moves the hand."""
    fit = set_up(demo, SUPPLIES, by_trials=False).whole
    for text in ("Quince", "Beeswax*2", "Damson*3", "Beeswax; Gravel*2"):
        seen = predict(fit, laid(fit, text))
        spreads, axes = np.linalg.eigh(seen.covariance)
        away = np.sqrt(REGIONS[80] * spreads[-1]) * axes[:, -1]
        for lab in (seen.lab + away, seen.lab - away):
            assert abs(learn(fit, [Trial(1, seen.recipe, lab)]).amount) < 0.02


def test_what_one_trial_leaves_open_is_told(demo: Library) -> None:
    """The note on the hand doesn't claim to know it: its range reaches past a tenth each way."""
    note(demo, "Quince", away=-2.0)
    (told,) = [n for n in set_up(demo, SUPPLIES).notes if n.startswith("Learned from 1 trial")]
    factor, low, high = map(float, re.findall(r"\d\.\d\d", told))
    assert factor == pytest.approx(1.0, abs=0.02)
    assert low < 0.9
    assert high > 1.1
