"""Light, middle and dark: the triad that each color belongs to, and what would complete it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

import numpy as np

from laydown.match.search.repertoire import Repertoire
from laydown.media.recipe import Colorant, Medium, Recipe, Step, format_recipe
from laydown.media.recipe_words import recipe_words
from laydown.plan.run.partners import DARK, partner_costs
from laydown.plan.run.runs import LEAST, Run, Shade, Tones, rated, shade, tones_of
from laydown.reference.thresholds import thresholds

FURTHER_COATS = 3.0
"""What a further coat of the same color costs beside another color (chosen: one that is three value
steps off and of its hue still shades further; a thinned wash and a lighter pencil cost nothing)."""
FURTHER_STEP = 0.5
"""What a further step costs where a recipe has to make a tone (chosen)."""
PAPER_WITHIN = 2.0
"""Value steps within which the bare paper is a pale color's light (common practice, no source)."""


class Source(StrEnum):
    """Where a tone of a triad comes from."""

    COLOR = "color"
    ITSELF = "itself"
    PAPER = "paper"
    RECIPE = "recipe"
    NONE = "none"


AT_HAND = (Source.COLOR, Source.ITSELF, Source.PAPER)
"""What makes a tone without mixing."""


@dataclass(frozen=True, slots=True, eq=False)
class Tone:
    """One of the three."""

    source: Source
    """Another color, the same one laid more or less strongly, the paper, a recipe that would make
    it, or none."""
    shade: Shade | None
    """Its color; None where nothing at hand makes it."""
    purchase: str = ""
    """The color that could be bought for it, where it isn't at hand and one was offered."""

    @property
    def at_hand(self) -> bool:
        """Whether one color, or the paper, makes it."""
        return self.source in AT_HAND


@dataclass(frozen=True, slots=True, eq=False)
class Triad:
    """A color's triad."""

    name: str
    """The color it was looked for."""
    seat: str
    """Where that color stands in it: "light", "middle" or "dark"."""
    light: Tone
    middle: Tone
    dark: Tone
    """The three."""

    @property
    def tones(self) -> tuple[Tone, ...]:
        """From light to dark."""
        return (self.light, self.middle, self.dark)

    @property
    def own_shade(self) -> Shade:
        """The color it was looked for."""
        own = {"light": self.light, "middle": self.middle, "dark": self.dark}[self.seat].shade
        assert own is not None  # a color always stands in its own seat
        return own

    @property
    def own(self) -> str:
        """Range and name of the color it was looked for."""
        recipe = self.own_shade.recipe
        return recipe.colorants[0].label if recipe else self.name

    @property
    def complete(self) -> bool:
        """Whether all three are at hand without mixing."""
        return all(tone.at_hand for tone in self.tones)


def shade_words(of: Shade, write: Callable[[Recipe], str] = recipe_words) -> str:
    """Say a color of a run: its name where it is laid as usual, else how it is laid."""
    if of.recipe is None or of.recipe in [Recipe((Step(c),)) for c in of.recipe.colorants]:
        return of.name
    return write(of.recipe)


def run_words(run: Run) -> str:
    """Say a run from light to dark, whatever strength each is laid at."""
    return " – ".join(map(shade_words, run.shades))


def tone_words(tone: Tone) -> str:
    """Say what makes a tone, or what would.

    >>> tone_words(Tone(Source.NONE, None, "Kelp"))
    'none; buy Kelp'
    """
    said = "none"
    if tone.source is Source.PAPER:
        said = "the bare paper"
    elif tone.shade is not None:
        said = shade_words(tone.shade)
    if tone.source is Source.RECIPE:
        said = f"make it: {said}"
    return f"{said}; {'or ' * (said != 'none')}buy {tone.purchase}" if tone.purchase else said


def triad_words(triad: Triad) -> str:
    """Say a triad from light to dark."""
    return " – ".join(map(tone_words, triad.tones))


