"""What to do in a cell, in the few words that fit under it and in the full ones of the list."""

from collections.abc import Collection

from laydown.media.laydown import Medium, Pressure, Stroke, Wait
from laydown.media.recipe import AnyStep, Recipe, Step
from laydown.sheet.sheet import Cell

BARE = "leave bare"
COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
MEANT = {
    Medium.PENCIL: "Pencils: medium pressure, where no other is said.",
    Medium.WASH: "Washes: no water added, where none is said; each on what is dry.",
}


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
    usual = {Medium.PENCIL: "medium pressure", Medium.WASH: "no water added"}
    words = _few_words(step)
    told = usual.get(step.colorant.medium, "")
    return f"{words}, {told}" if told and _is_as_usual(step) else words


def _few_words(step: Step) -> str:
    """Return what to do, without what is meant where nothing is said (`MEANT`)."""
    laid, medium = step.laydown, step.colorant.medium
    stroke = f"{laid.stroke} " if laid.stroke != Stroke.EVEN else ""
    one = {Medium.PENCIL: "layer", Medium.WASH: "wash"}.get(medium, f"{stroke}coat")
    words = [_count(laid.coats, one)]
    if laid.coats > 1 and medium is not Medium.PENCIL:
        words.append("dry between" if laid.wait is Wait.DRY else "wet on wet")
    elif laid.wait is Wait.WET:
        words.append("while wet")
    if laid.pressure is not Pressure.MEDIUM:
        words.append(f"{laid.pressure} pressure")
    if laid.dilution:
        words.append(f"{100 * laid.dilution:.0f} % water")
    return ", ".join(words)


def _is_as_usual(step: Step) -> bool:
    return step.laydown.pressure is Pressure.MEDIUM and not step.laydown.dilution


def _count(number: int, one: str) -> str:
    many = "washes" if one == "wash" else f"{one}s"
    return f"{COUNTS[number]} {one if number == 1 else many}"


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
        f"{'then ' if i else ''}{_in_a_cell(step)}" for i, step in enumerate(cell.recipe.steps)
    )


def _in_a_cell(step: AnyStep) -> str:
    if not isinstance(step, Step):
        return step_words(step)
    return f"{colorant_words(step)}: {_few_words(step)}"


def meant(media: Collection[Medium]) -> tuple[str, ...]:
    """Return what the words under the cells leave out, for the media of a sheet.

    Examples
    --------
    >>> meant({Medium.MARKER, Medium.PENCIL})
    ('Pencils: medium pressure, where no other is said.',)
    """
    return tuple(MEANT[medium] for medium in Medium if medium in media and medium in MEANT)


def recipe_words(recipe: Recipe) -> str:
    """Return the recipe as a person reads it.

    Examples
    --------
    >>> recipe_words(Recipe())
    'bare paper'
    """
    if not recipe.steps:
        return "bare paper"
    return ", then ".join(_name_and_words(step) for step in recipe.steps)


def _name_and_words(step: AnyStep) -> str:
    if not isinstance(step, Step):
        return step_words(step)
    return f"{colorant_words(step)} {step_words(step)}"


def colorant_words(step: Step) -> str:
    """Return the colorant's name, or the parts of a mixture.

    Examples
    --------
    >>> from laydown.media.colorant import Colorant
    >>> colorant_words(Step(Colorant("Kelp", "Estuary")))
    'Kelp'
    """
    if not step.mixed:
        return step.colorant.name
    return "mix " + " + ".join(f"{p.parts} {p.colorant.name}" for p in step.mixed)
