"""The notebook as a file to hand on, taken in again, and on printed pages."""

import base64
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime
from typing import Any

import numpy as np

from laydown import allowed_sizes
from laydown.app.notebook.trials import TrialShown, checked_day, shown
from laydown.color.arrays import FloatArray
from laydown.color.spectra import WAVELENGTHS
from laydown.documents.files.text import parse_json
from laydown.documents.print.reports import ReportRow
from laydown.documents.print.trials import write_trial_pdf
from laydown.errors import BadFileError, LaydownError, NotMeasuredError
from laydown.media.colorant import Colorant
from laydown.media.legible import legible
from laydown.media.recipe import LONGEST_NAME, parse_recipe
from laydown.media.recipe_words import recipe_words
from laydown.media.swatch import Basis, Fill
from laydown.store.library import Library
from laydown.store.records import StoredTrial, TrialEntry
from laydown.store.shelf import as_kept
from laydown.store.trials import digest_of

FORM = "laydown trials 1"


@dataclass(frozen=True, slots=True)
class TrialsExported:
    """The file's text, and how many trials, entries and photographs it holds."""

    trials: int
    entries: int
    photographs: int
    text: str


def export_trials(library: Library) -> TrialsExported:
    """Write the notebook, those taken back included, so that `import_trials` brings it in whole."""
    with library.look() as work:
        numbers = [t.number for t in work.notebook.latest(withdrawn=True)]
        histories = [work.notebook.history(number) for number in numbers]
        digests = {t.entry.photograph for history in histories for t in history} - {""}
        pictures = [work.notebook.photograph(digest) for digest in sorted(digests)]
    whole = {
        "form": FORM,
        "trials": [[_entry_export_trials(stored) for stored in history] for history in histories],
        "photographs": [
            {"name": name, "content": base64.b64encode(content).decode("ascii")}
            for name, content in pictures
        ],
    }
    entries = sum(map(len, histories))
    text = json.dumps(whole, ensure_ascii=False, indent=1)
    return TrialsExported(len(histories), entries, len(pictures), text)


def _entry_export_trials(stored: StoredTrial) -> dict[str, Any]:
    entry = stored.entry
    return {
        "uid": stored.uid,
        "version": stored.version,
        "withdrawn": stored.withdrawn,
        "recorded": stored.recorded.isoformat(),
        **{field.name: as_kept(getattr(entry, field.name)) for field in fields(entry)},
    }


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
class TrialsImported:
    """How many trials and entries of the file there are, and how many of them were new."""

    source: str
    trials: int
    new_trials: int
    new_entries: int


def import_trials(library: Library, content: bytes, source: str) -> TrialsImported:
    """Take in the content of a file that `export_trials` wrote: all of it or nothing.

    Raises
    ------
    BadFileError
        For a file that is none, or is damaged.
    """
    whole, lifted = _read(content, source)
    try:
        histories = [[_stored(entry) for entry in history] for history in whole["trials"]]
        pictures = [_picture_import_trials(told, lifted) for told in whole["photographs"]]
    except DAMAGE as error:
        raise BadFileError(
            f"{source} is a damaged notebook ({error}).", hint="Export it once more."
        ) from error
    histories = [history for history in histories if history]
    with library.work(f"take in trials from {source}") as work:
        kept = {
            digest_of(content): work.notebook.keep_photograph(name, content)
            for name, content in pictures
        }
        trials, entries = work.notebook.take_in(
            [[_showing(stored, kept) for stored in history] for history in histories]
        )
    return TrialsImported(source, len(histories), trials, entries)


def _showing(stored: StoredTrial, kept: dict[str, str]) -> StoredTrial:
    """Return an entry that shows the photograph as it is kept here, without what it told."""
    shown = stored.entry.photograph
    return replace(stored, entry=replace(stored.entry, photograph=kept.get(shown, shown)))


