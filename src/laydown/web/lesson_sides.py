"""Lay the answers to a lesson side by side: color by color, as a whole, and transposed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from laydown.app.lessons.converting import LessonConverted
from laydown.app.words import ColorInWords, in_words
from laydown.errors import UnknownNameError
from laydown.match.outcome import Match
from laydown.plan.chart import Chart
from laydown.plan.lesson.conversion import Departure, crossed


class AnswerWay(StrEnum):
    """The three answers, in the words of the command line."""

    SINGLY = "singly"
    TOGETHER = "together"
    TURNED = "turned"


TITLES = {
    AnswerWay.SINGLY: "Color by color",
    AnswerWay.TOGETHER: "As a whole",
    AnswerWay.TURNED: "Transposed",
}


@dataclass(frozen=True, slots=True, eq=False)
class AnswerSide:
    """One answer for one color.

    Parameters
    ----------
    way
        Which answer.
    match
        The recipe, against what this way wants.
    wanted, got
        In words and numbers.
    departure
        Why it is not the nearest recipe; None where it is, or where the palette is turned.
    """

    way: AnswerWay
    match: Match
    wanted: ColorInWords
    got: ColorInWords
    departure: Departure | None


@dataclass(frozen=True, slots=True, eq=False)
class ColorRow:
    """A color of the lesson with its answers side by side."""

    name: str
    role: str
    wanted: ColorInWords
    sides: tuple[AnswerSide, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Ramp:
    """The values of a passage, in the order in which the lesson wants them from light to dark.

    Parameters
    ----------
    way
        Which answer; None for what is wanted.
    colors
        In that order.
    broken
        Pairs of names that come out in the wrong order, the one wanted lighter first.
    """

    way: AnswerWay | None
    colors: tuple[ColorInWords, ...]
    broken: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, eq=False)
class PassageRow:
    """A passage: its values in every answer, and its colors."""

    name: str
    ramps: tuple[Ramp, ...]
    colors: tuple[ColorRow, ...]


def chart_of(made: LessonConverted, way: AnswerWay, turn: int) -> Chart:
    """Return one of the answers as a chart.

    Parameters
    ----------
    made
        All of them.
    way
        Which one.
    turn
        Which transposed palette, from 1.

    Raises
    ------
    UnknownNameError
        For a turn that there is not.
    """
    if way is AnswerWay.SINGLY:
        return made.singly
    if way is AnswerWay.TOGETHER:
        return made.together
    if turn > len(made.turned_charts):
        raise UnknownNameError(
            f"There is no transposed palette {turn} here.",
            hint=f"There are {len(made.turned_charts)}.",
        )
    return made.turned_charts[turn - 1]


def ways_of(made: LessonConverted) -> tuple[AnswerWay, ...]:
    """Return the answers there are; a lesson may have been converted without turns."""
    return tuple(AnswerWay) if made.turned_charts else (AnswerWay.SINGLY, AnswerWay.TOGETHER)


def passages(made: LessonConverted, *, turn: int, first: int, most: int) -> tuple[PassageRow, ...]:
    """Return a lesson passage by passage, with its answers side by side.

    Parameters
    ----------
    made
        The answers.
    turn
        Which transposed palette stands beside the others, from 1.
    first, most
        How many colors are passed over, and how many are returned.
    """
    by_way = {way: _by_name(chart_of(made, way, turn)) for way in ways_of(made)}
    departures = {departure.name: departure for departure in made.conversion.departures}
    rows: dict[str, list[ColorRow]] = {}
    for match in made.singly.matches[first : first + most]:
        target = match.target
        wanted = in_words(target.lab)
        sides = _sides(target.name, wanted, by_way, departures)
        row = ColorRow(target.name, target.role, wanted, sides)
        rows.setdefault(target.passage, []).append(row)
    return tuple(
        PassageRow(name, tuple(_ramps(made, colors)), tuple(colors))
        for name, colors in rows.items()
    )


def _by_name(chart: Chart) -> dict[str, Match]:
    return {match.target.name: match for match in chart.matches}


def _sides(
    name: str,
    wanted: ColorInWords,
    by_way: dict[AnswerWay, dict[str, Match]],
    departures: dict[str, Departure],
) -> tuple[AnswerSide, ...]:
    found: list[AnswerSide] = []
    for way, matches in by_way.items():
        match = matches[name]
        departed = departures.get(name) if way is AnswerWay.TOGETHER else None
        if way is AnswerWay.TOGETHER and departed is None:
            found.append(replace(found[0], way=way))
            continue
        turned = in_words(match.target.lab) if way is AnswerWay.TURNED else wanted
        got = in_words(match.best.prediction.lab)
        found.append(AnswerSide(way, match, turned, got, departed))
    return tuple(found)


def _ramps(made: LessonConverted, colors: Sequence[ColorRow]) -> Iterator[Ramp]:
    """Return the values wanted, and those of each answer, with the pairs out of order."""
    yield Ramp(None, tuple(color.wanted for color in colors), ())
    for place, way in enumerate(side.way for side in colors[0].sides):
        got = tuple(color.sides[place].got for color in colors)
        yield Ramp(way, got, _broken(made, way, colors, got))


def _broken(
    made: LessonConverted, way: AnswerWay, colors: Sequence[ColorRow], got: Sequence[ColorInWords]
) -> tuple[tuple[str, str], ...]:
    names = [color.name for color in colors]
    if way is AnswerWay.TURNED:  # values are as wanted, whatever the hue
        wanted = np.array([color.wanted.value for color in colors])
        values = np.array([color.value for color in got])
        return tuple((names[i], names[j]) for i, j in crossed(wanted, values))
    pairs = made.conversion.broken if way is AnswerWay.TOGETHER else made.conversion.broken_singly
    return tuple(pair for pair in pairs if set(pair) <= set(names))
