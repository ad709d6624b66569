"""The colors of the search against those of the model."""

from collections.abc import Callable, Iterator

import numpy as np
import pytest

from laydown.color.lab import WHITE_D50, lab_from_reflectance, lab_from_xyz
from laydown.match.ranking import Limits, Ranking, Wanted
from laydown.match.search.blocks import RecipeBlock
from laydown.match.search.coloring import (
    ColoredPart,
    Coloring,
    color_row,
    coloring_of,
    colors,
    lay_row,
    span_rows,
)
from laydown.match.search.nearness import EVERYTHING
from laydown.match.search.recipes import RecipeSpace, recipe_space
from laydown.match.search.shelves import Tops
from laydown.match.search.shortlist import Shortlist
from laydown.match.search.tables import make_table
from laydown.media.kit.fit import reflectance
from laydown.media.laydown import Laydown
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Recipe, Step

Maker = Callable[..., MarkerFit]
Rows = Callable[..., list[tuple[tuple[int, int], ...]]]


def roots(xyz: np.ndarray) -> np.ndarray:
    """Return the cube roots of CIELAB of X/Xn, Y/Yn and Z/Zn, shape (3, n)."""
    lab = lab_from_xyz(xyz.T.astype(np.float64) * WHITE_D50)
    f_y = (lab[:, 0] + 16) / 116
    return np.stack([f_y + lab[:, 1] / 500, f_y, f_y - lab[:, 2] / 200])


@pytest.mark.parametrize("scale", [0.0, 0.05, 0.6, 1.0])
@pytest.mark.parametrize("lift", [0.0, 0.5])
def test_colors_are_off_by_no_more_than_they_say(
    invented_kit: Maker, scale: float, lift: float
) -> None:
    """In single precision every recipe of a kit has the model's color, within the stated error."""
    space = recipe_space(invented_kit(6, seed=4, blenders=1, scale=scale, lift=lift))
    table = make_table(space)
    lab = space.lab(table.numbers.astype(np.int64))
    f_y = (lab[:, 0] + 16) / 116
    true = np.stack([f_y + lab[:, 1] / 500, f_y, f_y - lab[:, 2] / 200])
    assert np.abs(roots(table.xyz) - true).max() <= table.error < 2e-3


def below_the_last(ready: Coloring) -> Iterator[tuple[RecipeBlock, Tops]]:
    """Go through recipes that one more step is laid on, those of as many coats together."""
    for block in ready.space.levels(room=1):
        for rows in ready.by_coats(block):
            yield from ((block.rows(rows), tops) for tops in ready.space.fitting(block))


def test_only_what_is_too_dark_is_left_out(invented_kit: Maker) -> None:
    """For a box, whatever is left out lies outside it; and much is."""
    space = recipe_space(invented_kit(12, seed=4, lift=0.4))
    ready, wanted = coloring_of(space), Wanted(np.array([70.0, 5.0, 10.0]), most=3.0)
    best = Shortlist(space, [wanted], ready.error)
    light, kept, every = ready.within(best.draw()), set(), list[ColoredPart]()
    for block, tops in below_the_last(ready):
        kept |= {int(n) for part in colors(light, block, tops) for n in part.numbers}
        every += [ColoredPart(p.xyz[:, : len(p.numbers)].copy(), p.numbers, p.error)
                  for p in colors(ready, block, tops)]  # fmt: skip
    near = {int(n) for part in every for n in best.look(part)["number"]}
    assert near
    assert near <= kept
    assert len(kept) < 0.6 * space.considered


@pytest.mark.parametrize("lift", [0.0, 0.5])
def test_of_many_markers_most_are_passed_over_by_sixteens(invented_kit: Maker, lift: float) -> None:
    """For the box of a near match, little of what 80 markers make is colored, and no match lost."""
    space = recipe_space(invented_kit(80, seed=4, blenders=1, lift=lift), limits=Limits(2, 2))
    ready, wanted = coloring_of(space), Wanted(np.array([60.0, 15.0, 10.0]), most=1.5)
    best = Shortlist(space, [wanted], ready.error)
    light, kept, near = ready.within(best.draw()), 0, set[int]()
    for block, tops in below_the_last(ready):
        parts = list(colors(light, block, tops))
        kept += sum(len(part.numbers) for part in parts)
        near |= {int(n) for part in parts for n in best.look(part)["number"]}
    table = make_table(space)
    every = best.look(ColoredPart(table.xyz, table.numbers.astype(np.int64), table.error))
    assert near == set(every["number"].tolist()) != set()
    assert kept < 0.05 * space.considered


