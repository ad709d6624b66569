"""The plans of pictures that the bench keeps: looked at, changed by hand, and changed back.

A plan lies in the library as its file, beside the file that it began as and a line for each change.
So a reload or a second window loses nothing, the last change can always be taken back, and what was
changed can be handed on as the text that ``laydown picture edit`` reads.
"""

from functools import lru_cache

from laydown.app.given_file import GivenFile
from laydown.app.matches.targets import FORMS_AND_NAMES, WantedColor, settle_targets
from laydown.app.pictures.plans import PlanShown, edit_plan, plan_in_words, read_plan, write_plan
from laydown.app.supplies.papers import usual_papers
from laydown.documents.files.plans import change_in_words
from laydown.errors import BadColorError, BadEditError
from laydown.plan.picture.edits import Edit, Paint, edited
from laydown.plan.picture.picture import PicturePlan
from laydown.store.library import Library
from laydown.store.plans import KeptPlan

__all__ = ["KeptPlan"]

AT_HAND = 4
"""How many plans stay open: each takes some 20 MB, and opening one takes longer than a page may."""
KEPT = "the plan that is kept"


@lru_cache(AT_HAND)
def opened(file: bytes) -> PicturePlan:
    """Open a plan's file; those looked at last stay open."""
    return read_plan(file, source=KEPT)


@lru_cache(AT_HAND)
def told(file: bytes) -> PlanShown:
    """Put a plan's file into words, as `show_plan` does; those looked at last stay at hand."""
    return plan_in_words(opened(file))


def keep_plan(library: Library, file: bytes, *, source: str) -> KeptPlan:
    """Keep a plan.

    Parameters
    ----------
    file, source
        Its content, and its name for messages.

    Raises
    ------
    BadFileError
        For what is no plan.
    TooLargeError
        Where there is no room for it.
    """
    plan = read_plan(file, source=source)
    with library.work("keep a plan") as work:
        return work.plans.keep(file, title=plan.title or source)


def kept_plans(library: Library) -> tuple[KeptPlan, ...]:
    """Return the plans that are kept, the one changed last first."""
    with library.look() as work:
        return work.plans.all()


def kept_plan(library: Library, number: int) -> KeptPlan:
    """Return what is known of a plan that is kept."""
    with library.look() as work:
        return work.plans.get(number)


def kept_file(library: Library, number: int) -> bytes:
    """Return the file of a plan that is kept, as it is now."""
    with library.look() as work:
        return work.plans.file(number)


def number_of(library: Library, file: bytes) -> int | None:
    """Return the number of the plan that is kept as this very file; None where none is any more."""
    with library.look() as work:
        found = work.plans.find(file)
    return found.number if found else None


def change_plan(library: Library, number: int, revision: int, edit: Edit | None) -> KeptPlan:
    """Change a plan that is kept, or take back what was changed last.

    Parameters
    ----------
    number, revision
        Of the plan, as it was looked at.
    edit
        What to change; None to take back what was changed last.

    Raises
    ------
    BadEditError
        For a change that can't be made, or one to a plan that has changed meanwhile.
    """
    with library.look() as work:
        kept = work.plans.get(number)
        file = work.plans.file(number) if edit else work.plans.begun(number)
    if edit:
        lines = (*kept.changes, change_in_words(edit))
        changed = write_plan(edited(opened(file), [edit]))
    else:
        lines = _but_last(kept)
        changed = _with_changes(file, lines)
    with library.work("change a plan") as work:
        return work.plans.change(number, changed, lines, revision=revision)


def painted(library: Library, numbers: tuple[int, ...], color: str, to: str = "") -> Paint:
    """Return what gives regions a color, or a run of even steps from it to another.

    Parameters
    ----------
    library
        Knows the colorants that names stand for, as they are on the paper one usually works on.
    numbers
        Of the regions, in the order of the run.
    color, to
        In any form in which a color can be wanted; empty `to` for no run.

    Raises
    ------
    BadColorError
        For what is no color.
    """
    ends = [WantedColor(text) for text in filter(None, (color.strip(), to.strip()))]
    if not color.strip():
        raise BadColorError("No color was named.", hint=FORMS_AND_NAMES)
    targets = settle_targets(library, ends, paper=usual_papers(library).own)
    first, *last = (tuple(target.lab.round(2).tolist()) for target in targets)
    return Paint(numbers, first, *last)


def _with_changes(file: bytes, lines: tuple[str, ...]) -> bytes:
    """Return a plan's file after changes; the very same without any."""
    if not lines:
        return file
    return edit_plan(file, KEPT, changes=GivenFile(text_of(lines), KEPT)).file


def _but_last(kept: KeptPlan) -> tuple[str, ...]:
    if not kept.changes:
        raise BadEditError(f"Nothing was changed in “{kept.title}” yet.")
    return kept.changes[:-1]


def text_of(lines: tuple[str, ...]) -> bytes:
    r"""Write changes as the file that `read_changes` reads.

    Examples
    --------
    >>> text_of(("merge 3 4", "split 7"))
    b'merge 3 4\nsplit 7\n'
    """
    return "".join(f"{line}\n" for line in lines).encode()


def forget_plan(library: Library, number: int) -> KeptPlan:
    """Put a plan away; undo brings it back."""
    with library.work("put a plan away") as work:
        return work.plans.remove(number)
