"""What the trade says of a pan of watercolor: opaque or not, staining or lifting, granulating.

These are words off a label or out of practice, not measurements: they go into advice, and change
no prediction.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from laydown.errors import PanMarkError
from laydown.media.recipe import Colorant, Recipe, Step


class PanMark(StrEnum):
    """One thing that is said of a pan."""

    TRANSPARENT = "transparent"
    SEMI_OPAQUE = "semi-opaque"
    OPAQUE = "opaque"
    STAINING = "staining"
    LIFTING = "lifting"
    GRANULATING = "granulating"


OPACITIES = (PanMark.TRANSPARENT, PanMark.SEMI_OPAQUE, PanMark.OPAQUE)
HOLDS = (PanMark.STAINING, PanMark.LIFTING)
PRACTICE = "That is common practice, no source, and not in the numbers."


@dataclass(frozen=True, slots=True)
class MarkedPan:
    """A pan and its marks, in the order of `PanMark`; none where nothing is said."""

    colorant: Colorant
    marks: tuple[PanMark, ...]


def parse_marks(texts: Sequence[str]) -> tuple[PanMark, ...]:
    """Read marks, one or several in a text, and put them in the order of `PanMark`.

    Raises PanMarkError for a word that is no mark, and for two of which only one can be true.

    >>> [str(mark) for mark in parse_marks(["Staining, transparent"])]
    ['transparent', 'staining']
    """
    words = {word for text in texts for word in text.casefold().replace(",", " ").split()}
    known = tuple(mark for mark in PanMark if mark in words)
    if strange := sorted(words - set(known)):
        raise PanMarkError(
            f"“{strange[0]}” is no mark of a pan.", hint=f"Marks are {', '.join(PanMark)}."
        )
    for rivals in (OPACITIES, HOLDS):
        both = [mark for mark in rivals if mark in known]
        if len(both) > 1:
            raise PanMarkError(
                f"A pan can't be both {both[0]} and {both[1]}.",
                hint=f"Choose one of {', '.join(rivals)}.",
            )
    return known


def marks_in_words(pan: MarkedPan) -> str:
    """Return the marks of a pan as a list in a sentence."""
    return ", ".join(pan.marks) or "not marked"


def advice(recipe: Recipe, marks: Mapping[str, tuple[PanMark, ...]]) -> tuple[str, ...]:
    """Return what follows from the marks for whoever lays a recipe, as one note or none.

    `recipe`: bottom first. `marks`: by the labels of colorants.
    """
    sentences = [*_of_pans(recipe, marks), *_of_order(recipe, marks)]
    return (" ".join([*sentences, PRACTICE]),) if sentences else ()


def _of_pans(recipe: Recipe, marks: Mapping[str, tuple[PanMark, ...]]) -> Iterator[str]:
    for colorant in recipe.colorants:
        own = marks.get(colorant.label, ())
        if PanMark.GRANULATING in own:
            yield f"{colorant.name} granulates: expect texture that a flat color can't show."
        if PanMark.STAINING in own:
            yield f"{colorant.name} stains: it won't lift off again."


def _of_order(recipe: Recipe, marks: Mapping[str, tuple[PanMark, ...]]) -> Iterator[str]:
    """Say what a pan does to those below it, or they to it, each pan once."""
    steps = [step for step in recipe.steps if isinstance(step, Step)]
    said = set()
    for place, step in enumerate(steps):
        below = dict.fromkeys(p.colorant for s in steps[:place] for p in s.parts)
        laid = [part.colorant for part in step.parts]
        covered = [colorant for colorant in below if colorant not in laid]
        for upper in laid:
            if covered and PanMark.OPAQUE in marks.get(upper.label, ()):
                hidden = " and ".join(colorant.name for colorant in covered)
                said.add(f"{upper.name} is opaque and hides {hidden} below: try it first.")
        for lower in covered:
            if PanMark.LIFTING in marks.get(lower.label, ()):
                said.add(f"{lower.name} lifts: let it dry, then lay the next wash in one stroke.")
    yield from sorted(said)
