"""Say it where what is shown rests on the demo's invented supplies."""

from collections.abc import Iterable

from laydown.demo.files import (
    CLASS_PAPER,
    PENCIL_RANGE,
    SECOND_PAPER,
    STUDENTS_RANGE,
    TEACHERS_RANGE,
    WASH_RANGE,
)
from laydown.media.recipe import Recipe

RANGES = (TEACHERS_RANGE, STUDENTS_RANGE, PENCIL_RANGE, WASH_RANGE)


PAPERS = (CLASS_PAPER, SECOND_PAPER)


KITS = {"demo student": (STUDENTS_RANGE,), "demo student with pencils": (PENCIL_RANGE,)}
"""The demo's kits, and the ranges that each owns as a whole."""


INVENTED = frozenset((*RANGES, *PAPERS, *KITS))
"""Names that stand for nothing real: doors say so wherever they show them."""


MARK = "Invented data: these supplies belong to the demo."


def marked_invented(notes: tuple[str, ...], recipes: Iterable[Recipe]) -> tuple[str, ...]:
    """Return notes that say it where a recipe takes of the demo's ranges, so that prints do, too.

    Examples
    --------
    >>> from laydown.media.colorant import Colorant
    >>> from laydown.media.recipe import Step
    >>> quince = Colorant("Quince", "Orchard")
    >>> marked_invented((), [Recipe((Step(quince),))])
    ('Invented data: these supplies belong to the demo.',)
    """
    said = any("invented" in note.casefold() for note in notes)
    ranges = {colorant.range for recipe in recipes for colorant in recipe.colorants}
    return notes if said or ranges.isdisjoint(RANGES) else (*notes, MARK)
