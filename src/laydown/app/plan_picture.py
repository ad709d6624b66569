"""Plan a picture: values first, then a palette, then regions worth coloring."""

from laydown.app.plan_files import PictureFile, planned, write_plan
from laydown.app.show_plan import PlanMade, plan_in_words
from laydown.store.library import Library


def plan_picture(library: Library | None, request: PictureFile) -> PlanMade:
    """Plan a photograph or a drawing.

    Parameters
    ----------
    library
        Knows the papers that may be named for its light; None where none is named.
    request
        The picture, and how it is planned.

    Raises
    ------
    BadFileError
        For what is no picture, or none that can be planned.
    """
    plan = planned(library, request)
    return PlanMade(plan_in_words(plan), write_plan(plan))
