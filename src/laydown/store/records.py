"""What the store hands out: frozen, and free of any database."""

from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

from laydown.color.arrays import FloatArray
from laydown.media.recipe import Colorant, Medium, Recipe
from laydown.media.swatch import Basis, Fill, Swatch

NEVER = datetime.min.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Coverage:
    """How much of a range was swatched on a paper."""

    range: str
    paper: str
    """Names."""
    swatches: int
    """How many use a colorant of the range."""
    colorants: int
    """How many of its colorants they use."""


@dataclass(frozen=True, slots=True)
class Range:
    """A range as the library holds it."""

    name: str
    """As first written."""
    medium: Medium
    """Of all its colorants."""
    colorants: int
    """How many colorants of it are known here."""
    on: tuple[Coverage, ...] = ()
    """How much of it was swatched on which papers, where that was asked for, too."""

    @property
    def swatches(self) -> int:
        """How many swatches use it, as far as `on` tells."""
        return sum(one.swatches for one in self.on)

    @property
    def papers(self) -> tuple[str, ...]:
        """Names of the papers in `on`."""
        return tuple(one.paper for one in self.on)


@dataclass(frozen=True, slots=True, eq=False)
class StoredSwatch:
    """A swatch with its number in the library and the moment it was taken in."""

    id: int
    """Its number, by which it is removed."""
    swatch: Swatch
    """The swatch itself."""
    when: datetime
    """When it was taken in, in UTC."""


Added = tuple[tuple[int, ...], tuple[str, ...], tuple[str, ...], tuple[Colorant, ...]]
"""What taking in a list of swatches changed: the positions in it, from 0, of those that the library
held already and that were skipped; the names of ranges and of papers, and the colorants, that were
new."""


@dataclass(frozen=True, slots=True)
class Kit:
    """A kit: the colorants a person owns, out of any ranges."""

    name: str
    """As first written."""
    colorants: tuple[Colorant, ...]
    """Sorted by range and name."""

    @property
    def ranges(self) -> tuple[str, ...]:
        """Names of the ranges that they are out of, sorted."""
        return tuple(sorted({colorant.range for colorant in self.colorants}))


FitKey = tuple[tuple[str, ...], str, str, str]
"""What a kept fit is good for: the sorted names of the ranges fitted together, the paper's name,
the version of the model that fitted, and `Work.swatch_hash` of the swatches."""


@dataclass(frozen=True, slots=True)
class Change:
    """One command that changed the library and can be taken back."""

    id: int
    """Its number; the highest is the latest."""
    label: str
    """What the command said it does."""
    when: datetime
    """In UTC."""
    rows: int
    """How many rows it wrote, altered or removed."""
    who: str = ""
    """The database role of who did it; empty for a library in a file."""


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
    """A job."""

    id: int
    """Its number in the library."""
    task: str
    """Name in ``laydown.app.TASKS`` of what it does."""
    title: str
    """What to call it before people."""
    started_by: str
    """At which place it was started, as the door calls that."""
    state: State
    """How it stands."""
    done: int
    total: int
    """How far it has come, in steps of its own; a total of 0 is not known yet."""
    message: str
    """While it runs, what it is at; once it has failed, why: one sentence."""
    hint: str
    """What to do next, where it failed."""
    bytes_kept: int
    """What its request and its result take in the library."""
    made: datetime
    started: datetime | None
    ended: datetime | None
    """When, in UTC; None where it hasn't come to that."""


@dataclass(frozen=True, slots=True, eq=False)
class TrialEntry:
    """What is noted of a trial at one time."""

    kit: str
    """The kit it was made from; empty for whole ranges."""
    paper: str
    """What was colored on."""
    recipe: Recipe
    """What was laid."""
    reflectance: FloatArray
    """Shape (36,), as measured, or where `basis` is XYZ the smoothest with that XYZ."""
    basis: Basis = Basis.SPECTRUM
    """Whether a spectrum or XYZ was measured."""
    spread: float = 0.0
    """Noise of the measurement [CIELAB units per axis]; 0 where unknown."""
    measured: str = "typed"
    """How: typed, file, sheet."""
    wanted: str = ""
    """The color that was wanted, as it was typed; empty where none was."""
    intended: FloatArray | None = None
    """Its Lab, shape (3,), or None."""
    remark: str = ""
    """In the person's own words."""
    done: str = ""
    """The day it was made, as ``YYYY-MM-DD``; empty where not said."""
    fill: Fill = Fill.USUAL
    """How full the markers were."""
    photograph: str = ""
    """Digest of a photograph that is kept; empty for none."""
    picture: str = ""
    """Digest of what it was read from together with others; empty for a measurement of its own."""
    shared: float = 0.0
    """The part of `spread` that all readings of that picture have alike."""
    made_by: str = ""
    """Whose hand laid it, where that wasn't the kit's owner; such a trial teaches the kit
    nothing."""
    number: int = 0
    """Of the trial in this library; 0 where it isn't kept yet."""
    uid: str = ""
    """The same in every library."""
    version: int = 0
    """1 for the first entry."""
    withdrawn: bool = False
    """Whether it was taken back: kept, shown, and never learned from."""
    recorded: datetime = NEVER
    """When the entry was made, in UTC."""
