"""Which medium may lie over which: orders that ruin tools or work are refused with the reason."""

from dataclasses import dataclass
from functools import cache

from laydown.errors import BadRecipeError
from laydown.media.laydown import Medium, Wait
from laydown.media.recipe import AnyStep, Recipe, Step
from laydown.reference.tables import load_table

TREATMENT = "treatment"


@dataclass(frozen=True, slots=True)
class OrderRule:
    """A row of ``media_order.csv``: *yes*, *dry* (on dry ground only) or *never*, and why."""

    rule: str
    reason: str


@cache
def order_rules() -> dict[tuple[str, str], OrderRule]:
    """Return the rules by (below, above); common practice, no source."""
    table = load_table("media_order")
    columns = [table.words(name) for name in ("below", "above", "rule", "reason")]
    return {(b, a): OrderRule(rule, why) for b, a, rule, why in zip(*columns, strict=True)}


def may_follow(below: frozenset[Medium], above: Medium) -> bool:
    """Whether a dry step of a medium may lie over media that lie there already.

    Examples
    --------
    >>> may_follow(frozenset({Medium.PENCIL}), Medium.MARKER)
    False
    """
    return all(order_rules()[medium, above].rule != "never" for medium in below)


def order_troubles(recipe: Recipe) -> tuple[str, ...]:
    """Say which steps lie in an order that ruins tools or work, and why; empty where none does.

    Examples
    --------
    >>> from laydown.media.colorant import Colorant
    >>> fern = Step(Colorant("Fern", "Meadow", Medium.PENCIL))
    >>> kelp = Step(Colorant("Kelp", "Estuary"))
    >>> order_troubles(Recipe((kelp, fern))), len(order_troubles(Recipe((fern, kelp))))
    ((), 1)
    """
    below: list[Medium] = []
    said: list[str] = []
    for step in recipe.steps:
        above = step.colorant.medium if isinstance(step, Step) else None
        for medium in dict.fromkeys(below):
            rule = order_rules()[str(medium), str(above or TREATMENT)]
            if rule.rule == "never" and not (above is None and Medium.PENCIL in below):
                said.append(f"{_named(step)} over {medium}: {rule.reason}.")
            elif rule.rule == "dry" and _is_wet(step):
                said.append(f"{_named(step)} while {medium} below is wet: {rule.reason}.")
        if above is None and not below:
            said.append(f"{_named(step)} on bare paper: there is nothing to act on.")
        below += [above] if above else []
    return tuple(dict.fromkeys(said))


def check_order(recipe: Recipe) -> None:
    """Refuse a recipe whose order ruins tools or work.

    Raises
    ------
    BadRecipeError
        With the reason.
    """
    troubles = order_troubles(recipe)
    if troubles:
        raise BadRecipeError(
            troubles[0], hint="Sound orders: marker, then wash or pencil; wash, then pencil."
        )


def _named(step: AnyStep) -> str:
    return step.words if isinstance(step, Step) else f"{step.treatment} by {step.tool}"


def _is_wet(step: AnyStep) -> bool:
    return isinstance(step, Step) and step.laydown.wait is Wait.WET
