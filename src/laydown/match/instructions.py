"""What to do, one sentence a step."""

from laydown.media.laydown import Laydown, Medium, Pressure, Stroke, Wait
from laydown.media.recipe import AnyStep, Recipe, Treatment, TreatmentStep

_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def instructions(recipe: Recipe, *, over: Recipe | None = None) -> tuple[str, ...]:
    """Say how to lay a recipe, bottom first.

    Parameters
    ----------
    recipe
        What is to be laid now.
    over
        What lies on the paper already.

    Examples
    --------
    >>> from laydown.media.colorant import Colorant
    >>> from laydown.media.recipe import Step
    >>> instructions(Recipe((Step(Colorant("Kelp", "Estuary"), Laydown(coats=2)),)))
    ('Lay two even coats of Kelp, each after the one below has dried; let it dry.',)
    """
    if not recipe.steps:
        lies = bool(over and over.steps)
        return ("Add nothing." if lies else "Leave the paper bare.",)
    return tuple(_sentence(step) for step in recipe.steps)


def _sentence(step: AnyStep) -> str:
    if isinstance(step, TreatmentStep):
        if step.treatment is Treatment.BURNISH:
            return f"Burnish all that lies there with a {step.tool}."
        return f"Go over all that lies there with solvent on a {step.tool}; let it dry."
    laid, name = step.laydown, step.words
    if step.colorant.medium is Medium.PENCIL:
        each = ", one over the other" if laid.coats > 1 else ""
        return f"Lay {_layers(laid)} of {name}{each}."
    if step.colorant.medium is Medium.WASH:
        return f"{_wash(laid, name, mixed=bool(step.mixed))}; let it dry."
    wet = " while what lies below is still wet" if laid.wait is Wait.WET else ""
    each = ", each after the one below has dried" if laid.coats > 1 and not wet else ""
    return f"Lay {_coats(laid)} of {name}{wet}{each}; let it dry."


def _layers(laid: Laydown) -> str:
    pressed = {Pressure.LIGHT: "light", Pressure.MEDIUM: "even", Pressure.HEAVY: "heavy"}
    return f"{_NUMBERS[laid.coats]} {pressed[laid.pressure]} layer{'s' if laid.coats > 1 else ''}"


def _wash(laid: Laydown, name: str, *, mixed: bool) -> str:
    many = f"{_NUMBERS[laid.coats]} washes" if laid.coats > 1 else "a wash"
    water = f", {laid.dilution:.0%} water" if laid.dilution else ""
    wet = " while what lies below is still wet" if laid.wait is Wait.WET else ""
    each = ", each after the one below has dried" if laid.coats > 1 and not wet else ""
    first = f"On the palette {name}; then lay" if mixed else "Lay"
    of = "of it" if mixed else f"of {name}"
    return f"{first} {many} {of}{water}{wet}{each}"


def _coats(laid: Laydown) -> str:
    stroke = {Stroke.EVEN: "even", Stroke.QUICK: "quick", Stroke.SOAKED: "soaked"}[laid.stroke]
    return f"{_NUMBERS[laid.coats]} {stroke} coat{'s' if laid.coats > 1 else ''}"
