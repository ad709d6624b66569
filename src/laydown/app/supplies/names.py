"""Names: offered to be completed, found, added to a range, or told from the demo's."""

from collections.abc import Iterable, Sequence

from laydown.app.library import Library, library_is_there, open_named
from laydown.demo import files
from laydown.errors import UnknownNameError
from laydown.media.recipe import Colorant, Medium, Recipe, checked_colorant_name
from laydown.store.library import Work, remembered
from laydown.store.supplies import of_other_medium


def complete_names(kind: str, beginning: str, *, location: str = "") -> tuple[str, ...]:
    """Return the names of colorants, ranges, papers or kits that begin with what was typed.

    Capitals don't matter. Where there is no library there are no names, and none is made.
    """
    if not library_is_there(location):
        return ()
    library = open_named(location)
    found = names_in(library, kind, beginning)
    library.close()
    return found


@remembered(64)
def names_in(library: Library, kind: str, beginning: str = "") -> tuple[str, ...]:
    """Return the names of one kind in an open library, sorted, as `complete_names` does."""
    with library.look() as work:
        names = _names(work, kind)
    begun = beginning.casefold()
    return tuple(sorted({n for n in names if n.casefold().startswith(begun)}))


def _names(work: Work, kind: str) -> list[str]:
    if kind == "colorant":
        return [name for c in work.colorants() for name in (c.name, c.label)]
    if kind == "range":
        return [r.name for r in work.ranges()]
    if kind == "paper":
        return list(work.paper_names())
    return list(work.kit_names())


def find_or_add(work: Work, name: str, new_range: str, medium: Medium | None = None) -> Colorant:
    """Return the colorant of a name, as `find_or_add_all` does of many."""
    return find_or_add_all(work, (name,), new_range, medium=medium)[0]


def find_or_name(work: Work, name: str, new_range: str, medium: Medium | None = None) -> Colorant:
    """Return the colorant of a name; a new one as it would be added, and nothing is added.

    Raises `UnknownNameError` for an unknown name where no range was named for new ones. Raises
    `DuplicateNameError` where that range is of another medium.
    """
    try:
        return work.find_colorant(name)
    except UnknownNameError:
        if not new_range:
            raise
        plain = checked_colorant_name(name.rpartition("/")[2])
        return Colorant(plain, new_range, _medium_of(work, new_range, medium))


def find_or_add_all(
    work: Work, names: Sequence[str], new_range: str, *, medium: Medium | None = None
) -> tuple[Colorant, ...]:
    """Return the colorants of names; those that aren't there are added to the new range.

    `names`: as typed; of ``Range/Name`` only the name is kept for a new one. `medium` is of the
    range for unknown ones; None for its own where it is there, else for markers. Raises
    `UnknownNameError` for an unknown name where no range was named for new ones. Raises
    `DuplicateNameError` where that range is of another medium.
    """
    known = work.colorants()
    found: dict[str, Colorant] = {}
    new: dict[str, str] = {}
    for name in dict.fromkeys(names):
        try:
            found[name] = work.find_colorant(name, among=known)
        except UnknownNameError:
            if not new_range:
                raise
            new[name] = checked_colorant_name(name.rpartition("/")[2])
    if new:
        kind = _medium_of(work, new_range, medium)
        work.add_colorants([Colorant(plain, new_range, kind) for plain in new.values()])
        there = work.colorants(work.find_range(new_range).name)
        label = {name: f"{new_range}/{plain}" for name, plain in new.items()}
        found |= {name: work.find_colorant(label[name], among=there) for name in new}
    return tuple(found[name] for name in names)


def _medium_of(work: Work, name: str, told: Medium | None) -> Medium:
    try:
        known = work.find_range(name)
    except UnknownNameError:
        return told or Medium.MARKER
    if told is not None and told is not known.medium:
        raise of_other_medium(known.name, known.medium, told)
    return known.medium


RANGES = (files.TEACHERS_RANGE, files.STUDENTS_RANGE, files.PENCIL_RANGE, files.WASH_RANGE)


PAPERS = (files.CLASS_PAPER, files.SECOND_PAPER)


KITS = {"demo student": (files.STUDENTS_RANGE,), "demo student with pencils": (files.PENCIL_RANGE,)}
"""The demo's kits, and the ranges that each owns as a whole."""


INVENTED = frozenset((*RANGES, *PAPERS, *KITS))
"""Names that stand for nothing real: doors say so wherever they show them."""


MARK = "Invented data: these supplies belong to the demo."


def marked_invented(notes: tuple[str, ...], recipes: Iterable[Recipe]) -> tuple[str, ...]:
    """Return notes that say it where a recipe takes of the demo's ranges, so that prints do, too.

    >>> from laydown.media.recipe import Colorant
    >>> from laydown.media.recipe import Step
    >>> quince = Colorant("Quince", "Orchard")
    >>> marked_invented((), [Recipe((Step(quince),))])
    ('Invented data: these supplies belong to the demo.',)
    """
    said = any("invented" in note.casefold() for note in notes)
    ranges = {colorant.range for recipe in recipes for colorant in recipe.colorants}
    return notes if said or ranges.isdisjoint(RANGES) else (*notes, MARK)
