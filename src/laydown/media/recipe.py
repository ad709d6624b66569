"""Colorants, papers, and recipes: what is laid on a paper, in order, bottom first.

The text form is the one people type: steps from the bottom up, parted by semicolons. A step is
a colorant's name, then ``*`` and the number of coats where it isn't one, then anything unusual
in parentheses: ``Kelp*2; Dune (soaked, wet)``. ``solvent by swab`` and ``burnish by stump`` act
on all that lies below. ``mix 2 Loam + 1 Reed`` is a wash mixed on the palette, in coarse parts.
Where a name stands in two ranges, write ``Estuary/Kelp``.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.errors import BadRecipeError
from laydown.media.laydown import ONE_COAT, Laydown, Pressure, Stroke, Wait
from laydown.media.legible import checked_name
from laydown.reference.tables import load_table


class Medium(StrEnum):
    """What a colorant is made as."""

    MARKER = "marker"
    PENCIL = "pencil"
    WASH = "wash"

    @property
    def plural(self) -> str:
        """What several of them are called."""
        return "washes" if self is Medium.WASH else f"{self}s"


@dataclass(frozen=True, slots=True, order=True)
class Colorant:
    """One marker, pencil or pan, known by its range and its maker's name for it."""

    name: str
    """Unique within the range."""
    range: str
    """The line it belongs to."""
    medium: Medium = Medium.MARKER
    """Marker, pencil or wash."""
    code: str = ""
    """The owner's own label, opaque: kept, searched and shown, never parsed."""
    blender: bool = False
    """Whether it is a colorless blender, which carries solvent and no color."""

    @property
    def label(self) -> str:
        """Range and name, as recipes write a colorant where the name alone is not enough."""
        return f"{self.range}/{self.name}"


Key: TypeAlias = tuple[str, str]


def key_of(colorant: Colorant) -> Key:
    """Return what a colorant is known by: its range and its name."""
    return colorant.range, colorant.name


USUAL_COATS_LIMIT = 6
"""Coats that a marker paper bears before it pills, bleeds or fills (common practice, no source)."""
BARE_LIGHTNESS = (90.0, 100.0)
"""L* of bare paper for drawing. Of the nine characterization sets that the tests read (Debian
icc-profiles-free) seven lie at 90.1 to 95.9, and below them calendered magazine paper (89.2) and
newsprint (80.1); above 100 more light would come back than fell on it."""
BARE_CHROMA = 10.0
"""C*ab of bare paper: those sets lie within 4.7; twice that leaves room for creams and brighteners.
What lies beyond either is toned paper, or a picture gone wrong."""


class Stock(StrEnum):
    """How it stands with something that one owns."""

    THERE = "there"
    LOW = "running low"
    USED_UP = "used up"
    ON_LOAN = "on loan"

    @property
    def at_hand(self) -> bool:
        """Whether it can be laid today."""
        return self in {Stock.THERE, Stock.LOW}


class Surface(StrEnum):
    """Whether a paper is coated."""

    UNSAID = ""
    COATED = "coated"
    UNCOATED = "uncoated"


@dataclass(frozen=True, slots=True, eq=False)
class Paper:
    """What is colored on."""

    name: str
    """The owner's or maker's name for it."""
    reflectance: FloatArray
    """Of the bare paper, shape (36,); above 1 where a brightener fluoresces."""
    coats_limit: int = USUAL_COATS_LIMIT
    """How many coats in all it bears before it pills, bleeds or fills."""
    measured: bool = True
    """False where no bare-paper swatch exists and a usual white is assumed."""
    surface: Surface = Surface.UNSAID
    """Coated, so that dye stays on top, or not; unsaid where nobody did."""


