"""Marks of pans, as a person says them, and what they make of an answer."""

from laydown.media.pan_marks import MarkedPan, advice, parse_marks
from laydown.media.recipe import Recipe
from laydown.store.library import Library

NO_MARKS = "none"
"""Takes the marks of a pan back."""


def mark_pan(library: Library, name: str, marks: tuple[str, ...]) -> MarkedPan:
    """Say all that the trade says of a pan, in place of what was said before.

    Parameters
    ----------
    name
        Its name, ``Range/Name`` or owner's code.
    marks
        See `laydown.media.pan_marks.PanMark`; ``none`` alone, or nothing, takes all back.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        For a colorant that isn't there, or isn't clear.
    PanMarkError
        For what is no mark, marks at odds, and for what is no pan.
    """
    read = () if [m.casefold() for m in marks] == [NO_MARKS] else parse_marks(marks)
    with library.work(f"mark {name} as {', '.join(read) or NO_MARKS}") as work:
        pan = work.find_colorant(name)
        work.pan_marks.mark(pan, read)
    return MarkedPan(pan, read)


def advice_by_marks(library: Library, recipe: Recipe) -> tuple[str, ...]:
    """Return what the marks of its pans say to whoever lays a recipe."""
    with library.look() as work:
        marked = work.pan_marks.all()
    return advice(recipe, {one.colorant.label: one.marks for one in marked})
