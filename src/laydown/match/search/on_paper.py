"""A fitted kit as the plain numbers that the compiled loops take."""

from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_xyz
from laydown.color.tristimulus import WEIGHTS_D50, WHITE_D50
from laydown.match.ranking import VALUE_FIRST, Ranking
from laydown.match.search.curve import tabled_inverse
from laydown.match.search.loops import AMOUNT, BANDS, STRENGTH, WIDTH, KitNumbers, lay_numbers
from laydown.match.space import Limits, count_recipes, steps_of
from laydown.media.colorant import Colorant
from laydown.media.laydown import Laydown
from laydown.media.marker.absorption import inverse
from laydown.media.marker.marker import MarkerFit
from laydown.media.marker.pile import laid_steps, pile_of, unchanged
from laydown.media.recipe import Recipe, Step


@dataclass(frozen=True, slots=True, eq=False)
class KitOnPaper:
    """What a search starts from.

    Parameters
    ----------
    colorants
        Those that may be used, in the order of the arrays.
    numbers
        The same as arrays.
    ground
        What lies on the paper already, as a pile of `laydown.match.search.loops`.
    limits
        Which recipes may be laid.
    budget
        How many coats may still be laid in all.
    scale
        Where the dye lies.
    """

    colorants: tuple[Colorant, ...]
    numbers: KitNumbers
    ground: FloatArray
    limits: Limits
    budget: int
    scale: float

    @property
    def considered(self) -> int:
        """How many recipes there are, the one that adds nothing included."""
        return count_recipes(
            len(self.colorants),
            steps=self.limits.steps,
            coats=self.limits.coats,
            budget=self.budget,
        )

    def lab(self, numbers: FloatArray) -> FloatArray:
        """Return the Lab (m, 3) of the recipes with these numbers, to the last digits."""
        laid = np.empty((len(numbers), BANDS))
        lay_numbers(numbers, self.ground, self.limits.coats, self.numbers, laid)
        reflected = inverse(self.numbers.paper + laid, scale=self.scale)
        return lab_from_xyz(reflected @ self.numbers.weights.T * WHITE_D50)

    def recipe(self, number: int) -> Recipe:
        """Return the recipe with this number, see `laydown.match.space.number_of`."""
        row = steps_of(number, colorants=len(self.colorants), coats=self.limits.coats)
        return Recipe(tuple(Step(self.colorants[c], Laydown(coats=n)) for c, n in row))


def kit_on_paper(
    fit: MarkerFit, limits: Limits, over: Recipe, ranking: Ranking = VALUE_FIRST
) -> KitOnPaper:
    """Take from a fit what the search needs.

    Parameters
    ----------
    fit
        The kit on its paper.
    limits
        Which recipes may be laid; without the colorants that it excludes.
    over
        What lies on the paper already, with colorants of the fit.
    ranking
        For what each step and coat asks beside the difference.
    """
    places = [
        place
        for place, colorant in enumerate(fit.colorants)
        if not {colorant.name, colorant.label} & limits.without
    ]
    colorants = tuple(fit.colorants[place] for place in places)
    prices = dict(ranking.prices)
    ground = _ground(fit, over)
    most = fit.paper.coats_limit if limits.total_coats is None else limits.total_coats
    budget = max(0, most - over.coats)
    absorption = np.array(fit.absorption[places], dtype=np.float64).reshape(len(places), BANDS)
    paper = np.array(fit.paper_absorption, dtype=np.float64)
    numbers = KitNumbers(
        absorption=absorption,
        strength=np.array(fit.strength[places], dtype=np.float64),
        blender=np.array(fit.blender[places], dtype=np.float64),
        paper=paper,
        curve=_curve(fit.scale, _most(absorption, paper + ground[:BANDS], budget, fit.later_coat)),
        weights=np.ascontiguousarray((fit.ceiling[:, None] * WEIGHTS_D50 / WHITE_D50).T),
        effort=np.array([ranking.coat + prices.get(c.label, 0.0) for c in colorants]).reshape(-1),
        later_coat=fit.later_coat,
        lift=np.array(fit.lifts[places], dtype=np.float64),
        step_effort=ranking.step,
    )
    return KitOnPaper(colorants, numbers, ground, limits, budget, fit.scale)


def _ground(fit: MarkerFit, over: Recipe) -> FloatArray:
    """Return what lies on the paper already: its bands, strength and amount, and working room."""
    ground = np.zeros(WIDTH)
    if over.steps:
        absorption = fit.absorption[[fit.index(colorant) for colorant in over.colorants]]
        steps = laid_steps(over)
        usual = unchanged(fit.effects, steps=len(steps), colorants=len(absorption))
        pile, _ = pile_of(steps, absorption[None], usual)
        ground[:BANDS] = pile.absorption[0]
        ground[STRENGTH], ground[AMOUNT] = pile.strength[0], pile.amount[0]
    return ground


def strongest_pile(kit: KitOnPaper) -> float:
    """Return an absorption that no recipe of the kit goes beyond in any band."""
    numbers = kit.numbers
    below = numbers.paper + kit.ground[:BANDS]
    return _most(numbers.absorption, below, kit.budget, numbers.later_coat)


def _most(absorption: FloatArray, below: FloatArray, budget: int, later_coat: float) -> float:
    strongest = max(0.0, float(np.max(absorption, initial=0.0))) * max(1.0, later_coat)
    return max(0.0, float(np.max(below))) + budget * strongest + 0.1


def _curve(scale: float, most: float) -> FloatArray:
    """Table the way back to reflectance, as far as the darkest pile can go."""
    return tabled_inverse(lambda a: inverse(a, scale=scale), scale=scale, most=most)
