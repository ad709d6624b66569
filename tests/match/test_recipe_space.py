"""The colors of the search against those of the model."""

from collections.abc import Callable, Iterator
from itertools import product

import numpy as np
import pytest

from laydown.color.lab import WHITE_D50, lab_from_reflectance, lab_from_xyz
from laydown.match.ranking import Limits, Ranking, Wanted
from laydown.match.search.blocks import RecipeBlock
from laydown.match.search.coloring import (
    DEPTH,
    FAN,
    ROUNDING,
    ColoredPart,
    Coloring,
    Films,
    color,
    color_films,
    coloring_of,
    colors,
    lay,
    pile_tree,
    span,
)
from laydown.match.search.nearness import EVERYTHING
from laydown.match.search.recipes import RecipeSpace, recipe_space
from laydown.match.search.shelves import Tops
from laydown.match.search.shortlist import Shortlist
from laydown.match.search.tables import make_table
from laydown.media.film.film import layer, sunk
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


@pytest.mark.parametrize("surface", [0.0, 0.4, 3.0, 20.0])
@pytest.mark.parametrize("layers", [0, 2])
def test_films_are_off_by_no_more_than_they_say(surface: float, layers: int) -> None:
    """Films from clear to opaque, on grounds from black to white, look as the model has them."""
    rng = np.random.default_rng(5)
    k, s = np.exp(rng.uniform(-12, [[[7]], [[5]]], (2, 60, 72)))
    below, weights = rng.integers(20, size=(50, layers)), rng.dirichlet(np.ones(72), 3)
    seen = ground = np.exp(rng.uniform(-9, 0.0, (50, 72)))
    for place in below.T:
        seen = sunk(k[place], s[place], surface, seen)
    expected = weights @ sunk(k[20:], s[20:], surface, seen[:, None]).reshape(-1, 72).T
    films = np.stack([k, s + surface], axis=1)
    if not surface:
        reflected, passed = layer(k[20:], s[20:])
        films[20:] = np.stack([reflected, passed**2], axis=1)
    films, ground, weights = (part.astype(np.float32) for part in (films, ground, weights))
    glare, xyz = np.float32([0.01, 0.02, 0.03]), np.empty((3, 2000), dtype=np.float32)
    color_films(
        0,
        Films(films, below, 40, ground, np.float32(surface), weights, glare),
        xyz,
    )
    assert np.abs(roots(xyz) - roots(expected + glare[:, None])).max() < ROUNDING


def below_the_last(ready: Coloring) -> Iterator[tuple[RecipeBlock, Tops]]:
    """Go through recipes that one more step is laid on, those of as many coats together."""
    for block in ready.space.levels(room=1):
        for rows in ready.by_coats(block):
            yield from ((block.rows(rows), tops) for tops in ready.space.fitting(block)[1])


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
def test_of_many_markers_most_are_passed_over_together(invented_kit: Maker, lift: float) -> None:
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
def test_piles_are_bounded_together(invented_kit: Maker, lift: float) -> None:
    """What a marker makes of any of four piles, of sixteen and so on lies between two ends."""
    space = recipe_space(invented_kit(96, seed=4, blenders=2, lift=lift), limits=Limits(2, 2))
    ready = coloring_of(space)
    columns, block = ready.columns, next(b for b, _ in below_the_last(ready) if b.steps)
    assert columns is not None
    tree, later, none = pile_tree(block), columns.later, np.float32(0.0)
    ground = columns.paper - 2 * columns.rises
    for level, end, column in product(range(1, DEPTH + 1), (0, -1), range(0, 192, 13)):
        node = end % (tree.starts[level + 1] - tree.starts[level])
        piles = tree.piles[node * FAN**level : (node + 1) * FAN**level]
        light, dark = tree.ends[:, tree.starts[level] + node]
        assert np.array_equal(light, piles.min(axis=0))
        assert np.array_equal(dark, piles.max(axis=0))
        own, lifts = columns.strength[column], columns.lift[column]
        coats, p, w = (
            int(np.searchsorted(columns.ends, column, "right")),
            columns.curve,
            columns.weights,
        )
        keep_1, keep_2, add_1, add_2 = span.py_func(light, dark, own, lifts, coats, later)
        laid = np.empty((2, len(piles)), dtype=np.float32)
        lay.py_func(piles, own, lifts, coats, later, laid)
        assert np.all((keep_1 - 1e-5 <= laid[0]) & (laid[0] <= keep_2 + 1e-5))
        assert np.all((add_1 - 1e-5 <= laid[1]) & (laid[1] <= add_2 + 1e-5))
        depth = columns.depth[column]
        most = color.py_func(keep_1, add_1, none, light, ground, depth, p, w)
        least = color.py_func(keep_2, add_2, none, dark, columns.paper, depth, p, w)
        for pile, keep, add in list(zip(piles, *laid, strict=True))[::19]:
            own_color = color.py_func(
                keep, add, -np.inf, pile, columns.paper, columns.absorption[column], p, w
            )
            assert np.all(np.array(own_color) <= np.array(most) + 1e-5)
            assert np.all(np.array(own_color) >= np.array(least) - 1e-5)


def test_piles_that_look_alike_are_neighbors(invented_kit: Maker) -> None:
    """Sixteen piles side by side differ far less than sixteen in the order of their numbers."""
    ready = coloring_of(recipe_space(invented_kit(40, seed=4), limits=Limits(3, 1)))
    block = max(ready.space.levels(room=1), key=len)
    (rows,) = ready.by_coats(block)
    assert np.array_equal(np.sort(rows), np.arange(len(block)))

    def apart(order: np.ndarray) -> float:
        looks = np.exp(-block.pile[0][order][: len(order) // 16 * 16]).reshape(-1, 16, 36)
        return float(np.ptp(looks, axis=1).mean())

    assert apart(rows) < 0.5 * apart(np.arange(len(block)))


def test_what_effort_alone_makes_too_dear_is_not_colored(invented_kit: Maker) -> None:
    """Of a step that may add no more than two coats cost, the third coat is left out."""
    ranking = Ranking(step=0.5, coat=0.3)
    space = recipe_space(invented_kit(20, seed=4), ranking=ranking, limits=Limits(1, 3))
    ready, (bare,), (tops,) = coloring_of(space), space.levels(room=1), space.tops
    parts = colors(ready.within(EVERYTHING[None], spare=1.2), bare, tops)
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