def _read(content: bytes, source: str) -> tuple[dict[str, Any], list[memoryview]]:
    """Return what a notebook tells, and the photographs that were lifted out of it."""
    _check_size(len(content), allowed_sizes.NOTEBOOK, source)
    lifted: list[memoryview] = []
    view = memoryview(content)

    def lift(found: re.Match[bytes]) -> bytes:
        lifted.append(view[found.start(1) : found.end(1)])
        return b'"content":"@%d"' % (len(lifted) - 1)

    text = PICTURE.sub(lift, content)
    _check_size(len(text), LARGEST_TEXT, source)
    if sum(map(text.count, (b",", b"[", b"{"))) > MOST_VALUES:
        raise _too_large(source, f"more than {MOST_VALUES:,} values")
    try:
        whole = parse_json(text)
    except ValueError:
        whole = None
    if not isinstance(whole, dict) or whole.get("form") != FORM:
        raise BadFileError(
            f"{source} is no notebook of trials.",
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
        withdrawn=_truth(told["withdrawn"]),
        recorded=recorded,
        entry=_entry_import_trials(told),
    )


def _entry_import_trials(told: dict[str, Any]) -> TrialEntry:
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
        made_by=_text(told.get("made_by", ""), most=LONGEST_NAME),
    )


def _text(told: object, *, most: int = LONGEST_TEXT) -> str:
    """Return a text that can be kept, or say why it can't."""
    if not isinstance(told, str):
        raise TypeError("where a text belongs is something else")
    text = legible(told)
    if len(text) > most:
        raise ValueError(f"a text has {len(text)} characters, and at most {most} are kept")
    return text


def _truth(told: object) -> bool:
    if not isinstance(told, bool):
        raise TypeError("where yes or no belongs is something else")
    return told


def _numbers(told: object, count: int, *, most: float, least: float | None = None) -> FloatArray:
    """Return numbers of a sensible size, or say why they are none."""
    numbers = np.array(told)
    least = -most if least is None else least
    right = numbers.dtype.kind in "if" and numbers.shape == (count,)
    if not right or not ((numbers >= least) & (numbers <= most)).all():
        raise ValueError(
            f"where {count} numbers from {least:g} to {most:g} belong is something else"
        )
    return numbers.astype(np.float64)


def _picture_import_trials(told: dict[str, Any], lifted: list[memoryview]) -> tuple[str, bytes]:
    content = told["content"]
    coded = lifted[int(content[1:])] if content.startswith("@") else content
    return _text(told["name"], most=300), base64.b64decode(coded, validate=True)


def _written(label: str) -> Colorant:
    if len(label) > 2 * LONGEST_NAME + 1:
        raise ValueError(f"a name has {len(label)} characters")
    of, _, name = label.partition("/")
    return Colorant(name, of)


def print_trials(
    library: Library, numbers: Sequence[int] = (), *, page: str = "A4"
) -> tuple[int, bytes]:
    """Lay trials out on pages, A4 or Letter: those of these numbers, or all where there are none.

    Returns
    -------
    count, pdf
        How many are on them, and the file.

    Raises
    ------
    NotMeasuredError
        When there is no trial at all.
    """
    with library.look() as work:
        stored: tuple[StoredTrial, ...] = (
            tuple(work.notebook.history(number)[-1] for number in numbers) or work.notebook.latest()
        )
    if not stored:
        raise NotMeasuredError(
            "There are no trials yet.",
            hint="Note one first.",
            command='laydown trial add "Kelp*2" lab:40,-24,26',
        )
    rows = [_row(shown(trial)) for trial in stored]
    return len(rows), write_trial_pdf(rows, title="Trials", page=page)


def _row(trial: TrialShown) -> ReportRow:
    made = " · ".join(part for part in (trial.done, trial.kit, trial.paper) if part)
    lines = [made, f"came out {_color(trial)}"]
    if trial.off is not None:
        lines.append(f"wanted {trial.wanted}: {trial.off.words} ({trial.off.delta_e:.1f})")
    if trial.fill != "usual":
        lines.append(f"markers {trial.fill}")
    if trial.made_by:
        lines.append(f"made by {trial.made_by}")
    if trial.remark:
        lines.append(trial.remark)
    colors = {"came out": trial.color, **({"wanted": trial.intended} if trial.intended else {})}
    return ReportRow(
        f"{trial.number} {recipe_words(trial.recipe)}",
        "\n".join(lines),
        tuple(color.screen for color in colors.values()),
        keys=tuple(colors),
    )


def _color(trial: TrialShown) -> str:
    L, a, b = (round(float(x)) for x in trial.color.lab)
    return f"{trial.color.words}, value {trial.color.value:.1f}, L* {L} a* {a} b* {b}"
