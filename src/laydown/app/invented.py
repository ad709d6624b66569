"""Say it where what is shown rests on the demo's invented supplies."""

from collections.abc import Iterable

from laydown.demo import files
from laydown.media.recipe import Recipe

RANGES = (files.TEACHERS_RANGE, files.STUDENTS_RANGE, files.PENCIL_RANGE, files.WASH_RANGE)


PAPERS = (files.CLASS_PAPER, files.SECOND_PAPER)


KITS = {"demo student": (files.STUDENTS_RANGE,), "demo student with pencils": (files.PENCIL_RANGE,)}
"""The demo's kits, and the ranges that each owns as a whole."""


INVENTED = frozenset((*RANGES, *PAPERS, *KITS))
"""Names that stand for nothing real: doors say so wherever they show them."""


MARK = "Invented data: these supplies belong to the demo."


def marked_invented(notes: tuple[str, ...], recipes: Iterable[Recipe]) -> tuple[str, ...]:
    """Return notes that say it where a recipe takes of the demo's ranges, so that prints do, too.

    Examples
    --------
    >>> from laydown.media.recipe import Colorant
    >>> from laydown.media.recipe import Step
    >>> quince = Colorant("Quince", "Orchard")
    >>> marked_invented((), [Recipe((Step(quince),))])
    ('Invented data: these supplies belong to the demo.',)
    """
    said = any("invented" in note.casefold() for note in notes)
    ranges = {colorant.range for recipe in recipes for colorant in recipe.colorants}
    return notes if said or ranges.isdisjoint(RANGES) else (*notes, MARK)
