"""A lesson from a picture's plan: its colors passage by passage, with their roles."""

from collections.abc import Sequence

from laydown.color.naming import color_name
from laydown.color.screen import screen_color
from laydown.plan.lesson import Lesson, LessonColor
from laydown.plan.picture import PicturePlan, Region

ROLES = {
    1: ("midtone",),
    2: ("light", "shadow"),
    3: ("highlight", "midtone", "shadow"),
}
"""Of the colors of a passage, from light to dark; of more than three the lightest is the highlight,
the darkest the shadow, the second the light, all between midtones (common practice, no source)."""


NOTE = "Its colors were taken from a picture and are estimates; trust their values first."


def lesson_of(plan: PicturePlan, *, title: str = "", paper: str = "") -> Lesson:
    """Make a lesson of a plan.

    Parameters
    ----------
    plan
        With its regions assigned to passages; those of none come last.
    title
        Of the lesson; empty for the plan's.
    paper
        Name of the paper it is meant for.

    Returns
    -------
    Lesson
        One color for each color of each passage, as a screen estimate, with its share of the area.
        A role is the one that its largest region was given, else it follows from the order of
        values in the passage.

    Examples
    --------
    ``lesson_of(plan, title="Lemons").colors[0].role``
    """
    passages = sorted({r.passage for r in plan.values.regions}, key=lambda p: (not p, p.casefold()))
    colors = [color for passage in passages for color in _colors(plan, passage)]
    return Lesson(title or plan.title, paper, tuple(colors), notes=(NOTE,))


def _colors(plan: PicturePlan, passage: str) -> list[LessonColor]:
    gathered: dict[int, list[Region]] = {}
    for region in plan.values.regions:
        if region.passage == passage:
            gathered.setdefault(region.color, []).append(region)
    numbers = sorted(gathered)  # the palette goes from light to dark
    roles = _roles(len(numbers)) if passage else ("",) * len(numbers)
    return [
        _color(plan, passage, gathered[number], role)
        for number, role in zip(numbers, roles, strict=True)
    ]


def _roles(count: int) -> Sequence[str]:
    usual = ("highlight", "light", *["midtone"] * (count - 3), "shadow")
    return ROLES.get(count, usual)


def _color(plan: PicturePlan, passage: str, regions: Sequence[Region], role: str) -> LessonColor:
    color = plan.palette[regions[0].color - 1]
    largest = max(regions, key=lambda region: (region.share, -region.number))
    name = f"{color.number} {color_name(color.lab)}"
    return LessonColor(
        name=f"{name}, {passage}" if passage else name,
        passage=passage,
        role=largest.role or role,
        share=round(sum(region.share for region in regions), 1),
        screen=screen_color(color.lab).hex,
    )
