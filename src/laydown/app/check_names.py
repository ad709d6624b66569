"""Say which names of a list stand for colorants here, and what the others may have meant."""

from collections.abc import Sequence
from dataclasses import dataclass

from laydown.errors import AmbiguousNameError, UnknownNameError
from laydown.media.colorant import Colorant
from laydown.store.library import Library
from laydown.store.naming import near_colorants, pick_colorant


@dataclass(frozen=True, slots=True)
class CheckNames:
    """Names, ``Range/Name`` or owner's codes, as somebody typed them."""

    names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Unclear:
    """A name that stands for nothing here, or for several things.

    Parameters
    ----------
    name
        As typed.
    meant
        Labels of what it may mean, the likeliest first; empty where nothing is near.
    """

    name: str
    meant: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NamesChecked:
    """The colorants that are clear, each once, and the names that aren't."""

    found: tuple[Colorant, ...]
    unclear: tuple[Unclear, ...]


def check_names(library: Library, request: CheckNames) -> NamesChecked:
    """Look up every name of a list, and pass over none."""
    with library.look() as work:
        known = work.colorants()
    looked = [_look_up(name, known) for name in dict.fromkeys(request.names)]
    found = [one for one in looked if isinstance(one, Colorant)]
    return NamesChecked(
        tuple(dict.fromkeys(found)), tuple(one for one in looked if isinstance(one, Unclear))
    )


def _look_up(name: str, known: Sequence[Colorant]) -> Colorant | Unclear:
    try:
        return pick_colorant(name, known)
    except (AmbiguousNameError, UnknownNameError):
        return Unclear(name, near_colorants(name, known))
