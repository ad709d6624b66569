"""Take in a notebook that was handed out: whole, and only what isn't here already."""

import base64
import re
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from laydown import allowed_sizes
from laydown.app.export_trials import FORM
from laydown.app.trial_words import checked_day
from laydown.color.arrays import FloatArray
from laydown.color.spectra import WAVELENGTHS
from laydown.documents.json_text import parse_json
from laydown.errors import BadFileError, LaydownError
from laydown.media.colorant import Colorant
from laydown.media.labels import LONGEST_NAME
from laydown.media.legible import legible
from laydown.media.recipe import parse_recipe
from laydown.media.swatch import Basis
from laydown.media.trial import Fill
from laydown.store.library import Library
from laydown.store.trial_records import StoredTrial, TrialEntry

DAMAGE = (LookupError, TypeError, ValueError, AttributeError, OverflowError, LaydownError)
"""What goes wrong where a file that was handed out has been meddled with."""
LARGEST_TEXT = 30_000_000
"""Bytes of a notebook without its photographs; six thousand entries take a third of it."""
MOST_VALUES = 500_000
"""Of a notebook, which then has six thousand entries: an entry has about eighty."""
PICTURE = re.compile(rb'"content":\s*"([A-Za-z0-9+/=]{1000,})"')
"""A photograph as it is written: it is lifted out before the rest is read, so that it is not held
three times over."""
LONGEST_TEXT = 100_000
"""Characters of a remark or a recipe; a longer one is a file gone wrong."""
BRIGHTEST, FARTHEST = 10.0, 1000.0
"""Above any reflectance, fluorescent ones too, and beyond any distance in CIELAB."""
MOST_VERSIONS = 1_000_000
"""Of one trial: times that something else was noted of it."""
EARLIEST, LATEST = 0.0, 32_503_680_000.0
"""Seconds since 1970 between which a note is made: from then to the year 3000."""


@dataclass(frozen=True, slots=True)
class ImportTrials:
    """The content of a file, and its name for messages."""

    content: bytes
    source: str


@dataclass(frozen=True, slots=True)
class TrialsImported:
    """How many trials and entries of the file there are, and how many of them were new."""

    source: str
    trials: int
    new_trials: int
    new_entries: int


def import_trials(library: Library, request: ImportTrials) -> TrialsImported:
    """Take in a file that `export_trials` wrote: all of it or nothing.

    Raises
    ------
    BadFileError
        For a file that is none, or is damaged.
    """
    whole, lifted = _read(request)
    try:
        histories = [[_stored(entry) for entry in history] for history in whole["trials"]]
        pictures = [_picture(told, lifted) for told in whole["photographs"]]
    except DAMAGE as error:
        raise BadFileError(
            f"{request.source} is a damaged notebook ({error}).", hint="Export it once more."
        ) from error
    histories = [history for history in histories if history]
    with library.work(f"take in trials from {request.source}") as work:
        for name, content in pictures:
            work.notebook.keep_photograph(name, content)
        trials, entries = work.notebook.take_in(histories)
    return TrialsImported(request.source, len(histories), trials, entries)


def _read(request: ImportTrials) -> tuple[dict[str, Any], list[memoryview]]:
    """Return what a notebook tells, and the photographs that were lifted out of it."""
    _check_size(len(request.content), allowed_sizes.NOTEBOOK, request.source)
    lifted: list[memoryview] = []
    view = memoryview(request.content)

    def lift(found: re.Match[bytes]) -> bytes:
        lifted.append(view[found.start(1) : found.end(1)])
        return b'"content":"@%d"' % (len(lifted) - 1)

    text = PICTURE.sub(lift, request.content)
    _check_size(len(text), LARGEST_TEXT, request.source)
    if sum(map(text.count, (b",", b"[", b"{"))) > MOST_VALUES:
        raise _too_large(request.source, f"more than {MOST_VALUES:,} values")
    try:
        whole = parse_json(text)
    except ValueError:
        whole = None
    if not isinstance(whole, dict) or whole.get("form") != FORM:
        raise BadFileError(
            f"{request.source} is no notebook of trials.",
            hint="Give a file that was handed out from a notebook.",
            command="laydown trial export",
        )
    return whole, lifted


def _check_size(size: int, most: int, source: str) -> None:
    if size > most:
        what = "" if most == allowed_sizes.NOTEBOOK else " beside its photographs"
        raise _too_large(source, f"{size / 1e6:.0f} MB{what}, and {most / 1e6:.0f} MB are read")


def _too_large(source: str, what: str) -> BadFileError:
    return BadFileError(
        f"{source} is no notebook of trials, or too large a one: it has {what}.",
        hint="Hand out a notebook with fewer photographs.",
    )


def _stored(told: dict[str, Any]) -> StoredTrial:
    recorded = datetime.fromisoformat(told["recorded"])
    if recorded.tzinfo is None or not EARLIEST <= recorded.timestamp() <= LATEST:
        raise ValueError("a time is none that anything was noted at")
    return StoredTrial(
        number=0,
        uid=_text(told["uid"], most=32),
        version=int(_numbers([told["version"]], 1, most=MOST_VERSIONS, least=1)[0]),
        withdrawn=bool(told["withdrawn"]),
        recorded=recorded,
        entry=_entry(told),
    )


def _entry(told: dict[str, Any]) -> TrialEntry:
    intended = told["intended"]
    return TrialEntry(
        kit=_text(told["kit"], most=LONGEST_NAME),
        paper=_text(told["paper"], most=LONGEST_NAME),
        recipe=parse_recipe(_text(told["recipe"]), _written),
        reflectance=_numbers(told["reflectance"], len(WAVELENGTHS), most=BRIGHTEST),
        basis=Basis(told["basis"]),
        spread=float(_numbers([told["spread"]], 1, most=FARTHEST, least=0.0)[0]),
        measured=_text(told["measured"], most=20),
        wanted=_text(told["wanted"], most=500),
        intended=None if intended is None else _numbers(intended, 3, most=FARTHEST),
        remark=_text(told["remark"]),
        done=checked_day(_text(told["done"])),
        fill=Fill(told["fill"]),
        photograph=_text(told["photograph"], most=64),
        picture=_text(told.get("picture", ""), most=64),
        shared=float(_numbers([told.get("shared", 0.0)], 1, most=FARTHEST, least=0.0)[0]),
    )


def _text(told: object, *, most: int = LONGEST_TEXT) -> str:
    """Return a text that can be kept, or say why it can't."""
    text = legible(str(told))
    if len(text) > most:
        raise ValueError(f"a text has {len(text)} characters, and at most {most} are kept")
    return text


def _numbers(told: object, count: int, *, most: float, least: float | None = None) -> FloatArray:
    """Return numbers of a sensible size, or say why they are none."""
    numbers = np.array(told, dtype=np.float64)
    least = -most if least is None else least
    if numbers.shape != (count,) or not ((numbers >= least) & (numbers <= most)).all():
        raise ValueError(
            f"where {count} numbers from {least:g} to {most:g} belong is something else"
        )
    return numbers


def _picture(told: dict[str, Any], lifted: list[memoryview]) -> tuple[str, bytes]:
    content = told["content"]
    coded = lifted[int(content[1:])] if content.startswith("@") else content
    return _text(told["name"], most=300), base64.b64decode(coded)


def _written(label: str) -> Colorant:
    if len(label) > 2 * LONGEST_NAME + 1:
        raise ValueError(f"a name has {len(label)} characters")
    of, _, name = label.partition("/")
    return Colorant(name, of)