def unlike_bare_paper(lab: FloatArray) -> str:
    """Return what sets a color apart from those of usual bare papers; empty for nothing.

    `lab`: shape (3,), CIELAB D50.

    >>> [unlike_bare_paper(np.array([lightness, 0.5, -2.0])) for lightness in (86.0, 95.0)]
    ['dark', '']
    """
    lowest, highest = BARE_LIGHTNESS
    if lab[0] < lowest:
        return "dark"
    if lab[0] > highest:
        return "light"
    return "colored" if np.hypot(lab[1], lab[2]) > BARE_CHROMA else ""


_PLUS = re.compile(r"\+\s*(?=\d)")
_PART = re.compile(r"(\d{1,9})\s+(\S.*)")


class Treatment(StrEnum):
    """A step that adds no colorant and acts on all that lies below."""

    SOLVENT = "solvent"
    BURNISH = "burnish"


class Tool(StrEnum):
    """What a treatment is done with."""

    BRUSH = "brush"
    SWAB = "swab"
    STUMP = "stump"


MOST_STEPS = 30
"""Steps, and parts of mixtures, that a recipe may name."""
LONGEST_COUNT = 9
"""Digits of a number of coats; thousands would take squared time to read, or an error."""
MOST_PARTS = 3
"""More parts of one colorant than this aren't told apart on a palette (common practice)."""


@dataclass(frozen=True, slots=True, order=True)
class Part:
    """A colorant in a palette mixture, and how many parts of it."""

    colorant: Colorant
    parts: int

    def __post_init__(self) -> None:
        if not 1 <= self.parts <= MOST_PARTS:
            raise BadRecipeError(
                f"{self.parts} parts of {self.colorant.name}: allowed are 1 to {MOST_PARTS}.",
                hint="Nobody mixes more finely than that by eye: 1:1, 1:2, 2:1, 1:3, 3:1.",
            )


@dataclass(frozen=True, slots=True, order=True)
class Step:
    """A colorant, or washes mixed on the palette, and how it is laid down."""

    colorant: Colorant
    """What is laid; of a mixture, its first part."""
    laydown: Laydown = ONE_COAT
    """How."""
    mixed: tuple[Part, ...] = ()
    """All parts of a palette mixture, the first one included; empty where nothing is mixed."""

    def __post_init__(self) -> None:
        named = [part.colorant for part in self.mixed]
        if named and (named[0] != self.colorant or len(set(named)) != len(named) or len(named) < 2):
            raise BadRecipeError(
                "A mixture names two colorants or more, each once.",
                hint="Write mix 2 Loam + 1 Reed.",
            )

    @property
    def parts(self) -> tuple[Part, ...]:
        """What is laid and in what parts; one part where nothing is mixed."""
        return self.mixed or (Part(self.colorant, 1),)

    @property
    def words(self) -> str:
        """The colorant's name, or the mixture as it is written."""
        return _named_recipe(self, with_range=False)


def mixture(*parts: tuple[int, Colorant], laydown: Laydown = ONE_COAT) -> Step:
    """Return the step of a palette mixture.

    >>> loam, reed = Colorant("Loam", "Pond"), Colorant("Reed", "Pond")
    >>> format_recipe(Recipe((mixture((2, loam), (1, reed)),)))
    'mix 2 Loam + 1 Reed'
    """
    return Step(parts[0][1], laydown, tuple(Part(colorant, count) for count, colorant in parts))


