"""Take in a notebook that was handed out: whole, and only what isn't here already."""

import base64
import binascii
import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

import numpy as np

from laydown.app.export_trials import FORM
from laydown.color.spectra import WAVELENGTHS
from laydown.errors import BadFileError, LaydownError
from laydown.media.colorant import Colorant
from laydown.media.recipe import parse_recipe
from laydown.media.swatch import Basis
from laydown.media.trial import Fill
from laydown.store.library import Library
from laydown.store.trial_records import StoredTrial, TrialEntry


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
        pictures = [(p["name"], base64.b64decode(p["content"])) for p in whole["photographs"]]
    except (KeyError, TypeError, ValueError, AttributeError, LaydownError) as error:
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
            hint="Give a file that laydown trial export wrote.",
        )
    return whole


def _stored(told: dict[str, Any]) -> StoredTrial:
    reflectance = np.array(told["reflectance"], dtype=np.float64)
    if reflectance.shape != WAVELENGTHS.shape or not np.isfinite(reflectance).all():
        raise ValueError("a reflectance has not 36 numbers")
    intended = told["intended"]
    return StoredTrial(
        number=0,
        uid=str(told["uid"])[:32],
        version=int(told["version"]),
        withdrawn=bool(told["withdrawn"]),
        recorded=datetime.fromisoformat(told["recorded"]),
        entry=TrialEntry(
            kit=str(told["kit"]),
            paper=str(told["paper"]),
            recipe=parse_recipe(told["recipe"], _written),
            reflectance=reflectance,
            basis=Basis(told["basis"]),
            spread=float(told["spread"]),
            measured=str(told["measured"]),
            wanted=str(told["wanted"]),
            intended=None if intended is None else np.array(intended, dtype=np.float64),
            remark=str(told["remark"]),
            done=str(told["done"]),
            fill=Fill(told["fill"]),
            photograph=str(told["photograph"]),
        ),
    )


def _written(label: str) -> Colorant:
    of, _, name = label.partition("/")
    return Colorant(name, of)
