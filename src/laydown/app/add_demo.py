"""Put the demo's invented ranges, paper and kits into a library, to try things out on."""

from collections.abc import Iterable
from dataclasses import dataclass

from laydown.app.import_swatches import ImportSwatches, SwatchFile, take_in
from laydown.demo.files import (
    CLASS_PAPER,
    FILM_FILES,
    PENCIL_RANGE,
    SECOND_PAPER,
    SECOND_PAPER_FILE,
    STUDENTS_RANGE,
    SWATCH_FILES,
    TEACHERS_RANGE,
    WASH_RANGE,
    read_bytes,
)
from laydown.errors import DuplicateNameError
from laydown.media.labels import name_key
from laydown.media.recipe import Recipe
from laydown.store.library import Library
from laydown.store.work import Work

FILES = (*SWATCH_FILES, *FILM_FILES, SECOND_PAPER_FILE)
RANGES = (TEACHERS_RANGE, STUDENTS_RANGE, PENCIL_RANGE, WASH_RANGE)
PAPERS = (CLASS_PAPER, SECOND_PAPER)
KITS = {"demo student": (STUDENTS_RANGE,), "demo student with pencils": (PENCIL_RANGE,)}
"""The demo's kits, and the ranges that each owns as a whole."""
INVENTED = frozenset((*RANGES, *PAPERS, *KITS))
"""Names that stand for nothing real: doors say so wherever they show them."""
MARK = "Invented data: these supplies belong to the demo."


@dataclass(frozen=True, slots=True)
class DemoAdded:
    """What came in, all of it invented."""

    ranges: tuple[str, ...]
    papers: tuple[str, ...]
    kits: tuple[str, ...]
    swatches: int


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


def add_demo(library: Library) -> DemoAdded:
    """Put the demo in as one change, which one undo takes back.

    Raises
    ------
    DuplicateNameError
        Where the library has something of one of its names, which may be real.
    """
    request = ImportSwatches(())
    with library.work("put in the demo, all of it invented") as work:
        _refuse_taken(work)
        came = [take_in(work, SwatchFile(read_bytes(name), name), request)[0] for name in FILES]
        for kit, ranges in KITS.items():
            work.add_kit(kit)
            work.own(kit, [c for name in ranges for c in work.colorants(name)])
    return DemoAdded(RANGES, PAPERS, tuple(KITS), sum(file.new for file in came))


def _refuse_taken(work: Work) -> None:
    ours = {name_key(name) for name in INVENTED}
    here = [*(r.name for r in work.ranges()), *work.paper_names(), *work.kit_names()]
    taken = [name for name in here if name_key(name) in ours]
    if taken:
        raise DuplicateNameError(
            f"There is {' and '.join(taken)} in this library already.",
            hint="If that is the demo of earlier, take it out first.",
        )
