"""A trial as every task shows it."""

from dataclasses import dataclass
from datetime import date, datetime

from laydown.app.words import ColorInWords, in_words, reflectance_in_words
from laydown.color.lab import lab_from_reflectance
from laydown.errors import BadRecipeError
from laydown.match.outcome import Difference
from laydown.match.words import difference
from laydown.media.recipe import Recipe
from laydown.media.swatch import Fill
from laydown.store.records import StoredTrial


@dataclass(frozen=True, slots=True, eq=False)
class TrialShown:
    """A trial, its color in words and how far it is from what was wanted."""

    number: int
    version: int
    withdrawn: bool
    recorded: datetime
    """As the library keeps them."""
    done: str
    """The day it was made, where that was said."""
    kit: str
    paper: str
    recipe: Recipe
    """What was laid with what on what."""
    color: ColorInWords
    """What came of it."""
    wanted: str
    intended: ColorInWords | None
    off: Difference | None
    """As typed, in words, and what stays off (obtained minus wanted); None where none was
    wanted."""
    measured: str
    noise: float
    fill: Fill
    remark: str
    photograph: str
    """As noted; the noise in CIELAB units per axis."""
    made_by: str
    """Whose hand laid it; empty for the kit's owner."""


def shown(stored: StoredTrial) -> TrialShown:
    """Return a trial as tasks show it."""
    entry = stored.entry
    lab = lab_from_reflectance(entry.reflectance)
    return TrialShown(
        number=stored.number,
        version=stored.version,
        withdrawn=stored.withdrawn,
        recorded=stored.recorded,
        done=entry.done,
        kit=entry.kit,
        paper=entry.paper,
        recipe=entry.recipe,
        color=reflectance_in_words(entry.reflectance),
        wanted=entry.wanted,
        intended=None if entry.intended is None else in_words(entry.intended),
        off=None if entry.intended is None else difference(entry.intended, lab),
        measured=entry.measured,
        noise=entry.spread,
        fill=entry.fill,
        remark=entry.remark,
        photograph=entry.photograph,
        made_by=entry.made_by,
    )


def checked_day(text: str) -> str:
    """Return a day as ``YYYY-MM-DD``, or say why it is none; empty stays empty.

    Examples
    --------
    >>> checked_day(" 2026-03-04 ")
    '2026-03-04'
    """
    if not text.strip():
        return ""
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise BadRecipeError(
            f"“{text}” is no day.", hint="Write it as year-month-day: 2026-03-04."
        ) from None