@dataclass(frozen=True, slots=True, order=True)
class TreatmentStep:
    """Solvent or burnishing, with its tool."""

    treatment: Treatment
    tool: Tool

    @property
    def words(self) -> str:
        """How it is written: ``solvent by swab``."""
        return f"{self.treatment} by {self.tool}"


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
    def length(self) -> int:
        """How many steps it counts as within limits: a mixture, one for each of its parts."""
        return sum(len(step.parts) if isinstance(step, Step) else 1 for step in self.steps)

    @property
    def colorants(self) -> tuple[Colorant, ...]:
        """The colorants used, each once, in the order of their first use."""
        steps = [step for step in self.steps if isinstance(step, Step)]
        return tuple(dict.fromkeys(p.colorant for step in steps for p in step.mixed or (step,)))

    @property
    def only_step(self) -> Step | None:
        """The step that lays all of it; None for the bare paper, several steps, or a treatment."""
        steps = self.steps
        return steps[0] if len(steps) == 1 and isinstance(steps[0], Step) else None

    @property
    def key(self) -> tuple[tuple[str, ...], ...]:
        """What recipes of equal cost are sorted by."""
        return tuple(_step_key(step) for step in self.steps)

    def then(self, above: "Recipe") -> "Recipe":
        """Return this recipe with another laid over it."""
        return Recipe(self.steps + above.steps)

    def above(self, below: "Recipe") -> "Recipe":
        """Return what lies over another recipe, which this one begins with.

        >>> kelp, dune = (Recipe((Step(Colorant(name, "Estuary")),)) for name in ("Kelp", "Dune"))
        >>> kelp.then(dune).above(kelp) == dune
        True
        """
        return Recipe(self.steps[len(below.steps) :])


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
        *(f"{part.parts} {part.colorant.label}" for part in step.mixed),
    )


def format_recipe(recipe: Recipe, *, with_range: bool = False) -> str:
    """Write a recipe in its text form.

    >>> kelp = Colorant("Kelp", "Estuary")
    >>> format_recipe(Recipe((Step(kelp, Laydown(coats=2)), Step(kelp, Laydown(wait=Wait.WET)))))
    'Kelp*2; Kelp (wet)'
    """
    return "; ".join(_format_step(step, with_range=with_range) for step in recipe.steps)


def _format_step(step: AnyStep, *, with_range: bool) -> str:
    if isinstance(step, TreatmentStep):
        return step.words
    laid, usual = step.laydown, (ONE_COAT.stroke, ONE_COAT.pressure, ONE_COAT.wait)
    coats = f"*{laid.coats}" if laid.coats != 1 else ""
    words = (laid.stroke, laid.pressure, laid.wait)
    unusual = [str(word) for word, plain in zip(words, usual, strict=True) if word != plain]
    if laid.dilution:
        short = f"{laid.dilution:g}"  # as short as it reads back the same
        exact = short if float(short) == laid.dilution else repr(laid.dilution)
        unusual.append(f"dilution {exact}")
    told = f" ({', '.join(unusual)})" if unusual else ""
    return _named_recipe(step, with_range=with_range) + coats + told


def _named_recipe(step: Step, *, with_range: bool) -> str:
    def name(colorant: Colorant) -> str:
        return colorant.label if with_range else colorant.name

    if not step.mixed:
        return name(step.colorant)
    return "mix " + " + ".join(f"{part.parts} {name(part.colorant)}" for part in step.mixed)


def parse_recipe(text: str, find: Callable[[str], Colorant]) -> Recipe:
    """Read a recipe from its text form.

    `text`: steps parted by semicolons, bottom first; empty text is the bare paper. `find`: turns a
    name, or ``Range/Name``, into a colorant, or raises its own error. Raises BadRecipeError that
    names the step that can't be read and what is allowed.

    >>> recipe = parse_recipe("Kelp*2; solvent by swab", lambda name: Colorant(name, "Estuary"))
    >>> recipe.coats, format_recipe(recipe)
    (2, 'Kelp*2; solvent by swab')
    """
    if text.count(";") + text.count("+") >= MOST_STEPS:
        raise BadRecipeError(
            f"“{text[:60]}…” has more than {MOST_STEPS} steps and parts.",
            hint="No paper holds as many: write what is laid on it, bottom first.",
        )
    parts = [part.strip() for part in text.split(";")]
    return Recipe(tuple(_parse_step(part, find) for part in parts if part))


