"""A lesson converted as a whole: what departs from the nearest recipes, why, and what is lost."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.match.search.repertoire import Repertoire
from laydown.media.recipe import Recipe
from laydown.plan.lesson.lesson import Lesson, Turn, turned
from laydown.plan.lesson.palette import (
    Optimum,
    Options,
    Palette,
    broken_orders,
    chosen_only,
    merged,
    nearest,
    options,
    pair_cost,
    together_palette_recipes,
)
from laydown.plan.run.runs import Mending, Shade, mending

FLAT = 0.6
"""A passage that spans less than this share of the values wanted has lost its shape (chosen)."""
LEAST_SPAN = 1.0
"""A passage wanted flatter than this many value steps has little shape to lose (chosen)."""
TURNS = tuple(float(angle) for angle in range(0, 360, 15))
SHARES = (1.0, 0.7, 0.45)
APART = 45.0
"""Turns nearer than this in hue are too alike to be offered both [degrees] (chosen)."""
ROUGHLY = 24
"""Recipes looked at for each color when turns are compared at first."""


@dataclass(frozen=True, slots=True)
class Departure:
    """A color whose recipe is not the nearest one, and why.

    Parameters
    ----------
    name
        The color.
    instead_of, recipe
        The nearest recipe, and the one taken.
    further_off
        By how much CIEDE2000 (kL 1) is greater; below 0 where it is less, for the nearest recipe is
        the nearest by value first.
    reason
        A sentence.
    """

    name: str
    instead_of: Recipe
    recipe: Recipe
    further_off: float
    reason: str

    @property
    def words(self) -> str:
        """How much further off that is, as a sentence."""
        off = round(self.further_off, 1)
        if not off:
            return "No further off."
        return f"Further off by {off:.1f}." if off > 0 else f"Closer by {-off:.1f}."


@dataclass(frozen=True, slots=True)
class LostShape:
    """A passage that loses its shape whatever is chosen, and what would mend it."""

    passage: str
    words: str
    mending: Mending


@dataclass(frozen=True, slots=True)
class Turned:
    """A turn of the whole palette that this kit reaches well.

    Parameters
    ----------
    turn
        Of hue and chroma; values stay.
    recipes
        One for each color, in the lesson's order: what is laid over what lies there.
    mean, largest
        CIEDE2000 between the turned colors and these recipes.
    broken
        How many pairs are out of order in value.
    proven
        Whether no other choice of recipes costs less.
    """

    turn: Turn
    recipes: tuple[Recipe, ...]
    mean: float
    largest: float
    broken: int
    proven: bool


@dataclass(frozen=True, slots=True, eq=False)
class LessonConversion:
    """A lesson converted as a whole.

    Parameters
    ----------
    recipes
        One for each color, in the lesson's order: what is laid over what lies there.
    optimum
        What they cost together, and the bound.
    broken_singly, broken
        Pairs out of order in value, color by color and as a whole, by name.
    mean_singly, mean
        Mean CIEDE2000, color by color and as a whole.
    departures, lost
        What differs from color by color; passages that lose their shape.
    """

    recipes: tuple[Recipe, ...]
    optimum: Optimum
    broken_singly: tuple[tuple[str, str], ...]
    broken: tuple[tuple[str, str], ...]
    mean_singly: float
    mean: float
    departures: tuple[Departure, ...]
    lost: tuple[LostShape, ...]


def convert(
    lesson: Lesson, found: Options, singly: Sequence[int], shop: Sequence[Shade] = ()
) -> LessonConversion:
    """Choose the recipes of a lesson as a whole.

    Parameters
    ----------
    lesson
        What is wanted.
    found
        The recipes that may stand for each color.
    singly
        For each color the place of the recipe taken color by color.
    shop
        What could be bought, to name what would mend a passage.

    Returns
    -------
    Conversion
        Its value orders are broken no more often than color by color.
    """
    choice, optimum = together_palette_recipes(found, start=tuple(singly))
    names = [color.name for color in lesson.colors]

    def named(choice: Sequence[int]) -> tuple[tuple[str, str], ...]:
        return tuple((names[i], names[j]) for i, j in broken_orders(found.palette, choice))

    return LessonConversion(
        recipes=found.recipes(choice),
        optimum=optimum,
        broken_singly=named(singly),
        broken=named(choice),
        mean_singly=float(np.mean(off(found.palette, singly))),
        mean=float(np.mean(off(found.palette, choice))),
        departures=_departures(names, found, singly, choice),
        lost=_lost(lesson, found, choice, shop),
    )


def off(palette: Palette, choice: Sequence[int]) -> FloatArray:
    """Return the CIEDE2000 (kL 1) of each color of a choice, shape (colors,)."""
    seen = np.array([lab[place] for lab, place in zip(palette.labs, choice, strict=True)])
    return np.asarray(ciede2000(palette.lab, seen.reshape(-1, 3)), dtype=np.float64)


def _departures(
    names: Sequence[str], found: Options, singly: Sequence[int], choice: Sequence[int]
) -> tuple[Departure, ...]:
    before, after = off(found.palette, singly), off(found.palette, choice)
    departed = []
    for i, (old, new) in enumerate(zip(singly, choice, strict=True)):
        a, b = found.recipe(i, old), found.recipe(i, new)
        if a != b:
            reason = _reason(names, found.palette, i, old, choice)
            departed.append(Departure(names[i], a, b, float(after[i] - before[i]), reason))
    return tuple(departed)


def _reason(names: Sequence[str], palette: Palette, i: int, old: int, choice: Sequence[int]) -> str:
    """Say what the nearest recipe would do beside the others as they were chosen."""
    back = [*choice]
    back[i] = old
    spoiled = set(broken_orders(palette, back)) - set(broken_orders(palette, choice))
    if spoiled:
        pairs = ", ".join(f"{names[a]} would not be lighter than {names[b]}" for a, b in spoiled)
        return f"With the nearest recipe {pairs}."
    one, other = chosen_only(palette, back), chosen_only(palette, choice)
    alike = [
        names[j]
        for j in range(len(names))
        if j != i and merged(one, i, j)[0, 0] and not merged(other, i, j)[0, 0]
    ]
    if alike:
        return f"With the nearest recipe it would look the same as {' and '.join(alike)}."
    near = [j for pair in palette.neighbors if i in pair for j in pair if j != i]
    spaced = [
        names[j]
        for j in sorted(near)
        if pair_cost(other, i, j, neighbors=True)[0, 0] < pair_cost(one, i, j, neighbors=True)[0, 0]
    ]
    if spaced:
        return f"It keeps the step in value to {' and '.join(spaced)} nearer to what is wanted."
    return "It follows another color that moved."


def _lost(
    lesson: Lesson, found: Options, choice: Sequence[int], shop: Sequence[Shade]
) -> tuple[LostShape, ...]:
    palette = found.palette
    got = np.array([v[c] for v, c in zip(palette.values, choice, strict=True)])
    broken = broken_orders(palette, choice)
    lost = []
    for passage in dict.fromkeys(c.passage for c in lesson.colors if c.passage):
        row = [i for i, c in enumerate(lesson.colors) if c.passage == passage]
        wanted = float(np.ptp(palette.value[row]))
        flat = wanted >= LEAST_SPAN and float(np.ptp(got[row])) < FLAT * wanted
        crossed = [pair for pair in broken if pair[0] in row]
        if not (flat or crossed):
            continue
        worst = max(row, key=lambda i: abs(float(got[i] - palette.value[i])))
        words = _lost_words(passage, wanted, float(np.ptp(got[row])), len(crossed))
        name = f"{lesson.colors[worst].name} in {passage}"
        mend = mending(name, palette.lab[worst], found.repertoire, shop)
        lost.append(LostShape(passage, words, mend))
    return tuple(lost)


def _lost_words(passage: str, wanted: float, got: float, crossed: int) -> str:
    said = f"{passage} spans {got:.1f} value steps where {wanted:.1f} are wanted"
    if crossed:
        said += (
            f", and {crossed} of its pairs come{'s' if crossed == 1 else ''} out in the wrong order"
        )
    return f"{said}, whatever is chosen from this kit."


def transposed(lesson: Lesson, repertoire: Repertoire, *, count: int = 3) -> tuple[Turned, ...]:
    """Return the few turns of the whole palette that a kit reaches best.

    All turns by 15 degrees, as vivid or more muted, are compared by the nearest recipes; the best
    that are not too alike are then chosen as a whole. The palette as it is, is not among them.

    Parameters
    ----------
    lesson
        What is wanted.
    repertoire
        The short recipes of the kit.
    count
        How many turns to return at most.
    """
    turns = [Turn(hue, share) for share in SHARES for hue in TURNS if (hue, share) != (0.0, 1.0)]
    ranked = sorted(turns, key=lambda t: (_roughly(lesson, t, repertoire), t.hue, -t.chroma))
    kept: list[Turn] = []
    for turn in ranked:
        if len(kept) < count and not any(_alike(turn, other) for other in kept):
            kept.append(turn)
    return tuple(_turned(lesson, turn, repertoire) for turn in kept)


def _roughly(lesson: Lesson, turn: Turn, repertoire: Repertoire) -> float:
    """Return the weighted mean difference of the nearest recipes, less a little for vividness."""
    targets = [turned(target, turn) for target in lesson.targets]
    offs = np.array([repertoire.nearest(t.lab, ROUGHLY)[1][0] for t in targets])
    return float(np.average(offs, weights=lesson.weights)) - 0.5 * turn.chroma


def _alike(turn: Turn, other: Turn) -> bool:
    apart = abs((turn.hue - other.hue + 180.0) % 360.0 - 180.0)
    return apart < APART


def _turned(lesson: Lesson, turn: Turn, repertoire: Repertoire) -> Turned:
    targets = [turned(target, turn) for target in lesson.targets]
    found = options(targets, repertoire, lesson.weights)
    choice, optimum = together_palette_recipes(found, nearest(found))
    differences = off(found.palette, choice)
    return Turned(
        turn=Turn(turn.hue, turn.chroma, turn_words(turn)),
        recipes=found.recipes(choice),
        mean=float(differences.mean()),
        largest=float(differences.max()),
        broken=len(broken_orders(found.palette, choice)),
        proven=optimum.proven,
    )


def turn_words(turn: Turn) -> str:
    """Say a turn in words.

    Examples
    --------
    >>> turn_words(Turn(90.0, 0.7)), turn_words(Turn(330.0, 1.0))
    ('hues turned 90° from red towards yellow, more muted', 'hues turned 30° from red towards blue')
    """
    hue = (turn.hue + 180.0) % 360.0 - 180.0
    towards = "yellow" if hue > 0 else "blue"
    said = "the same hues" if not hue else f"hues turned {abs(hue):.0f}° from red towards {towards}"
    if turn.chroma < 0.6:
        return f"{said}, much more muted"
    return f"{said}, more muted" if turn.chroma < 1.0 else said
