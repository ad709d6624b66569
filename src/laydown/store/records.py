"""What the store hands out: frozen, and free of any database."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from laydown.color.arrays import FloatArray
from laydown.media.colorant import Colorant
from laydown.media.laydown import Medium
from laydown.media.recipe import Recipe
from laydown.media.swatch import Basis, Fill, Swatch


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


class State(StrEnum):
    """How a job stands."""

    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"
    INTERRUPTED = "interrupted"

    @property
    def is_over(self) -> bool:
        """Whether it stays so."""
        return self not in (State.WAITING, State.RUNNING)


@dataclass(frozen=True, slots=True)
class Job:
    """A job.

    Parameters
    ----------
    id
        Its number in the library.
    task
        Name in ``laydown.app.TASKS`` of what it does.
    title
        What to call it before people.
    started_by
        At which place it was started, as the door calls that.
    state
        How it stands.
    done, total
        How far it has come, in steps of its own; a total of 0 is not known yet.
    message
        While it runs, what it is at; once it has failed, why: one sentence.
    hint
        What to do next, where it failed.
    bytes_kept
        What its request and its result take in the library.
    made, started, ended
        When, in UTC; None where it hasn't come to that.
    """

    id: int
    task: str
    title: str
    started_by: str
    state: State
    done: int
    total: int
    message: str
    hint: str
    bytes_kept: int
    made: datetime
    started: datetime | None
    ended: datetime | None


@dataclass(frozen=True, slots=True, eq=False)
class TrialEntry:
    """What is noted of a trial.

    Parameters
    ----------
    kit
        The kit it was made from; empty for whole ranges.
    paper
        What was colored on.
    recipe
        What was laid.
    reflectance
        Shape (36,), as measured, or where `basis` is XYZ the smoothest with that XYZ.
    basis
        Whether a spectrum or XYZ was measured.
    spread
        Noise of the measurement [CIELAB units per axis]; 0 where unknown.
    measured
        How: typed, file, sheet.
    wanted
        The color that was wanted, as it was typed; empty where none was.
    intended
        Its Lab, shape (3,), or None.
    remark
        In the person's own words.
    done
        The day it was made, as ``YYYY-MM-DD``; empty where not said.
    fill
        How full the markers were.
    photograph
        Digest of a photograph that is kept; empty for none.
    picture
        Digest of what it was read from together with others; empty for a measurement of its own.
    shared
        The part of `spread` that all readings of that picture have alike.
    made_by
        Whose hand laid it, where that wasn't the kit's owner; such a trial teaches the kit nothing.
    """

    kit: str
    paper: str
    recipe: Recipe
    reflectance: FloatArray
    basis: Basis = Basis.SPECTRUM
    spread: float = 0.0
    measured: str = "typed"
    wanted: str = ""
    intended: FloatArray | None = None
    remark: str = ""
    done: str = ""
    fill: Fill = Fill.USUAL
    photograph: str = ""
    picture: str = ""
    shared: float = 0.0
    made_by: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class StoredTrial:
    """A trial at one version.

    Parameters
    ----------
    number
        In this library.
    uid
        The same in every library.
    version
        1 for the first entry.
    withdrawn
        Whether it was taken back: kept, shown, and never learned from.
    recorded
        When the entry was made, in UTC.
    entry
        What it says.
    """

    number: int
    uid: str
    version: int
    withdrawn: bool
    recorded: datetime
    entry: TrialEntry


@dataclass(frozen=True, slots=True)
class TrialPhotograph:
    """A photograph with its name and its bytes."""

    digest: str
    name: str
    content: bytes