@pytest.mark.parametrize("lift", [0.0, 0.3, 0.9])
def test_sixteen_piles_are_bounded_together(invented_kit: Maker, lift: float) -> None:
    """What sixteen markers make of any of sixteen piles lies between two ends."""
    space = recipe_space(invented_kit(96, seed=4, blenders=2, lift=lift), limits=Limits(2, 2))
    ready = coloring_of(space)
    columns, block = ready.columns, next(b for b, _ in below_the_last(ready) if b.steps)
    assert columns is not None
    assert block.pile is not None
    piles, both = block.pile[0].astype(np.float32), np.stack(block.pile[1:], axis=1)
    lanes, real = len(columns.places), columns.places >= 0
    for start in (0, 16, 48):
        rows, spans = np.arange(start, start + 16), np.zeros((2, 7, lanes // 16), dtype=np.float32)
        span_rows.py_func(lanes // 16, rows, piles, both, 2, spans, columns)
        light, dark = (np.repeat(ends[2:], 16, axis=1) for ends in spans)
        for r in rows[::3]:
            row, own = np.zeros((7, lanes), dtype=np.float32), np.zeros_like(spans)
            lay_row.py_func(lanes // 16, np.arange(lanes // 16), *both[r], row, own, columns)
            color_row(
                0, lanes, piles[r], columns.paper, row, columns.absorption,
                columns.curve, columns.weights,
            )  # fmt: skip
            assert np.all((light[:2] <= row[2:4] + 1e-5) & (row[2:4] <= dark[:2] + 1e-5))
            least, most = own[:, 2:4]
            assert np.array_equal(least, row[2:4].reshape(2, -1, 16).min(axis=2))
            assert np.array_equal(most, row[2:4].reshape(2, -1, 16).max(axis=2))
            assert np.all((row[4:] <= light[2:] + 1e-5)[:, real])
            assert np.all((row[4:] >= dark[2:] - 1e-5)[:, real])


def test_what_effort_alone_makes_too_dear_is_not_colored(invented_kit: Maker) -> None:
    """Of a step that may add no more than two coats cost, the third coat is left out."""
    ranking = Ranking(step=0.5, coat=0.3)
    space = recipe_space(invented_kit(20, seed=4), ranking=ranking, limits=Limits(1, 3))
    ready, (bare,), (tops,) = coloring_of(space), space.levels(room=1), space.tops
    parts = colors(ready.within(EVERYTHING, spare=1.2), bare, tops)
    numbers = np.concatenate([part.numbers for part in parts])
    assert {space.recipe(n).coats for n in numbers.tolist()} == {1, 2}
    dear = list(space.levels(most=lambda: 1.2))
    assert {space.recipe(n).coats for b in dear for n in b.numbers.tolist()} == {0, 1, 2}


def spaces(fit: MarkerFit, **limits: int) -> RecipeSpace:
    """Return all recipes of a fit within limits."""
    return recipe_space(fit, limits=Limits(**limits))


@pytest.mark.parametrize("colorants", [0, 1, 2, 4])
@pytest.mark.parametrize("budget", [0, 1, 3, 5, 9])
@pytest.mark.parametrize("steps", [0, 1, 2, 3])
def test_the_count_is_that_of_the_recipes_themselves(
    invented_kit: Maker, laid_steps: Rows, colorants: int, budget: int, steps: int
) -> None:
    """Counted without laying them, recipes are as many as when gone through one by one."""
    space = spaces(invented_kit(colorants, coats_limit=budget), steps=steps, coats=3)
    expected = laid_steps(colorants, steps=steps, coats=3, budget=budget)
    assert space.considered == len(list(expected)) == sum(map(len, space.levels()))


def test_the_large_kit_of_the_benchmark_has_its_thirteen_million(invented_kit: Maker) -> None:
    """120 colorants, three steps of one or two coats: 120·119²·8 and the shorter recipes."""
    three = 120 * 119**2 * 8
    space = spaces(invented_kit(120), steps=3, coats=2)
    assert space.considered == three + 120 * 119 * 4 + 240 + 1


def test_a_number_gives_back_its_recipe(invented_kit: Maker, laid_steps: Rows) -> None:
    """Every recipe has a number of its own that unpacks to it."""
    fit = invented_kit(3)
    space = spaces(fit, steps=3, coats=2)
    numbers = np.concatenate([block.numbers for block in space.levels()])
    rows = laid_steps(3, steps=3, coats=2, budget=6)
    expected = {
        Recipe(tuple(Step(fit.colorants[c], Laydown(coats=n)) for c, n in row)) for row in rows
    }
    assert {space.recipe(int(number)) for number in numbers} == expected
    assert len(numbers) == len(expected)


def test_colors_of_numbers_are_those_of_the_model(invented_kit: Maker) -> None:
    """What the search scores last is the model's own color, over what lies there already."""
    fit = invented_kit(4, blenders=1, lift=0.4)
    over = Recipe((Step(fit.colorants[1], Laydown(coats=2)),))
    space = recipe_space(fit, limits=Limits(steps=2, coats=2), over=over)
    numbers = np.concatenate([block.numbers for block in space.levels()])
    recipes = [over.then(space.recipe(int(number))) for number in numbers]
    expected = lab_from_reflectance(np.array([reflectance(fit, r) for r in recipes]))
    np.testing.assert_allclose(space.lab(numbers), expected, atol=1e-9)
