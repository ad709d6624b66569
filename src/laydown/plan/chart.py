"""A conversion chart: the matches for a list of targets, in the order people color in."""

from collections.abc import Iterable
from dataclasses import dataclass

from laydown.match.outcome import Match
from laydown.media.paper import Paper

ROLE_ORDER = ("highlight", "light", "midtone", "shadow", "accent")
"""From the lightest to the darkest part of a passage (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """The matches for a list of targets from one kit on one paper.

    Parameters
    ----------
    title
        What the targets are: a lesson, or a range.
    kit
        The name of the kit or range the recipes are made from.
    paper
        What it is colored on.
    matches
        In the order to show them.
    tolerance
        Name of the tolerance the acceptance was judged at.
    notes
        What holds for the whole chart: assumed parameters, simulated or real data, cautions aside.
    """

    title: str
    kit: str
    paper: Paper
    matches: tuple[Match, ...]
    tolerance: str
    notes: tuple[str, ...] = ()


def in_coloring_order(matches: Iterable[Match]) -> tuple[Match, ...]:
    """Sort matches by passage as first named, then from light to dark within it."""
    listed = list(matches)
    first = {m.target.passage: i for i, m in reversed(list(enumerate(listed)))}
    return tuple(
        sorted(listed, key=lambda m: (first[m.target.passage], -m.target.lab[0], m.target.name))
    )
