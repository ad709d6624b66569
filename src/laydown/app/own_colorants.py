"""Put colorants into a kit."""

from collections.abc import Sequence
from dataclasses import dataclass

from laydown.app.new_colorants import find_or_add_all
from laydown.media.colorant import Colorant
from laydown.media.laydown import Medium
from laydown.store.library import Library
from laydown.store.work import Work


@dataclass(frozen=True, slots=True)
class OwnColorants:
    """Which colorants, and the kit.

    Parameters
    ----------
    kit
        Its name.
    names
        Names, ``Range/Name`` or owner's codes.
    ranges
        Ranges meant as a whole.
    new_range, medium
        A range that unknown names are added to, empty for none, and what it is made of; None for
        its own where it is there, else for markers.
    """

    kit: str
    names: tuple[str, ...] = ()
    ranges: tuple[str, ...] = ()
    new_range: str = ""
    medium: Medium | None = None


@dataclass(frozen=True, slots=True)
class KitChanged:
    """What changed, and how many colorants the kit now has."""

    kit: str
    changed: tuple[Colorant, ...]
    unchanged: tuple[Colorant, ...]
    colorants: int


def own_colorants(library: Library, request: OwnColorants) -> KitChanged:
    """Put colorants into a kit, all of them or, if one name is unknown, none."""
    with library.work(f"own {said(request)} in {request.kit}") as work:
        asked = named_colorants(work, request)
        return kit_changed(work, request.kit, asked, work.own(request.kit, asked))


def named_colorants(
    work: Work, request: OwnColorants, among: Sequence[Colorant] | None = None
) -> tuple[Colorant, ...]:
    """Return the colorants that a request names, each once, in its order."""
    whole = [c for name in request.ranges for c in work.colorants(work.find_range(name).name)]
    if among is not None:
        named = tuple(work.find_colorant(name, among=among) for name in request.names)
    else:
        named = find_or_add_all(work, request.names, request.new_range, medium=request.medium)
    return tuple(dict.fromkeys([*whole, *named]))


def kit_changed(
    work: Work, kit: str, asked: tuple[Colorant, ...], changed: tuple[Colorant, ...]
) -> KitChanged:
    """Say what a change of a kit came to."""
    same = tuple(c for c in asked if c not in changed)
    return KitChanged(kit, changed, same, len(work.kit(kit)))


def said(request: OwnColorants) -> str:
    """Name what a request is about, for the history."""
    named = [*request.ranges, *request.names]
    return named[0] if len(named) == 1 else f"{len(named)} names"
