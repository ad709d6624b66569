from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from laydown.media.kit.fit import predict
from laydown.media.laydown import Laydown
from laydown.media.marker import design
from laydown.media.marker.design import both_orders, minimum_design, missing, next_swatch
from laydown.media.marker.fitting import fit_markers
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from laydown.media.swatch import Swatch

MANY = [Colorant(f"Tint {word}", "Cliff") for word in "abcdefghijklmnopqrst"]


def test_a_range_needs_what_the_design_says() -> None:
    """Bare paper, one coat of each, two coats of ten, three pairs both ways, the blender twice."""
    clear = Colorant("Clear", "Cliff", blender=True)
    recipes = minimum_design([clear, *MANY], [0.0, *range(1, 21)])
    assert len(recipes) == len(set(recipes)) == 1 + 20 + 10 + 6 + 2
    assert recipes[0] == Recipe()
    blended = [r.colorants for r in recipes if clear in r.colorants]
    assert blended == [(MANY[10], clear), (MANY[19], clear)]
    assert len(both_orders(recipes)) == 3


def test_two_coats_are_spread_in_strength() -> None:
    """The palest and the strongest are among the ten in two coats, whatever the order given."""
    strengths = np.array([(7 * i) % 20 for i in range(20)], dtype=float)
    twice = {r.colorants[0] for r in minimum_design(MANY, strengths) if r.coats == 2 and
             len(r.steps) == 1}  # fmt: skip
    assert {MANY[int(strengths.argmin())], MANY[int(strengths.argmax())]} <= twice
    assert len(twice) == 10


@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_small_ranges_have_a_design_too(count: int) -> None:
    """A handful of colorants is asked for as many pairs as it has, three at most."""
    recipes = minimum_design(MANY[:count])
    assert len(both_orders(recipes)) == min(count * (count - 1) // 2, 3)
    assert len(set(recipes)) == len(recipes)


def test_nothing_is_missing_after_the_design(full: Sequence[Swatch], paper: Paper) -> None:
    """Any two coats and any three pairs in both orders will do."""
    assert missing(fit_markers(full, paper)) == ()


def test_what_is_missing_completes_the_design(full: Sequence[Swatch], paper: Paper) -> None:
    """After one coat of each, what is missing is all the rest; a pair begun is turned first."""
    ones = full[:6]
    fit = fit_markers(ones, paper)
    rest = missing(fit)
    assert set(rest) == set(minimum_design(fit.colorants, fit.strength)) - {
        Recipe(), *(s.recipe for s in ones)
    }  # fmt: skip
    begun = missing(fit_markers([*full[:12], full[12]], paper))
    assert begun[0] == Recipe(full[12].recipe.steps[::-1])
    assert len(begun) == 5


def test_next_swatch_names_the_stranger(full: Sequence[Swatch], paper: Paper) -> None:
    """A colorant that isn't known on this paper is swatched first."""
    tern = Colorant("Tern", "Cliff")
    recipe, reason = next_swatch(fit_markers(full, paper), [Recipe((Step(tern),))])
    assert recipe == Recipe((Step(tern),))
    assert "one coat of Tern" in reason


def test_next_swatch_asks_for_depth_when_two_coats_are_unsure(
    full: Sequence[Swatch], colorants: Sequence[Colorant], paper: Paper
) -> None:
    """After one coat only, a two-coat answer is made surer by a two-coat swatch."""
    wanted = Recipe((Step(colorants[4], Laydown(coats=2)),))
    recipe, reason = next_swatch(fit_markers(full[:6], paper), [wanted])
    assert recipe.coats == 2
    assert len(recipe.colorants) == 1
    assert "how deep" in reason


def test_next_swatch_keeps_its_promise(
    full: Sequence[Swatch], swatch, colorants: Sequence[Colorant], paper: Paper
) -> None:
    """Making the proposed swatch does narrow the prediction it was proposed for."""
    wanted = full[12].recipe
    before = fit_markers(full[:12], paper)
    recipe, _ = next_swatch(before, [wanted])
    made = swatch(*((step.colorant, step.laydown) for step in recipe.steps))
    after = fit_markers([*full[:12], made], paper)
    narrowed = [np.trace(predict(f, wanted).covariance) for f in (before, after)]
    assert narrowed[1] < narrowed[0]


def test_nothing_to_ask_nothing_to_swatch(full: Sequence[Swatch], paper: Paper) -> None:
    """For bare paper no swatch is worth making."""
    assert next_swatch(fit_markers(full, paper), [Recipe()]) == (Recipe(), "")


def test_next_swatch_has_nothing_to_say_of_a_blender(full: Sequence[Swatch], paper: Paper) -> None:
    """A recipe of the blender alone, with the design complete, leaves no swatch to propose."""
    clear = Colorant("Clear", full[0].recipe.colorants[0].range, blender=True)
    colorants = dict.fromkeys(c for s in full for c in s.recipe.colorants)
    fit = fit_markers(full, paper, colorants=[*colorants, clear])
    assert next_swatch(fit, [Recipe((Step(clear),))]) == (Recipe(), "")


def test_a_blender_laid_over_color_is_not_asked_for_again(
    full: Sequence[Swatch], paper: Paper
) -> None:
    """Two blends are missing until the blender lies over some color, then none."""
    color = full[1].recipe.colorants[0]
    clear = Colorant("Clear", color.range, blender=True)
    laid = Recipe((Step(color), Step(clear)))
    colorants = [*dict.fromkeys(c for s in full for c in s.recipe.colorants), clear]
    blend = replace(full[1], recipe=laid)
    before = fit_markers(full, paper, colorants=colorants)
    after = fit_markers([*full, blend], paper, colorants=colorants)
    assert [clear in recipe.colorants for recipe in missing(before)].count(True) == 2
    assert [clear in recipe.colorants for recipe in missing(after)].count(True) == 0
    assert ("blender" in before.assumed, "blender" in after.assumed) == (True, False)


def test_of_many_colorants_only_some_are_tried_in_pairs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of 200 each is tried alone, and as many pairs as of 60, the first and the last among them."""
    many = [Colorant(f"Tern {n}", "Shoal") for n in range(200)]
    monkeypatch.setattr(design, "missing", lambda _: ())
    tried = design._candidates(None, [design.coats_of(colorant, 2) for colorant in many])  # type: ignore[arg-type]
    pairs = [recipe for recipe in tried if len(recipe.steps) == 2]
    assert {design.one_coat(c) for c in many} | {design.coats_of(c, 2) for c in many} <= set(tried)
    assert len(pairs) == 60 * 59
    assert {many[0], many[-1]} <= {c for recipe in pairs for c in recipe.colorants}
