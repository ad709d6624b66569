"""What the store hands out beside the types of `media`: frozen, and free of any database."""

from dataclasses import dataclass
from datetime import datetime

from laydown.media.colorant import Colorant
from laydown.media.laydown import Medium
from laydown.media.swatch import Swatch


@dataclass(frozen=True, slots=True, order=True)
class Range:
    """A range as the library holds it.

    Parameters
    ----------
    name
        As first written.
    medium
        Of all its colorants.
    colorants
        How many colorants of it are known here.
    """

    name: str
    medium: Medium
    colorants: int


@dataclass(frozen=True, slots=True)
class Coverage:
    """How much of a range was swatched on a paper.

    Parameters
    ----------
    range, paper
        Names.
    swatches
        How many use a colorant of the range.
    colorants
        How many of its colorants they use.
    """

    range: str
    paper: str
    swatches: int
    colorants: int


@dataclass(frozen=True, slots=True)
class Held:
    """How much a library holds."""

    ranges: int
    colorants: int
    papers: int
    swatches: int
    kits: int


@dataclass(frozen=True, slots=True, eq=False)
class StoredSwatch:
    """A swatch with its number in the library and the moment it was taken in.

    Parameters
    ----------
    id
        Its number, by which it is removed.
    swatch
        The swatch itself.
    when
        When it was taken in, in UTC.
    """

    id: int
    swatch: Swatch
    when: datetime


@dataclass(frozen=True, slots=True)
class Added:
    """What taking in a list of swatches changed.

    Parameters
    ----------
    swatches
        How many were new.
    repeated
        Positions in the list, from 0, of those that the library held already and that were skipped.
    ranges, papers
        Names that were new.
    colorants
        Colorants that were new.
    """

    swatches: int
    repeated: tuple[int, ...] = ()
    ranges: tuple[str, ...] = ()
    papers: tuple[str, ...] = ()
    colorants: tuple[Colorant, ...] = ()


@dataclass(frozen=True, slots=True)
class Kit:
    """A kit: the colorants a person owns, out of any ranges.

    Parameters
    ----------
    name
        As first written.
    colorants
        Sorted by range and name.
    """

    name: str
    colorants: tuple[Colorant, ...]


@dataclass(frozen=True, slots=True)
class FitKey:
    """What a kept fit is good for; any other key finds nothing.

    Parameters
    ----------
    ranges
        Names of the ranges fitted together, sorted.
    paper
        Name of the paper.
    model_version
        Of the model that fitted.
    swatch_hash
        From `Work.swatch_hash`, of the swatches fitted.
    """

    ranges: tuple[str, ...]
    paper: str
    model_version: str
    swatch_hash: str


@dataclass(frozen=True, slots=True)
class Change:
    """One command that changed the library and can be taken back.

    Parameters
    ----------
    id
        Its number; the highest is the latest.
    label
        What the command said it does.
    when
        In UTC.
    rows
        How many rows it wrote, altered or removed.
    """

    id: int
    label: str
    when: datetime
    rows: int
