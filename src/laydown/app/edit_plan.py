"""Change a picture's plan by hand: merge regions, split one by value, assign a passage or role."""

from dataclasses import dataclass

from laydown.app.plan_files import read_plan, write_plan
from laydown.app.show_plan import PlanMade, plan_in_words
from laydown.documents.plan_changes import read_changes
from laydown.plan.picture_edits import Edit, edited


@dataclass(frozen=True, slots=True)
class EditPlan:
    """A plan file and what to change in it.

    Parameters
    ----------
    file, source
        Content and name of the plan.
    edits
        One after the other.
    changes, changes_source
        Content and name of a text file with further changes, a line each; None for none.
    """

    file: bytes
    source: str
    edits: tuple[Edit, ...] = ()
    changes: bytes | None = None
    changes_source: str = ""


def edit_plan(request: EditPlan) -> PlanMade:
    """Change a plan; all of the changes or none of them.

    Raises
    ------
    BadFileError
        For what is no plan, or a line that is no change.
    BadEditError
        For a change that can't be made.
    """
    plan = read_plan(request.file, source=request.source)
    further = (
        read_changes(request.changes, source=request.changes_source)
        if request.changes is not None
        else ()
    )
    changed = edited(plan, [*request.edits, *further])
    return PlanMade(plan_in_words(changed), write_plan(changed))
