"""What to do in a cell, in the few words that fit under it and in the full ones of the list."""

from laydown.media.laydown import Pressure, Stroke, Wait
from laydown.media.recipe import AnyStep, Recipe, Step
from laydown.sheet.sheet import Cell

BARE = "leave bare"
COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def step_words(step: AnyStep) -> str:
    """Return what to do in one step.

    Examples
    --------
    >>> from laydown.media.colorant import Colorant
    >>> from laydown.media.laydown import Laydown
    >>> step_words(Step(Colorant("Kelp", "Estuary"), Laydown(coats=2)))
    'two coats, dry between'
    """
    if not isinstance(step, Step):
        return f"{step.treatment} by {step.tool}"
    laid = step.laydown
    words = [f"{COUNTS[laid.coats]} {laid.stroke + ' ' if laid.stroke != Stroke.EVEN else ''}"]
    words[0] += "coat" if laid.coats == 1 else "coats"
    if laid.coats > 1:
        words.append("dry between" if laid.wait is Wait.DRY else "wet on wet")
    elif laid.wait is Wait.WET:
        words.append("while wet")
    if laid.pressure is not Pressure.MEDIUM:
        words.append(f"{laid.pressure} pressure")
    if laid.dilution:
        words.append(f"{100 * laid.dilution:.0f} % water")
    return ", ".join(words)


def cell_lines(cell: Cell) -> tuple[str, ...]:
    """Return the lines under a cell: for each step its colorant and what to do, bottom first.

    Examples
    --------
    >>> cell_lines(Cell(1, 0, 0, Recipe()))
    ('leave bare',)
    """
    if cell.bare:
        return (BARE,)
    return tuple(
        f"{'then ' if i else ''}{_name_and_words(step, ': ')}"
        for i, step in enumerate(cell.recipe.steps)
    )


def recipe_words(recipe: Recipe) -> str:
    """Return the recipe as a person reads it.

    Examples
    --------
    >>> recipe_words(Recipe())
    'bare paper'
    """
    if not recipe.steps:
        return "bare paper"
    return ", then ".join(_name_and_words(step, " ") for step in recipe.steps)


def _name_and_words(step: AnyStep, between: str) -> str:
    if not isinstance(step, Step):
        return step_words(step)
    return f"{colorant_words(step)}{between}{step_words(step)}"


def colorant_words(step: Step) -> str:
    """Return the colorant's name, or the parts of a mixture.

    Examples
    --------
    >>> from laydown.media.colorant import Colorant
    >>> colorant_words(Step(Colorant("Kelp", "Estuary")))
    'Kelp'
    """
    return " + ".join(f"{p.parts} {p.colorant.name}" for p in step.mixed) or step.colorant.name
