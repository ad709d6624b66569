"""What to do in a cell, in the few words that fit under it."""

import re
from collections.abc import Collection, Sequence

from laydown.media.laydown import Wait
from laydown.media.recipe import AnyStep, Medium, Recipe, Step
from laydown.media.recipe_words import WHILE_WET, coats_words, treatment_words, unusual_words
from laydown.sheet.sheet import Sheet, SheetKind

BARE = "leave bare"
COUNTED, TIGHT = re.compile(r"(?<=\d) "), "\u00a0"
"""The space behind a number, at which no line breaks."""
MOST_NAMES = 40
"""Names that a sentence holds."""
MEANT = {
    Medium.PENCIL: "Pencils: medium pressure, where no other is said.",
    Medium.WASH: "Washes: no water added, where none is said; each on what is dry.",
}


def cell_steps(recipe: Recipe) -> tuple[tuple[int, str, str], ...]:
    """Return what stands under a cell: for each step how often, what and how, bottom first.

    How is empty where it is one plain coat.

    Examples
    --------
    >>> cell_steps(Recipe())
    ((0, 'leave bare', ''),)
    """
    told = [_in_a_cell(step) for step in recipe.steps]
    later = [(times, f"then {what}", how) for times, what, how in told[1:]]
    return tuple(told[:1] + later) or ((0, BARE, ""),)


def _in_a_cell(step: AnyStep) -> tuple[int, str, str]:
    if not isinstance(step, Step):
        return 1, treatment_words(step), ""
    told = _few_words(step)
    plain = told == coats_words(Step(step.colorant))
    return step.laydown.coats, step.words, "" if plain else COUNTED.sub(TIGHT, told)


def _few_words(step: Step) -> str:
    """Say what to do, without what is meant where nothing is said (`MEANT`)."""
    laid = step.laydown
    wet = laid.coats > 1 and laid.wait is Wait.WET
    unusual = ["wet on wet" if wet and word == WHILE_WET else word for word in unusual_words(step)]
    return ", ".join([coats_words(step), *unusual])


def meant(media: Collection[Medium]) -> tuple[str, ...]:
    """Return what the words under the cells leave out, for the media of a sheet.

    Examples
    --------
    >>> meant({Medium.MARKER, Medium.PENCIL})
    ('Pencils: medium pressure, where no other is said.',)
    """
    return tuple(MEANT[medium] for medium in Medium if medium in media and medium in MEANT)


WHY_TWO_COATS = (
    "Some colors are here twice, the second time with a second coat: that shows how your colors "
    "build up, and makes your first answers surer."
)


PATCH_SECONDS = 15.0
"""For each coat: find the marker and open it (6), fill 12 × 10 mm with two strokes of a broad nib
or ten of a fine one (5), close it and find the next cell (4): estimated, never timed
with people [s]."""


def minutes_to_color(sheet: Sheet) -> int:
    """Return about how long a sheet takes to color in, drying aside."""
    return max(1, round(PATCH_SECONDS * sum(cell.recipe.coats for cell in sheet.cells) / 60))


def why(sheet: Sheet) -> str:
    """Say why a first sheet asks for what it does; empty for any other sheet."""
    if sheet.kind is not SheetKind.FIRST:
        return ""
    minutes = minutes_to_color(sheet)
    time = f"It takes about {minutes} {'minute' if minutes == 1 else 'minutes'} to color in."
    deep = any(cell.recipe.coats == 2 and len(cell.recipe.steps) == 1 for cell in sheet.cells)
    return " ".join(
        filter(None, [time, WHY_TWO_COATS if deep else "", left_out_words(sheet.left_out)])
    )


def left_out_words(names: Sequence[str], *, most: int = MOST_NAMES) -> str:
    """Say what a full page leaves for another sheet, the first so many by name.

    Examples
    --------
    >>> left_out_words(("Kelp", "Dune", "Reed"), most=1)
    'The page is full: Kelp and 2 more wait for your next sheet.'
    """
    if not names:
        return ""
    more = [f"{len(names) - most} more"] if len(names) > most else []
    told = [*names[:most], *more]
    listed = " and ".join(filter(None, [", ".join(told[:-1]), told[-1]]))
    waits = "waits" if len(names) == 1 else "wait"
    return f"The page is full: {listed} {waits} for your next sheet."
