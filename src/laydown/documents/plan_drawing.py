"""What is drawn of a picture's plan, whatever it is drawn with: borders and numbers in place."""

from dataclasses import dataclass

from laydown.documents import plan_rows
from laydown.documents.outlines import WITHIN, Border, outlines
from laydown.documents.plan_numbers import PlacedNumber, place_numbers
from laydown.documents.plan_page import DrawingPage, drawing_page
from laydown.plan.picture import PicturePlan

LINE = 0.22
"""Weight of the borders [mm]."""
LEADER = 0.12
"""Weight of a line that leads from a number to its region [mm]."""
POINT = 0.5
"""Size of the point at its end [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """What is drawn of a plan: its borders and numbers, at the size it is printed in.

    Parameters
    ----------
    paper
        Width and height, upright or as it was asked for [mm].
    page
        Where the picture lies.
    borders, numbers
        In millimetres from the picture's upper left corner.
    unnumbered
        How many regions lie in too dense a crowd for a number.
    """

    paper: tuple[float, float]
    page: DrawingPage
    borders: tuple[Border, ...]
    numbers: tuple[PlacedNumber, ...]
    unnumbered: int


def draw_plan(plan: PicturePlan, paper: tuple[float, float], *, within: float = WITHIN) -> Drawing:
    """Find what is to be drawn of a plan on a paper.

    Parameters
    ----------
    plan
        A picture's.
    paper
        Width and height [mm].
    within
        How far a line may lie from the plan's own borders [mm].
    """
    values = plan.values
    page = drawing_page(paper, (values.width, values.height))
    borders = outlines(values.labels, width=page.box.width, within=within)
    numbers = place_numbers(values.labels, plan_rows.numbers_of(plan), picture_width=page.box.width)
    return Drawing(paper, page, borders, numbers, len(values.regions) - len(numbers))


def print_warnings(drawing: Drawing) -> tuple[str, ...]:
    """Return what is to be said of the way a plan is printed."""
    told = []
    if drawing.page.scale < 0.995:
        told.append(
            f"The paper is too small for it: the drawing is {drawing.page.scale:.0%} of the size"
            " it was planned for, and so are its smallest regions."
        )
    led = sum(number.point is not None for number in drawing.numbers)
    if led:
        few = "1 region is" if led == 1 else f"{led} regions are"
        told.append(f"{few} too small for a number inside: a line leads from it.")
    if drawing.unnumbered:
        few = "1 region has" if drawing.unnumbered == 1 else f"{drawing.unnumbered} regions have"
        told.append(
            f"{few} no number, for lack of room: plan the picture wider, or with larger regions."
        )
    return tuple(told)
