"""Name the colorants of a range that would tell most of the others on a new paper."""

from collections.abc import Sequence
from dataclasses import dataclass

from laydown.app.kit_fits import kit_fit_for
from laydown.app.supplies import paper_named
from laydown.media.carry import choose_anchors as chosen
from laydown.media.colorant import Colorant
from laydown.media.kit_fit import AnyFit
from laydown.media.marker import MarkerFit
from laydown.store.library import Library

USUAL_COUNT = 5
"""Five anchors carry a range well enough, see docs/decisions/0027-new-paper.md."""


@dataclass(frozen=True, slots=True)
class ChooseAnchors:
    """The range, the paper it is known on (empty for the only one), and how many anchors."""

    range: str
    paper: str = ""
    count: int = USUAL_COUNT


@dataclass(frozen=True, slots=True)
class AnchorsChosen:
    """The anchors, the one that tells most first."""

    range: str
    paper: str
    anchors: tuple[Colorant, ...]


def choose_anchors(library: Library, request: ChooseAnchors) -> AnchorsChosen:
    """Choose the anchors of a range.

    Raises
    ------
    NotMeasuredError
        Where nothing of the range was swatched on that paper.
    """
    with library.look() as work:
        name = work.find_range(request.range).name
        paper = paper_named(work, request.paper)
    fit = kit_fit_for(library, [name], paper)
    return AnchorsChosen(name, paper, anchors_of(fit, request.count))


def anchors_of(
    fit: AnyFit, count: int = USUAL_COUNT, *, among: Sequence[Colorant] = ()
) -> tuple[Colorant, ...]:
    """Return so many anchors of each medium, taken from those owned; from all where none are."""
    fits = (fit,) if isinstance(fit, MarkerFit) else fit.fits
    return tuple(colorant for one in fits for colorant in chosen(one, count, among=among))
