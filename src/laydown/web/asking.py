"""What an address says of the supplies, and of how a match is looked for."""

from typing import Annotated

from fastapi import Depends, Query

from laydown.app.match_color import USUAL_K_L, Asking
from laydown.app.supplies import Supplies
from laydown.errors import BadRecipeError

LONGEST = 200
"""Characters of a name in an address."""
LONGEST_RECIPE = 1000
MOST_NAMES = 400

Name = Annotated[str, Query(max_length=LONGEST)]
Names = Annotated[list[str], Query(max_length=MOST_NAMES)]


def supplies_of(
    *,
    kit: Name = "",
    range: Annotated[list[str] | None, Query(max_length=50)] = None,  # noqa: A002  the trade's word
    paper: Name = "",
    without: Annotated[list[str] | None, Query(max_length=MOST_NAMES)] = None,
    over: Annotated[str, Query(max_length=LONGEST_RECIPE)] = "",
    carried_from: Name = "",
) -> Supplies:
    """Read the supplies from an address."""
    ranges = tuple(name for name in range or () if name)
    if kit and ranges:
        raise BadRecipeError("Name a kit or ranges, not both.", hint="Leave one of them empty.")
    left_out = tuple(name for name in without or () if name)
    return Supplies(kit, ranges, paper, left_out, over, swatched_on=carried_from)


def asking_of(
    supplies: Annotated[Supplies, Depends(supplies_of)],
    *,
    from_paper: Name = "",
    steps: Annotated[int, Query(ge=1, le=3)] = 3,
    coats: Annotated[int, Query(ge=1, le=3)] = 3,
    top: Annotated[int, Query(ge=0, le=20)] = 3,
    kl: Annotated[float, Query(ge=0.1, le=10)] = USUAL_K_L,
    tolerance: Annotated[str, Query(pattern="^(sketch|class|close)$")] = "class",
) -> Asking:
    """Read from an address how a match is looked for; the names are the command line's."""
    return Asking(
        supplies, from_paper, steps=steps, coats=coats, top=top, k_L=kl, tolerance=tolerance
    )


AskingOf = Annotated[Asking, Depends(asking_of)]
SuppliesOf = Annotated[Supplies, Depends(supplies_of)]
