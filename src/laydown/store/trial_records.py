"""What the store hands out of the notebook: frozen, and free of any database."""

from dataclasses import dataclass
from datetime import datetime

from laydown.color.arrays import FloatArray
from laydown.media.recipe import Recipe
from laydown.media.swatch import Basis
from laydown.media.trial import Fill


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
class Photograph:
    """A photograph with its name and its bytes."""

    digest: str
    name: str
    content: bytes