def triads(
    colors: Sequence[Shade],
    *,
    single: Repertoire,
    recipes: Repertoire,
    shop: Sequence[Shade] = (),
    of: Sequence[Shade] | None = None,
) -> tuple[Triad, ...]:
    """Return the triad of each color, or of some of them.

    A color is its middle where it has both a light and a dark; else the light or the dark of
    others where these three are at hand; a pale one without a light has the paper. What is still
    missing is made by the plainest recipe that fits, or could be bought.

    `colors`: one coat of each. `single`: all ways to lay one color; the bare paper first.
    `recipes`: the short recipes from what is at hand. `shop`: one coat of each that could be
    bought. `of`: those of `colors` that are asked for; None for all.
    """
    table = _Table(colors, single, recipes, shop)
    return tuple(_triad(own, table) for own in (colors if of is None else of))


def _tones(shades: Sequence[Shade]) -> Tones:
    return tones_of(np.array([one.lab for one in shades]).reshape(-1, 3))


def strengths_in(single: Repertoire) -> dict[Colorant, tuple[Shade, ...]]:
    """Return all ways to lay each color alone, from light to dark; `single` are of one step."""
    found: dict[Colorant, list[Shade]] = {}
    for place, lab in enumerate(single.lab):
        recipe = single.recipe(place)
        if len(recipe.colorants) == 1:
            laid = shade(format_recipe(recipe), lab, recipe)
            found.setdefault(recipe.colorants[0], []).append(laid)
    return {
        colorant: tuple(sorted(laid, key=lambda one: (-one.value, one.name)))
        for colorant, laid in found.items()
    }


def runs_of(found: Sequence[Triad]) -> tuple[Run, ...]:
    """Return the complete triads as runs of three, but those of paper and of further coats."""
    threes = ([tone.shade for tone in one.tones if tone.shade] for one in found if one.complete)
    return tuple(
        rated(row)
        for row in threes
        if all(s.recipe is None or (s.recipe.steps and _coats(s) == 1) for s in row)
    )


def runs_alone(single: Repertoire) -> tuple[Run, ...]:
    """Return the runs of one color alone: a wash thinned with water, a pencil pressed harder.

    `single`: recipes of one step.
    """
    found = []
    for colorant, laid in strengths_in(single).items():
        if colorant.medium is Medium.MARKER or colorant.blender:
            continue
        row = [one for one in laid if colorant.medium is Medium.WASH or _coats(one) == 1]
        steps = [a.value - b.value for a, b in pairwise(row)]
        if len(row) >= LEAST and min(steps) >= thresholds()["value right"]:
            found.append(rated(row))
    return tuple(sorted(found, key=lambda run: run.names))


