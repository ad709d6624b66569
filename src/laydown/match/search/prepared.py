"""A kit on a paper made ready for searches: its numbers in double and in single precision."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.match.ranking import VALUE_FIRST, Ranking
from laydown.match.search.found import NOTHING
from laydown.match.search.loops import BANDS, MARGIN
from laydown.match.search.on_paper import KitOnPaper, kit_on_paper, strongest_pile
from laydown.match.search.quick_curve import quick_curve
from laydown.match.search.wide import LANES, WideKit
from laydown.match.search.window import window
from laydown.match.space import USUAL_LIMITS, Limits
from laydown.media.marker.absorption import inverse
from laydown.media.marker.marker import MarkerFit
from laydown.media.recipe import Recipe

ROUNDING = 5e-6
"""What single precision may add to the error of f(X/Xn): see docs/decisions/search.md."""


@dataclass(frozen=True, slots=True, eq=False)
class Prepared:
    """A kit on a paper, ready for any number of searches; the caller keeps it.

    Parameters
    ----------
    kit
        The kit, its limits and its start.
    columns
        The same in single precision, one column a colorant and a blank one.
    wide
        The same, one column a choice.
    error
        How far f(X/Xn) and its fellows may be off in the rows.
    ranking
        What recipes are ranked by.
    """

    kit: KitOnPaper
    columns: WideKit
    wide: WideKit
    error: float
    ranking: Ranking


def prepare(
    fit: MarkerFit,
    *,
    limits: Limits = USUAL_LIMITS,
    ranking: Ranking = VALUE_FIRST,
    over: Recipe = NOTHING,
) -> Prepared:
    """Make a kit ready for searches, which takes some milliseconds.

    Parameters
    ----------
    fit
        The kit's colorants on the paper.
    limits, ranking
        Which recipes, and what they are ranked by.
    over
        What lies on the paper already.
    """
    return prepare_kit(kit_on_paper(fit, limits, over, ranking), ranking)


def prepare_kit(kit: KitOnPaper, ranking: Ranking) -> Prepared:
    """Make a kit ready for searches, from the numbers it has on its paper."""
    numbers = kit.numbers
    curve = quick_curve(
        lambda a: inverse(a, scale=kit.scale), scale=kit.scale, most=strongest_pile(kit)
    )
    most = max(1.0, kit.numbers.later_coat)
    lowered = np.maximum(0.0, -np.min(numbers.absorption, axis=0, initial=0.0)) * most
    most_lifted = float(np.max(numbers.lift, initial=0.0))
    rules = [numbers.later_coat, most_lifted, float(np.min(numbers.strength, initial=np.inf))]
    wide = WideKit(
        absorption=_with_blank(numbers.absorption).T,
        strength=_with_blank(numbers.strength),
        lift=_with_blank(numbers.lift),
        paper=numbers.paper.astype(np.float32),
        curve=curve.numbers,
        weights=numbers.weights.astype(np.float32),
        rises=lowered.astype(np.float32),
        rules=np.array(rules, dtype=np.float32),
        places=np.arange(len(kit.colorants)),
        ends=np.zeros(1, dtype=np.int64),
    )
    total = max(1.0, float(numbers.weights.sum(axis=1).max()))
    spread = _spread(wide, np.full(len(kit.colorants), kit.limits.coats), kit.limits.coats)
    return Prepared(kit, wide, spread, 0.5 * curve.error * total + ROUNDING, ranking)


def _with_blank(values: FloatArray) -> NDArray[np.float32]:
    """Add one colorant without any color, at place -1, which fills up the lanes."""
    return np.concatenate([values, np.zeros((1, *values.shape[1:]))]).astype(np.float32)


def without_what_is_too_dark(prepared: Prepared, labs: FloatArray, costs: FloatArray) -> Prepared:
    """Leave out of the rows each colorant that is too dark for all colors, by number of coats.

    A pile with a coat of a colorant on top is in every band at most as light as that coat alone on
    the paper, and a coat over color takes its amount whatever it lifts.
    """
    kit, wide = prepared.kit, prepared.wide
    boxes = np.zeros((len(labs), 6))
    ks = np.array([prepared.ranking.k_L, prepared.ranking.k_C, prepared.ranking.k_H])
    for lab, cost, box in zip(labs, costs, boxes, strict=True):
        window(lab, ks, cost + MARGIN, prepared.error, box)
    coats = np.arange(1, kit.limits.coats + 1)
    fresh = min(1.0, kit.numbers.later_coat)
    amount = fresh * np.cumsum((1.0 - kit.numbers.lift[:, None]) ** (coats - 1), axis=1)
    laid = np.maximum(kit.numbers.absorption, 0.0)[:, None, :] * amount[..., None]
    lowered = kit.budget * wide.rises + np.maximum(0.0, -kit.ground[:BANDS])
    shown = inverse(kit.numbers.paper + laid - lowered, scale=kit.scale) @ kit.numbers.weights.T
    enough = (shown[:, :, None, :] >= boxes[:, 0::2]).all(axis=-1).any(axis=-1)
    deepest = np.cumprod(enough, axis=1).sum(axis=1)
    return replace(prepared, wide=_spread(prepared.columns, deepest, kit.limits.coats))


def _spread(columns: WideKit, deepest: NDArray[np.int64], coats: int) -> WideKit:
    """Spread a kit of one column a colorant into one column for each of its first coats.

    Colorants that keep more coats come first, so that every group is the head of the one before.
    """
    order = np.argsort(-deepest, kind="stable")
    groups, ends = [], [0]
    for coat in range(1, coats + 1):
        group = order[: int(np.sum(deepest >= coat))]
        filled = np.full(-(-len(group) // LANES) * LANES, -1, dtype=np.int64)
        filled[: len(group)] = group
        groups.append(filled)
        ends.append(ends[-1] + len(filled))
    places = np.concatenate(groups)
    least = float(np.min(columns.strength[:-1][deepest > 0], initial=np.inf))
    return columns._replace(
        absorption=np.ascontiguousarray(columns.absorption[:, places]),
        strength=columns.strength[places],
        lift=columns.lift[places],
        rules=np.array([*columns.rules[:2], least], dtype=np.float32),
        places=places,
        ends=np.array(ends, dtype=np.int64),
    )