def _parse_step(text: str, find: Callable[[str], Colorant]) -> AnyStep:
    treatment = _parse_treatment(text)
    if treatment is not None:
        return treatment
    head, words = _split_words(text)
    name, star, coats = head.rpartition("*")
    name, coats = (name, coats.strip()) if star else (head, "1")
    if not coats.isdecimal() or len(coats) > LONGEST_COUNT:
        raise BadRecipeError(
            f"“{text}”: “{coats}” is not a number of coats.",
            hint="Write a step as name*coats, for example Kelp*2.",
        )
    parts = _parts(name.strip(), find)
    return Step(parts[0].colorant, _laydown(int(coats), words, text), parts if parts[1:] else ())


def _parts(name: str, find: Callable[[str], Colorant]) -> tuple[Part, ...]:
    """Return the parts of a mixture, or the one colorant that the text names."""
    split = _PLUS.split(name.removeprefix("mix "))
    parts = [_PART.fullmatch(part.strip()) for part in split]
    if not name.startswith("mix ") or len(parts) < 2 or None in parts:
        return (Part(find(name), 1),)
    return tuple(Part(find(found[2]), int(found[1])) for found in parts if found)


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
    known = {*Stroke, *Pressure, *Wait}
    if not words or not all(word in known or word.startswith("dilution ") for word in words):
        return text, []
    return head.strip(), words


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


TREATMENT = "treatment"


@cache
def order_rules() -> dict[tuple[str, str], tuple[str, str]]:
    """Return by (below, above) *yes*, *dry* (on dry ground only) or *never*, and why.

    From ``media_order.csv``; common practice, no source.
    """
    table = load_table("media_order")
    columns = [table[name] for name in ("below", "above", "rule", "reason")]
    return {(b, a): (rule, why) for b, a, rule, why in zip(*columns, strict=True)}


def may_follow(below: frozenset[Medium], above: Medium) -> bool:
    """Whether a dry step of a medium may lie over media that lie there already.

    >>> may_follow(frozenset({Medium.PENCIL}), Medium.MARKER)
    False
    """
    return all(order_rules()[medium, above][0] != "never" for medium in below)


def order_troubles(recipe: Recipe) -> tuple[str, ...]:
    """Say which steps lie in an order that ruins tools or work, and why; empty where none does.

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
            rule, why = order_rules()[str(medium), str(above or TREATMENT)]
            if rule == "never" and not (above is None and Medium.PENCIL in below):
                said.append(f"{step.words} over {medium}: {why}.")
            elif rule == "dry" and isinstance(step, Step) and step.laydown.wait is Wait.WET:
                said.append(f"{step.words} while {medium} below is wet: {why}.")
        if above is None and not below:
            said.append(f"{step.words} on bare paper: there is nothing to act on.")
        below += [above] if above else []
    return tuple(dict.fromkeys(said))


def check_order(recipe: Recipe) -> None:
    """Refuse a recipe whose order ruins tools or work.

    Raises BadRecipeError with the reason.
    """
    troubles = order_troubles(recipe)
    if troubles:
        raise BadRecipeError(
            troubles[0], hint="Sound orders: marker, then wash or pencil; wash, then pencil."
        )


def checked_colorant_name(text: str, what: str = "colorant") -> str:
    """Return a tidy name of a colorant or range that can stand in the text of a recipe.

    Raises BadRecipeError for a name that `checked_name` refuses, or that a recipe would read as
    something else.

    >>> checked_colorant_name(" Kelp ")
    'Kelp'
    >>> checked_colorant_name("Kelp*2")
    Traceback (most recent call last):
    laydown.errors.BadRecipeError: The colorant name “Kelp*2” would be read as part of a recipe.
    """
    name = checked_name(text, what)
    plain = Recipe((Step(Colorant(name, ""), ONE_COAT),))
    try:
        read = parse_recipe(name, lambda found: Colorant(found, ""))
    except BadRecipeError:
        read = Recipe()
    if read != plain:
        raise BadRecipeError(
            f"The {what} name “{name}” would be read as part of a recipe.",
            hint="Write it without semicolon, asterisk and laydown words in parentheses.",
        )
    return name
