"""Gather what students made of a lesson: each return keeps its person and its paper."""

from dataclasses import dataclass

import numpy as np

from laydown.app.color_in_words import ColorInWords, in_words
from laydown.app.lesson_files import read_lesson
from laydown.documents.csv_table import write_csv
from laydown.errors import DuplicateNameError
from laydown.match.outcome import Difference
from laydown.match.words import difference


@dataclass(frozen=True, slots=True)
class Return:
    """A student's name, and the lesson file made from the sheet they colored in."""

    person: str
    content: bytes
    source: str


@dataclass(frozen=True, slots=True)
class GatherLessons:
    """The lesson as it was handed out, and what came back."""

    file: bytes
    source: str
    returns: tuple[Return, ...]


@dataclass(frozen=True, slots=True, eq=False)
class ColorReturned:
    """One color as one person made it, on their paper."""

    person: str
    paper: str
    passage: str
    name: str
    color: ColorInWords
    difference: Difference


@dataclass(frozen=True, slots=True)
class PersonReturned:
    """How one person's return came out.

    Parameters
    ----------
    person, paper
        Who, and on what.
    colors
        How many of the lesson's colors are in it.
    mean
        Mean CIEDE2000.
    value
        Mean difference in value steps, above 0 for too light: a light or a heavy hand.
    missing, unknown
        Names of the lesson's colors that are not in it, and of its colors that aren't the lesson's.
    """

    person: str
    paper: str
    colors: int
    mean: float
    value: float
    missing: tuple[str, ...]
    unknown: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class LessonsGathered:
    """A class's returns, person by person and color by color."""

    title: str
    people: tuple[PersonReturned, ...]
    colors: tuple[ColorReturned, ...]


def gather_lessons(request: GatherLessons) -> LessonsGathered:
    """Merge returns by the names of the lesson's colors; no library is needed.

    Raises
    ------
    DuplicateNameError
        For two returns of one person on one paper.
    """
    wanted = read_lesson(request.file, source=request.source)
    labs = {color.name: color for color in wanted.colors}
    people: list[PersonReturned] = []
    colors: list[ColorReturned] = []
    for back in request.returns:
        made = read_lesson(back.content, source=back.source)
        if any((p.person, p.paper) == (back.person, made.paper) for p in people):
            raise DuplicateNameError(
                f"{back.source}: {back.person} on {made.paper} is there already.",
                hint="Name the second one differently, such as Ana (again).",
            )
        known = [color for color in made.colors if color.name in labs]
        own = [
            ColorReturned(
                person=back.person,
                paper=made.paper,
                passage=labs[color.name].passage,
                name=color.name,
                color=in_words(color.lab),
                difference=difference(labs[color.name].lab, color.lab),
            )
            for color in known
        ]
        names = {color.name for color in made.colors}
        colors += own
        people.append(
            PersonReturned(
                person=back.person,
                paper=made.paper,
                colors=len(own),
                mean=float(np.mean([c.difference.delta_e for c in own] or [0.0])),
                value=float(np.mean([c.difference.value for c in own] or [0.0])),
                missing=tuple(name for name in labs if name not in names),
                unknown=tuple(c.name for c in made.colors if c.name not in labs),
            )
        )
    return LessonsGathered(wanted.title, tuple(people), tuple(colors))


def gathered_csv(gathered: LessonsGathered) -> bytes:
    """Write a class's returns as CSV, one line for each person and color."""
    columns = ["person", "paper", "passage", "color", "L", "a", "b", "delta_e", "off"]
    return write_csv(columns, map(_cells, gathered.colors)).encode()


def _cells(c: ColorReturned) -> tuple[str, ...]:
    numbers = (f"{x:.1f}" for x in (*c.color.lab, c.difference.delta_e))
    return (c.person, c.paper, c.passage, c.name, *numbers, c.difference.words)
