"""Pairs of colorants as the page that answers has them: numbers in letters, a few for each pair.

A page has thousands of pairs for each color. What a recipe of a pair looks like is the same for all
colors, so it is written once; for a color a pair has which recipe that is, its cost and how sure it
is. How each is laid is told in a sentence with a place for either name.
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.screen import screen_color, screen_pixels
from laydown.color.value import value_from_lab
from laydown.match.acceptance import acceptance_words, closeness
from laydown.match.pairs import BestPairs
from laydown.match.search.shelves import Ints
from laydown.match.words import instructions
from laydown.media.legible import capital
from laydown.media.recipe import Colorant, Part, Recipe, Step

FIRST, LETTERS = ord("#"), 90
"""A digit is one of so many letters from this on, each a byte of its own; what is hardly ever
needed, such as the high digits of a small number, takes next to no room once it is deflated."""
COST = 50
"""Costs of pairs are written in fiftieths."""
SHADES = 4
"""The reds, greens and blues of a pair's patch are told to so many of 256: nobody sees fewer."""
Place = tuple[int, int]
"""Places of two colorants on the page, the lower first."""
Written = list[list[int]]


class PairsWritten:
    """All pairs of a page, as its script reads them."""

    def __init__(self, places: Mapping[str, int], colors: Sequence[BestPairs]) -> None:
        self.places, self.count = places, len(places) * (len(places) - 1) // 2
        looks: dict[int, dict[Recipe, FloatArray]] = {}
        for color in colors:
            for recipe, lab in zip(color.recipes, color.labs, strict=True):
                looks.setdefault(self._pair(recipe), {}).setdefault(recipe, lab)
        self.nth = {pair: {r: n for n, r in enumerate(own, 1)} for pair, own in looks.items()}
        self.looks = [looks.get(pair, {}) for pair in range(self.count)]
        self.words: dict[str, int] = {}

    def _pair(self, recipe: Recipe) -> int:
        first, second = self._members(recipe)
        return second * (second - 1) // 2 + first

    def _members(self, recipe: Recipe) -> Place:
        first, second = sorted(self.places[colorant.label] for colorant in recipe.colorants)
        return first, second

    def color(self, pairs: BestPairs) -> dict[str, list[str]]:
        """Write which recipe a color has of each pair, 0 for none, its cost and how sure it is."""
        own = [self._pair(recipe) for recipe in pairs.recipes]
        order = np.argsort(np.array(own, dtype=np.int64), kind="stable").tolist()
        which = np.zeros(self.count, dtype=np.int64)
        for recipe, pair in zip(pairs.recipes, own, strict=True):
            which[pair] = self.nth[pair][recipe]
        told = map(_sure, pairs.chances.tolist())
        sure = [self.words.setdefault(words, len(self.words)) for words in told]
        return {
            "which": coded(which),
            "costs": coded(np.rint(COST * pairs.costs[order]).astype(np.int64)),
            "sure": coded(np.array([sure[place] for place in order], dtype=np.int64)),
        }

    def table(self) -> dict[str, object]:
        """Write what is the same for all colors; after all of them were."""
        every = [(recipe, lab) for own in self.looks for recipe, lab in own.items()]
        laid: dict[tuple[tuple[tuple[int, ...], str], ...], int] = {}
        ways = [
            laid.setdefault(
                _sentences(_nameless(recipe, self._members(recipe), self.places)), len(laid)
            )
            for recipe, _ in every
        ]
        labs = np.array([lab for _, lab in every]).reshape(-1, 3)
        values = np.rint(10.0 * value_from_lab(labs)).astype(np.int64)
        return {
            "counts": coded(np.array([len(own) for own in self.looks], dtype=np.int64)),
            "laid": [[[list(whose), words] for whose, words in steps] for steps in laid],
            "ways": coded(np.array(ways, dtype=np.int64)),
            "values": coded(values),
            "fills": [coded(shade) for shade in _shades(labs).T],
            "words": list(self.words),
        }


def _sure(chance: float) -> str:
    return f"{capital(acceptance_words(chance) if chance else closeness(chance))}."


def coded(numbers: Ints) -> list[str]:
    """Write numbers below 8,100 in letters, first the low digits of all, then the high ones.

    >>> coded(np.array([0, 1, 91]))
    ['#$$', '##$']
    """
    digits = np.stack([numbers % LETTERS, numbers // LETTERS])
    return [(FIRST + row).astype(np.uint8).tobytes().decode("ascii") for row in digits]


def _nameless(recipe: Recipe, members: Place, places: Mapping[str, int]) -> Recipe:
    """Return a recipe of two colorants with the place of either in the place of its name."""

    def standing_in(colorant: Colorant) -> Colorant:
        place = members.index(places[colorant.label])
        return Colorant(f"{{{place}}}", "", colorant.medium, "", colorant.blender)

    return Recipe(
        tuple(
            Step(
                standing_in(step.colorant),
                step.laydown,
                tuple(Part(standing_in(part.colorant), part.parts) for part in step.mixed),
            )
            for step in recipe.steps
            if isinstance(step, Step)
        )
    )


@lru_cache
def _sentences(recipe: Recipe) -> tuple[tuple[tuple[int, ...], str], ...]:
    """Return of each step which of the two colorants it needs, and its sentence."""
    needs = [
        tuple(int(part.colorant.name[1:-1]) for part in step.parts)
        for step in recipe.steps
        if isinstance(step, Step)
    ]
    return tuple(zip(needs, instructions(recipe), strict=True))


def _shades(labs: FloatArray) -> Ints:
    """Return the reds, greens and blues of colors, shape (n, 3), a `SHADES`th of what they are."""
    pixels = screen_pixels(labs).astype(np.int64)
    for row in np.flatnonzero(((pixels == 0) | (pixels == 255)).any(axis=1)):
        fill = screen_color(labs[row])
        pixels[row] = [int(fill[n : n + 2], 16) for n in (1, 3, 5)]
    return np.asarray(pixels // SHADES)
