"""Take in a notebook that was handed out: whole, and only what isn't here already."""

import base64
import binascii
import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from laydown.app.export_trials import FORM
from laydown.app.trial_words import checked_day
from laydown.color.arrays import FloatArray
from laydown.color.spectra import WAVELENGTHS
from laydown.errors import BadFileError, LaydownError
from laydown.media.colorant import Colorant
from laydown.media.labels import LONGEST_NAME
from laydown.media.recipe import parse_recipe
from laydown.media.swatch import Basis
from laydown.media.trial import Fill
from laydown.store.library import Library
from laydown.store.trial_records import StoredTrial, TrialEntry

DAMAGE = (KeyError, TypeError, ValueError, AttributeError, OverflowError, LaydownError)
"""What goes wrong where a file that was handed out has been meddled with."""
LONGEST_TEXT = 100_000
"""Characters of a remark or a recipe; a longer one is a file gone wrong."""
BRIGHTEST, FARTHEST = 10.0, 1000.0
"""Above any reflectance, fluorescent ones too, and beyond any distance in CIELAB."""
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
    whole = _read(request)
    try:
        histories = [[_stored(entry) for entry in history] for history in whole["trials"]]
        pictures = [_picture(picture) for picture in whole["photographs"]]
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


def _read(request: ImportTrials) -> dict[str, Any]:
    try:
        whole = json.loads(request.content.decode("utf-8-sig"))
    except (UnicodeDecodeError, json.JSONDecodeError, binascii.Error, RecursionError):
        whole = None
    if not isinstance(whole, dict) or whole.get("form") != FORM:
        raise BadFileError(
            f"{request.source} is no notebook of trials.",
            hint="Give a file that was handed out from a notebook.",
            command="laydown trial export",
        )
    return whole


def _stored(told: dict[str, Any]) -> StoredTrial:
    recorded = datetime.fromisoformat(told["recorded"])
    if recorded.tzinfo is None or not EARLIEST <= recorded.timestamp() <= LATEST:
        raise ValueError("a time is none that anything was noted at")
    return StoredTrial(
        number=0,
        uid=_text(told["uid"], most=32),
        version=int(told["version"]),
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
    )


def _text(told: object, *, most: int = LONGEST_TEXT) -> str:
    """Return a text that can be kept, or say why it can't."""
    text = str(told)
    if len(text) > most:
        raise ValueError(f"a text has {len(text)} characters, and at most {most} are kept")
    return text.encode().decode()


def _numbers(told: object, count: int, *, most: float, least: float | None = None) -> FloatArray:
    """Return numbers of a sensible size, or say why they are none."""
    numbers = np.array(told, dtype=np.float64)
    least = -most if least is None else least
    if numbers.shape != (count,) or not ((numbers >= least) & (numbers <= most)).all():
        raise ValueError(
            f"where {count} numbers from {least:g} to {most:g} belong is something else"
        )
    return numbers


def _picture(told: dict[str, Any]) -> tuple[str, bytes]:
    return _text(told["name"], most=300), base64.b64decode(told["content"])


def _written(label: str) -> Colorant:
    of, _, name = label.partition("/")
    return Colorant(name, of)