class _Table:
    """What triads are made from, with the tones of all of it."""

    def __init__(
        self,
        colors: Sequence[Shade],
        single: Repertoire,
        recipes: Repertoire,
        shop: Sequence[Shade],
    ) -> None:
        self.colors, self.color_tones = colors, _tones(colors)
        self.strengths = strengths_in(single)
        self.paper = shade("bare paper", single.lab[0], Recipe())
        self.recipes, self.recipe_tones = recipes, tones_of(recipes.lab)
        self.plainness = FURTHER_STEP * np.sum(recipes.members >= 0, axis=1)
        self.shop, self.shop_tones = shop, _tones(shop)

    def at_hand(self, own: Shade, role: str, *, coats: int) -> Tone:
        """Return the best tone that one color makes, another or the same laid otherwise."""
        costs = partner_costs(own, self.color_tones, role)
        ways = [
            (float(cost), other.name, Tone(Source.COLOR, other))
            for cost, other in zip(costs, self.colors, strict=True)
            if np.isfinite(cost)
        ]
        strengths = self.strengths.get(own.recipe.colorants[0], ()) if own.recipe else ()
        for laid, cost in zip(strengths, partner_costs(own, _tones(strengths), role), strict=True):
            if np.isfinite(cost) and _coats(laid) <= coats:
                more = FURTHER_COATS if _coats(laid) > 1 else 0.0
                ways.append((float(cost) + more, laid.name, Tone(Source.ITSELF, laid)))
        return min(ways, key=lambda way: way[:2])[2] if ways else NO_TONE

    def or_paper(self, own: Shade, role: str, tone: Tone) -> Tone:
        """Return the bare paper where a pale color has no other light."""
        near = 0.0 < self.paper.value - own.value <= PAPER_WITHIN
        if role == "highlight" and near and not tone.at_hand:
            return Tone(Source.PAPER, self.paper)
        return tone

    def or_made(self, own: Shade, role: str) -> Tone:
        """Return the same, or else the plainest recipe that makes it, with what could be bought."""
        tone = self.or_paper(own, role, self.at_hand(own, role, coats=2))
        if tone.at_hand:
            return tone
        offers = partner_costs(own, self.shop_tones, role)
        best = int(np.argmin(offers)) if len(offers) else -1
        purchase = self.shop[best].name if best >= 0 and np.isfinite(offers[best]) else ""
        costs = partner_costs(own, self.recipe_tones, role) + self.plainness
        for place in np.argsort(costs, kind="stable")[: int(np.isfinite(costs).sum())]:
            recipe, lab = self.recipes.recipe(int(place)), self.recipes.lab[place]
            if self._only_darkens(recipe, float(self.recipe_tones[0][place])):
                return Tone(Source.RECIPE, shade(format_recipe(recipe), lab, recipe), purchase)
        return Tone(Source.NONE, None, purchase)

    def _only_darkens(self, recipe: Recipe, value: float) -> bool:
        """Whether none of a recipe's steps alone is darker than all of it.

        Light comes from paper: a pale coat that lifts a dark one is no light (common practice).
        """
        alone = {one.recipe: one.value for row in self.strengths.values() for one in row}
        steps = [alone.get(Recipe((step,)), 10.0) for step in recipe.steps]
        return min(steps, default=10.0) > value - thresholds()["value right"]


Find = Callable[[Shade, str], "Tone"]
"""Finds the best tone of a role for a color."""


def _triad(own: Shade, table: _Table) -> Triad:
    """Return the first of the ways that is complete, or else the plainest, with what is missing.

    A color that is the dark of two others is shaded with these sooner than with a coat more of
    itself.
    """
    is_dark = own.value < DARK
    for coats in (1, 2):

        def find(to: Shade, role: str, coats: int = coats) -> Tone:
            return table.at_hand(to, role, coats=coats)

        ways = [_as_middle(own, find), _as_light(own, find), _as_dark(own, find)]
        ways.append(_as_middle(own, lambda to, role: table.or_paper(to, role, find(to, role))))
        complete = [triad for triad in (ways[2:] + ways[:2] if is_dark else ways) if triad.complete]
        if complete:
            return complete[0]
    return (_as_dark if is_dark else _as_middle)(own, table.or_made)


NO_TONE = Tone(Source.NONE, None)


def _as_middle(own: Shade, find: Find) -> Triad:
    tone = Tone(Source.ITSELF, own)
    return Triad(own.name, "middle", find(own, "highlight"), tone, find(own, "shadow"))


def _as_light(own: Shade, find: Find) -> Triad:
    middle = find(own, "shadow")
    dark = find(middle.shade, "shadow") if middle.shade else NO_TONE
    return Triad(own.name, "light", Tone(Source.ITSELF, own), middle, dark)


def _as_dark(own: Shade, find: Find) -> Triad:
    middle = find(own, "highlight")
    light = find(middle.shade, "highlight") if middle.shade else NO_TONE
    return Triad(own.name, "dark", light, middle, Tone(Source.ITSELF, own))


def _coats(laid: Shade) -> int:
    steps = laid.recipe.steps if laid.recipe else ()
    return max((step.laydown.coats for step in steps if isinstance(step, Step)), default=1)
