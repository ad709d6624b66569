"""List what is known of colorants' lightfastness, and what isn't."""

from dataclasses import dataclass

from laydown.app.fadings import Known, known_lightfastness
from laydown.media.colorant import Colorant
from laydown.media.exposure import Span
from laydown.plan.life_words import dose_words
from laydown.store.library import Library
from laydown.store.lightfastness import WindowTest

NO_TABLE = "no forecast: no table of that class was read"


@dataclass(frozen=True, slots=True)
class ListLightfastness:
    """Of a kit or a range; empty for all that anything is known of."""

    kit: str = ""
    range: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class ReadingShown:
    """A window reading: its number, dose, how far the color moved, and how it was taken."""

    number: int
    paper: str
    dose: Span
    filtered: bool
    difference: float
    noise: float
    remark: str


@dataclass(frozen=True, slots=True, eq=False)
class ColorantRated:
    """One colorant.

    Parameters
    ----------
    colorant
        Which.
    stated, source
        Its class in words, and who states it; empty where none does.
    readings
        From the window.
    basis
        What its forecast rests on; empty for none.
    noticeable, said
        Dose to a just noticeable change of a plain coat, and the same in words.
    filtered
        Whether that holds for light without ultraviolet.
    """

    colorant: Colorant
    stated: str
    source: str
    readings: tuple[ReadingShown, ...]
    basis: str
    noticeable: Span | None
    said: str
    filtered: bool


@dataclass(frozen=True, slots=True, eq=False)
class LightfastnessListed:
    """The colorants, and those of the kit or range of which nothing is known."""

    colorants: tuple[ColorantRated, ...]
    unknown: tuple[Colorant, ...]


def list_lightfastness(library: Library, request: ListLightfastness) -> LightfastnessListed:
    """List classes, window readings and what follows from them."""
    with library.look() as work:
        known = known_lightfastness(work)
        asked = work.kit(request.kit) if request.kit else work.colorants(request.range or None)
    listed = tuple(_rated(c, known[c.label]) for c in asked if c.label in known)
    scoped = bool(request.kit or request.range)
    unknown = tuple(c for c in asked if scoped and c.label not in known and not c.blender)
    return LightfastnessListed(listed, unknown)


def _rated(colorant: Colorant, found: Known) -> ColorantRated:
    fading = found.fading
    return ColorantRated(
        colorant=colorant,
        stated=found.rating.fastness.words if found.rating else "",
        source=found.rating.source if found.rating else "",
        readings=tuple(_shown(test) for test in found.tests),
        basis=fading.words if fading else "",
        noticeable=fading.noticeable if fading else None,
        said=dose_words(fading.noticeable) if fading else NO_TABLE,
        filtered=fading.filtered if fading else False,
    )


def _shown(test: WindowTest) -> ReadingShown:
    read = test.reading
    return ReadingShown(
        test.number, test.paper, read.dose, read.filtered, read.difference, read.noise, test.remark
    )
