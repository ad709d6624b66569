"""A recipe: what is laid on a paper, in order, bottom first.

The text form is the one people type: steps from the bottom up, parted by semicolons. A step is a
colorant's name, then ``*`` and the number of coats where it isn't one, then anything unusual in
parentheses: ``Kelp*2; Dune (soaked, wet)``. ``solvent by swab`` and ``burnish by stump`` act on
all that lies below. Where a name stands in two ranges, write ``Estuary/Kelp``.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeAlias

from laydown.errors import BadRecipeError
from laydown.media.colorant import Colorant
from laydown.media.laydown import ONE_COAT, Laydown, Pressure, Stroke, Wait


class Treatment(StrEnum):
    """A step that adds no colorant and acts on all that lies below."""

    SOLVENT = "solvent"
    BURNISH = "burnish"


class Tool(StrEnum):
    """What a treatment is done with."""

    BRUSH = "brush"
    SWAB = "swab"
    STUMP = "stump"


@dataclass(frozen=True, slots=True, order=True)
class Step:
    """A colorant and how it is laid down."""

    colorant: Colorant
    laydown: Laydown = ONE_COAT


@dataclass(frozen=True, slots=True, order=True)
class TreatmentStep:
    """Solvent or burnishing, with its tool."""

    treatment: Treatment
    tool: Tool


AnyStep: TypeAlias = Step | TreatmentStep


@dataclass(frozen=True, slots=True)
class Recipe:
    """An ordered list of steps, bottom first; no steps at all is the bare paper."""

    steps: tuple[AnyStep, ...] = ()

    @property
    def coats(self) -> int:
        """How many coats lie on the paper in all."""
        return sum(step.laydown.coats for step in self.steps if isinstance(step, Step))

    @property
    def colorants(self) -> tuple[Colorant, ...]:
        """The colorants used, each once, in the order of their first use."""
        used = [step.colorant for step in self.steps if isinstance(step, Step)]
        return tuple(dict.fromkeys(used))

    @property
    def key(self) -> tuple[tuple[str, ...], ...]:
        """What recipes of equal cost are sorted by."""
        return tuple(_step_key(step) for step in self.steps)

    def then(self, above: "Recipe") -> "Recipe":
        """Return this recipe with another laid over it."""
        return Recipe(self.steps + above.steps)


def _step_key(step: AnyStep) -> tuple[str, ...]:
    if isinstance(step, TreatmentStep):
        return (step.treatment, step.tool)
    laid = step.laydown
    return (
        step.colorant.range,
        step.colorant.name,
        str(laid.coats),
        laid.stroke,
        laid.pressure,
        f"{laid.dilution:g}",
        laid.wait,
    )


def format_recipe(recipe: Recipe, *, with_range: bool = False) -> str:
    """Write a recipe in its text form.

    Examples
    --------
    >>> kelp = Colorant("Kelp", "Estuary")
    >>> format_recipe(Recipe((Step(kelp, Laydown(coats=2)), Step(kelp, Laydown(wait=Wait.WET)))))
    'Kelp*2; Kelp (wet)'
    """
    return "; ".join(_format_step(step, with_range=with_range) for step in recipe.steps)


def _format_step(step: AnyStep, *, with_range: bool) -> str:
    if isinstance(step, TreatmentStep):
        return f"{step.treatment} by {step.tool}"
    laid, usual = step.laydown, ONE_COAT
    name = step.colorant.label if with_range else step.colorant.name
    coats = f"*{laid.coats}" if laid.coats != 1 else ""
    unusual = [
        str(word)
        for word, plain in (
            (laid.stroke, usual.stroke),
            (laid.pressure, usual.pressure),
            (laid.wait, usual.wait),
        )
        if word != plain
    ]
    if laid.dilution:
        unusual.append(f"dilution {laid.dilution:g}")
    return name + coats + (f" ({', '.join(unusual)})" if unusual else "")


def parse_recipe(text: str, find: Callable[[str], Colorant]) -> Recipe:
    """Read a recipe from its text form.

    Parameters
    ----------
    text
        Steps parted by semicolons, bottom first; empty text is the bare paper.
    find
        Turns a name, or ``Range/Name``, into a colorant, or raises its own error.

    Raises
    ------
    BadRecipeError
        Names the step that can't be read and what is allowed.

    Examples
    --------
    >>> recipe = parse_recipe("Kelp*2; solvent by swab", lambda name: Colorant(name, "Estuary"))
    >>> recipe.coats, format_recipe(recipe)
    (2, 'Kelp*2; solvent by swab')
    """
    parts = [part.strip() for part in text.split(";")]
    return Recipe(tuple(_parse_step(part, find) for part in parts if part))


def _parse_step(text: str, find: Callable[[str], Colorant]) -> AnyStep:
    treatment = _parse_treatment(text)
    if treatment is not None:
        return treatment
    head, words = _split_words(text)
    name, star, coats = head.rpartition("*")
    if not star:
        name, coats = head, "1"
    if not coats.strip().isdecimal():
        raise BadRecipeError(
            f"“{text}”: “{coats.strip()}” is not a number of coats.",
            hint="Write a step as name*coats, for example Kelp*2.",
        )
    return Step(find(name.strip()), _laydown(int(coats), words, text))


def _parse_treatment(text: str) -> TreatmentStep | None:
    words = text.lower().split()
    if len(words) != 3 or words[1] != "by" or words[0] not in set(Treatment):
        return None
    if words[2] not in set(Tool):
        raise BadRecipeError(f"“{text}”: the tool is one of {', '.join(Tool)}.")
    return TreatmentStep(Treatment(words[0]), Tool(words[2]))


def _split_words(text: str) -> tuple[str, list[str]]:
    if not text.endswith(")") or "(" not in text:
        return text, []
    head, _, inside = text[:-1].rpartition("(")
    words = [word.strip().lower() for word in inside.split(",") if word.strip()]
    if not words or not all(_is_laydown_word(word) for word in words):
        return text, []
    return head.strip(), words


def _is_laydown_word(word: str) -> bool:
    return word in {*Stroke, *Pressure, *Wait} or word.startswith("dilution ")


def _laydown(coats: int, words: list[str], text: str) -> Laydown:
    stroke, pressure, wait, dilution = Stroke.EVEN, Pressure.MEDIUM, Wait.DRY, 0.0
    for word in words:
        if word in set(Stroke):
            stroke = Stroke(word)
        elif word in set(Pressure):
            pressure = Pressure(word)
        elif word in set(Wait):
            wait = Wait(word)
        else:
            dilution = _dilution(word, text)
    return Laydown(coats, stroke, pressure, dilution, wait)


def _dilution(word: str, text: str) -> float:
    try:
        return float(word.removeprefix("dilution "))
    except ValueError:
        raise BadRecipeError(
            f"“{text}”: “{word}” has no number.", hint="Write dilution 0.5 for half water."
        ) from None
