"""A recipe in words, as people say it to each other; its short form is for typing and for files."""

import re
from dataclasses import replace

from laydown.errors import BadRecipeError
from laydown.media.laydown import ONE_COAT, Wait
from laydown.media.recipe import AnyStep, Colorant, Medium, Recipe, Step, parse_recipe

BARE_PAPER = "bare paper"
WHILE_WET = "while wet"
ONE_OF = {Medium.PENCIL: "layer", Medium.WASH: "wash"}
"""What one coat is called, where it isn't called that."""
TIMES = {1: "", 2: " twice", 3: " three times"}
TYPED = re.compile(r";|\*\d|\bmix \d")
"""How steps, coats and mixtures are typed, which nobody should have to read on a page."""


def recipe_words(recipe: Recipe) -> str:
    """Say a recipe, bottom first.

    >>> recipe_words(parse_recipe("Kelp*2 (quick); Dune (wet)", lambda name: Colorant(name, "")))
    '2 quick coats Kelp, then 1 coat Dune blended in while wet'
    >>> recipe_words(Recipe())
    'bare paper'
    """
    below = (None, *recipe.steps)
    return ", then ".join(map(step_words, recipe.steps, below)) or BARE_PAPER


def blends_wet(step: AnyStep, below: AnyStep | None) -> bool:
    """Return whether a step is a marker blended into another, which lies right below, while wet."""
    if not isinstance(step, Step) or not isinstance(below, Step):
        return False
    media = {step.colorant.medium, below.colorant.medium}
    wet = step.laydown.wait is Wait.WET
    return wet and media == {Medium.MARKER} and step.colorant != below.colorant


def step_words(step: AnyStep, below: AnyStep | None = None) -> str:
    """Say one step, with all that is unusual of it, laid right over another where one is told."""
    if not isinstance(step, Step):
        return step.words
    unusual = f" ({', '.join(unusual_words(step))})" if unusual_words(step) else ""
    if blends_wet(step, below):
        unusual = f" blended in {WHILE_WET}"
    parts = (f"{p.parts} part{'s' * (p.parts > 1)} {p.colorant.name}" for p in step.mixed)
    what = f"of {' and '.join(parts)}" if step.mixed else step.colorant.name
    return f"{coats_words(step)} {what}{unusual}"


def name_words(name: str) -> str:
    """Return a color's name; one typed as a recipe is said so that nobody takes it for a step.

    >>> name_words("Oilskin; Marram*2"), name_words("Rind in the light")
    ('Oilskin with Marram twice', 'Rind in the light')
    """
    if not TYPED.search(name):
        return name
    try:
        recipe = parse_recipe(name, lambda colorant: Colorant(colorant, ""))
    except BadRecipeError:
        return name
    return " with ".join(map(_named, recipe.steps))


def _named(step: AnyStep) -> str:
    if not isinstance(step, Step):
        return step.words
    once = step_words(replace(step, laydown=replace(step.laydown, coats=1)))
    coats = step.laydown.coats
    times = TIMES.get(coats, f" {coats} times")
    return once.removeprefix("1 coat ").removeprefix("of ") + times


def coats_words(step: Step) -> str:
    """Say how many coats, and with what stroke or pressure where it isn't the usual one.

    >>> coats_words(Step(Colorant("Loam", "Pond", Medium.WASH)))
    '1 wash'
    """
    laid = step.laydown
    one = ONE_OF.get(step.colorant.medium, "coat")
    stroke = f"{laid.stroke} " if laid.stroke != ONE_COAT.stroke else ""
    pressure = f"{laid.pressure} " if laid.pressure != ONE_COAT.pressure else ""
    many = "" if laid.coats == 1 else "es" if one == "wash" else "s"
    return f"{laid.coats} {stroke}{pressure}{one}{many}"


def unusual_words(step: Step) -> tuple[str, ...]:
    """Say what else is unusual of a step: water, and that it is laid on what is wet."""
    laid, usual = step.laydown, ONE_COAT
    words = (
        (laid.dilution != usual.dilution, f"{100 * laid.dilution:.0f} % water"),
        (laid.wait != usual.wait, WHILE_WET),
    )
    return tuple(said for so, said in words if so)
