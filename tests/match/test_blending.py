from dataclasses import replace

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance
from laydown.match.mud import blended, notes_on_blending, treatments_of
from laydown.match.outcome import Target, Verdict
from laydown.match.question import Question
from laydown.match.ranking import VALUE_FIRST, Limits
from laydown.match.words import instructions
from laydown.media.film.fitting import fit_films
from laydown.media.kit.fit import KitFit, reflectance
from laydown.media.laydown import Laydown, Pressure
from laydown.media.recipe import (
    Colorant,
    Medium,
    Paper,
    Recipe,
    Step,
    Tool,
    Treatment,
    TreatmentStep,
    mixture,
)
from laydown.media.swatch import Swatch
from simulated.matching import match_color

PAPER = Paper("Gannet smooth", np.linspace(0.85, 0.9, 36))
FERN, ROOT = (Colorant(name, "Meadow", Medium.PENCIL) for name in ("Fern", "Root"))
LOAM, REED = (Colorant(name, "Pond", Medium.WASH) for name in ("Loam", "Reed"))
PAIR = Recipe((Step(FERN, Laydown(coats=2)), Step(ROOT)))
SOLVENT = TreatmentStep(Treatment.SOLVENT, Tool.SWAB)


@pytest.fixture(scope="module")
def kit() -> KitFit:
    """Return a kit of two pencils, one coat of each swatched."""
    lean = np.linspace(-0.6, 0.6, 36)
    ones = [
        Swatch(PAPER.name, Recipe((Step(c),)), PAPER.reflectance * 0.5 * np.exp(sign * lean))
        for c, sign in ((FERN, 1), (ROOT, -1))
    ]
    return KitFit(pencils=fit_films(ones, PAPER, Medium.PENCIL))


def asked(kit: KitFit, recipe: Recipe) -> Question:
    """Return the question whose wanted color is what a recipe gives."""
    target = Target("wanted", lab_from_reflectance(reflectance(kit, recipe)))
    return Question(target, kit, Limits(steps=2, coats=2), VALUE_FIRST, 2.25, Recipe())


def test_a_match_that_holds_dry_but_not_blended_is_warned_of(kit: KitFit) -> None:
    """A recipe that is right as laid and wrong after solvent is to be left unblended."""
    notes = notes_on_blending(asked(kit, PAIR), PAIR)
    assert any("holds as laid but not after solvent by swab" in note for note in notes)
    assert all("assumed" in note for note in notes)


def test_burnishing_is_named_as_in_a_sentence(kit: KitFit) -> None:
    """What only burnishing brings near is said of “burnishing by stump”."""
    burnished = Recipe((*PAIR.steps, TreatmentStep(Treatment.BURNISH, Tool.STUMP)))
    notes = notes_on_blending(asked(kit, burnished), PAIR)
    assert any("after burnishing by stump" in note for note in notes)


def test_a_match_that_holds_only_blended_is_told(kit: KitFit) -> None:
    """A recipe that is wrong as laid and right after solvent says so, with both differences."""
    question = asked(kit, Recipe((*PAIR.steps, SOLVENT)))
    notes = notes_on_blending(question, PAIR)
    assert any("after solvent by swab" in note and "would be off by 0.0" in note for note in notes)


def test_before_and_after_are_predicted(kit: KitFit) -> None:
    """The usual treatments are tried where none was swatched; a blended recipe has no more."""
    both = blended(asked(kit, PAIR), PAIR)
    assert [step.treatment for step, *_ in both] == [Treatment.SOLVENT, Treatment.BURNISH]
    assert not any(is_told for _, is_told, *_ in both)
    assert blended(asked(kit, PAIR), Recipe((*PAIR.steps, SOLVENT))) == ()
    assert treatments_of(kit) == tuple(step for step, *_ in both)


def test_what_solvent_does_below_is_never_told_by_pencil_alone(kit: KitFit) -> None:
    """Over a wash, solvent stays assumed though swatches show it on pencil; burnishing does not."""
    assert kit.pencils is not None
    done = TreatmentStep(Treatment.BURNISH, Tool.STUMP)
    shown = frozenset(f"{step.treatment} by {step.tool} cover" for step in (SOLVENT, done))
    pencils = replace(kit.pencils, told=kit.pencils.told | shown)
    wash = Swatch(PAPER.name, Recipe((Step(LOAM),)), PAPER.reflectance * 0.6)
    both = KitFit(pencils=pencils, washes=fit_films([wash], PAPER, Medium.WASH))
    over_wash = Recipe((Step(LOAM), Step(FERN)))
    for recipe, told in ((over_wash, [False, True]), (Recipe((Step(FERN),)), [True, True])):
        assert [is_told for _, is_told, *_ in blended(asked(both, recipe), recipe)] == told


def test_pencils_are_matched_from_end_to_end(kit: KitFit) -> None:
    """A wanted color gets its recipe, its single best, its verdict and a way without solvent."""
    question = asked(kit, PAIR)
    match = match_color(question.target, kit, limits=question.limits, tolerance="close")
    assert match.best.verdict is not Verdict.SAME
    assert len(match.single.prediction.recipe.steps) == 1
    for candidate in (match.best, *match.alternatives):
        assert all(isinstance(step, Step) for step in candidate.prediction.recipe.steps)
    assert match.next_swatch
    assert any("Assumed" in note for note in match.notes)


def test_pencils_and_washes_have_their_own_words() -> None:
    """Instructions speak of layers and pressure, of water and the palette."""
    said = instructions(
        Recipe(
            (
                mixture((2, LOAM), (1, REED), laydown=Laydown(dilution=0.5)),
                Step(REED, Laydown(coats=2)),
                Step(FERN, Laydown(coats=2, pressure=Pressure.HEAVY)),
            )
        )
    )
    assert said == (
        "On the palette mix 2 Loam + 1 Reed; then lay a wash of it, 50% water; let it dry.",
        "Lay two washes of Reed, each after the one below has dried; let it dry.",
        "Lay two heavy layers of Fern, one over the other.",
    )
