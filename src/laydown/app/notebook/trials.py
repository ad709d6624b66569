"""Trials: noted, changed, found, shown, taken back, handed on and printed."""

import base64
import hashlib
import io
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from datetime import date, datetime
from typing import Any

import numpy as np
from PIL import Image

from laydown import allowed_sizes, errors
from laydown.app.fits import own_first, paper_named
from laydown.app.matches.colors import trials_near
from laydown.app.matches.targets import settle_targets
from laydown.app.sheets.reading import CellRead, ReadSheet, read_sheet
from laydown.app.swatches import swatches_in
from laydown.app.tasks import GivenFile
from laydown.app.words import ColorInWords, in_words, reflectance_in_words
from laydown.color import reconstruction, spectra
from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance, xyz_from_lab
from laydown.color.typed import DEVIATION, measured_color
from laydown.documents.files.text import parse_json
from laydown.documents.print import reports
from laydown.documents.print.reports import write_trial_pdf
from laydown.imaging import files
from laydown.match.outcome import Difference
from laydown.match.words import difference
from laydown.media.legible import LONGEST_NAME, legible, name_key
from laydown.media.recipe import Colorant, Recipe, parse_recipe
from laydown.media.recipe_words import recipe_words
from laydown.media.swatch import Basis, Fill, Swatch
from laydown.sheet.reading import Accuracy
from laydown.store import shelf
from laydown.store.library import Library, Work
from laydown.store.records import TrialEntry
from laydown.store.trials import digest_of


@dataclass(frozen=True, slots=True, eq=False)
class TrialShown:
    """A trial, its color in words and how far it is from what was wanted."""

    number: int
    version: int
    withdrawn: bool
    recorded: datetime
    done: str
    """The day it was made, where that was said."""
    kit: str
    paper: str
    recipe: Recipe
    color: ColorInWords
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
    distance: float | None = None
    """How far it is from a color that was looked for (CIEDE2000); None where none was."""


TrialsAdded = tuple[tuple[TrialShown, ...], tuple[TrialShown, ...]]
"""Trials that were noted, and earlier ones that were about as near to what was wanted."""


def shown(entry: TrialEntry) -> TrialShown:
    """Return a trial as tasks show it."""
    lab = lab_from_reflectance(entry.reflectance)
    return TrialShown(
        number=entry.number,
        version=entry.version,
        withdrawn=entry.withdrawn,
        recorded=entry.recorded,
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

    >>> checked_day(" 2026-03-04 ")
    '2026-03-04'
    """
    if not text.strip():
        return ""
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise errors.BadRecipeError(
            f"“{text}” is no day.", hint="Write it as year-month-day: 2026-03-04."
        ) from None


def edit_trial(
    library: Library,
    number: int,
    *,
    recipe: str | None = None,
    color: str | None = None,
    wanted: str | None = None,
    remark: str | None = None,
    done: str | None = None,
    fill: Fill | None = None,
    kit: str | None = None,
    paper: str | None = None,
    made_by: str | None = None,
) -> TrialShown:
    """Add an entry in which some things are noted otherwise; None leaves them as they are."""
    told = {"wanted": wanted, "remark": remark, "fill": fill, "kit": kit, "made_by": made_by}
    changes: dict[str, Any] = {name: text for name, text in told.items() if text is not None}
    with library.look() as work:
        old = work.notebook.history(number)[-1]
        if recipe is not None:
            changes["recipe"] = parse_recipe(recipe, work.find_colorant)
        if paper is not None:
            changes["paper"] = work.paper_name(paper)
        if kit:
            work.kit(kit)
    if color is not None:
        changes |= _measured_anew(color, old)
    if done is not None:
        changes["done"] = checked_day(done)
    if wanted is not None:
        changes["intended"] = _intended(library, wanted, old.paper)
    with library.work(f"edit trial {number}") as work:
        return shown(work.notebook.edit(number, replace(old, **changes)))


def _measured_anew(color: str, old: TrialEntry) -> dict[str, Any]:
    reflectance, deviation = _measured(color)
    spread = deviation if old.picture else max(old.spread, deviation)
    at_once = {"basis": Basis.XYZ, "measured": "typed", "picture": "", "shared": 0.0}
    return {"reflectance": reflectance, "spread": spread, **at_once}


def _measured(color: str) -> tuple[FloatArray, float]:
    """Return the smoothest spectrum of a typed color, and how unsure that is as a measurement."""
    lab, form = measured_color(color)
    return reconstruction.reflectance_from_xyz(xyz_from_lab(lab)), DEVIATION[form]


def undo_trial(library: Library, number: int, *, bring_back: bool = False) -> TrialShown:
    """Take a trial back, or bring it in again: it stays in the notebook, but teaches nothing."""
    label = "bring back" if bring_back else "take back"
    with library.work(f"{label} trial {number}") as work:
        made = work.notebook.withdraw(number, withdrawn=not bring_back)
    return shown(made)


def erase_trial(library: Library, number: int, *, photograph_only: bool = False) -> int:
    """Erase a trial for good, from the library's file too; return how many photographs went.

    Nothing brings it back. Its photographs go with it where no other trial shows them. Asked for
    alone, they go from every trial that shows them. What was handed out or backed up before still
    holds them. Raises `NotMeasuredError` where only the photograph is to go, and there is none.
    """
    if photograph_only:
        with library.work(f"erase the photograph of trial {number}") as work:
            gone = work.notebook.erase_photographs(number)
        if not gone:
            raise errors.NotMeasuredError(f"Trial {number} has no photograph.")
        return gone
    with library.work(f"erase trial {number}") as work:
        return work.notebook.erase(number)


def list_trials(
    library: Library,
    *,
    kit: str = "",
    paper: str = "",
    withdrawn: bool = False,
    skip: int = 0,
    most: int | None = None,
    latest_first: bool = False,
) -> tuple[tuple[TrialShown, ...], int]:
    """List trials of a kit or on a paper, by their numbers; empty names are for all.

    How many there are in all stands behind. `withdrawn` says whether those that were taken back are
    wanted, too. `skip` and `most` are how many of them to pass over first, and how many to list at
    most; None is all. `latest_first` says whether the highest number stands first.
    """
    with library.look() as work:
        paper = work.paper_name(paper) if paper else ""
        stored = work.notebook.latest(withdrawn=withdrawn)
    found = [
        trial
        for trial in stored
        if (not paper or name_key(trial.paper) == name_key(paper))
        and (not kit or name_key(trial.kit) == name_key(kit))
    ]
    if latest_first:
        found.reverse()
    return tuple(map(shown, found[skip:][:most])), len(found)


def photograph_of(library: Library, number: int, *, finished: bool = False) -> tuple[str, bytes]:
    """Return the name and the content of the photograph kept with a trial, or a finished work.

    Raises `NotMeasuredError` where none was kept.
    """
    with library.look() as work:
        kept = work.finished.get(number) if finished else work.notebook.history(number)[-1]
        if not kept.photograph:
            what = f"The finished work {number}" if finished else f"Trial {number}"
            raise errors.NotMeasuredError(
                f"{what} has no photograph.",
                hint="Keep one with the next as you note it.",
                command=f"laydown {'finished keep' if finished else 'trial add'} --photo",
            )
        return work.notebook.photograph(kept.photograph)


def show_trial(library: Library, number: int) -> tuple[TrialShown, ...]:
    """Show all that was ever noted of the trial of that number, as it was noted last behind."""
    with library.look() as work:
        return tuple(map(shown, work.notebook.history(number)))


def find_trials(
    library: Library, *, color: str = "", within: float = 5.0, colorant: str = "", words: str = ""
) -> tuple[TrialShown, ...]:
    """Find trials of which all holds that is given, nearest to a color first, else by number.

    `color` and `within` are a color in any form that `match` knows, and how far from it (CIEDE2000)
    is near. `words` stand in the remark, or in the name of paper, kit or who made it.
    Raises `BadColorError` when nothing to look for was given, or the color can't be read.
    """
    if not (color or colorant or words):
        raise errors.BadColorError(
            "Nothing to look for was named.",
            hint="Give a color, a colorant or words.",
            command="COLOR, --colorant or --words",
        )
    with library.look() as work:
        stored = work.notebook.latest()
        label = work.find_colorant(colorant).label if colorant else ""
    kept = [t for t in stored if _has(t, label, words)]
    if not color:
        return tuple(map(shown, kept))
    return _nearest(library, color, within, kept)


def _has(entry: TrialEntry, label: str, words: str) -> bool:
    text = " ".join((entry.remark, entry.paper, entry.kit, entry.wanted, entry.made_by)).casefold()
    return (not label or label in {c.label for c in entry.recipe.colorants}) and all(
        word in text for word in words.casefold().split()
    )


def _nearest(
    library: Library, color: str, within: float, kept: list[TrialEntry]
) -> tuple[TrialShown, ...]:
    if not kept:
        return ()
    try:
        (target,) = settle_targets(library, [color], paper=kept[0].paper)
    except errors.UnknownNameError as error:
        message = f"“{color}” is no color here."
        raise errors.BadColorError(message, hint=error.hint, command=error.command) from error
    near = trials_near(kept, target.lab, within=within)
    return tuple(replace(shown(trial), distance=far) for far, trial in near)


SHOWN_SIDE, QUALITY = 1600, 85
"""The longer side of what is shown [pixels], and the quality of its JPEG."""


def check_photograph(content: bytes, source: str) -> None:
    """Refuse what is no picture, without decoding it.

    Raises `BadFileError` for what is none.
    """
    with files.broken_told(source), files.opened(content, source) as image:
        files.check_header(image, source, fewest=1)


def shown_photograph(name: str, kept: bytes, *, side: int = SHOWN_SIDE) -> bytes:
    """Return a photograph as JPEG: upright, and no larger than is looked at.

    `name` and `kept`: its name and content. `side` is the longer side of what is shown [pixels].
    Raises `BadFileError` for one that can't be opened.
    """
    with files.broken_told(name), files.opened(kept, name) as image:
        files.check_header(image, name, fewest=1)
        image.draft("RGB", (side, side))
        pixels = np.asarray(image.convert("RGB"))
        upright = Image.fromarray(files.turned(pixels, files.orientation_of(image)))
    upright.thumbnail((side, side))
    content = io.BytesIO()
    upright.save(content, "JPEG", quality=QUALITY)
    return content.getvalue()


@dataclass(frozen=True, slots=True)
class AddTrial:
    """What was tried."""

    recipe: str = ""
    """What was laid, bottom first; empty where a file says it."""
    color: str = ""
    """What came of it, in numbers (`laydown.color.typed`); empty where a file says it."""
    file: bytes | None = None
    source: str = ""
    """Content and name of a file of measured swatches, each of which is a trial; None for none."""
    pictures: tuple[GivenFile, ...] = ()
    """Of sheets that were colored in, each sound cell of which is a trial."""
    kit: str = ""
    paper: str = ""
    """What it was made from and on; an empty paper is the only one of the library."""
    wanted: str = ""
    """The color that was wanted, in any form that `match` knows; empty for none."""
    remark: str = ""
    done: str = ""
    fill: Fill = Fill.USUAL
    """In one's own words; the day; how full the markers were."""
    noise: float = 0.0
    """Of the measurement [CIELAB units per axis]."""
    photograph: GivenFile | None = None
    made_by: str = ""
    """Whose hand laid it; empty for the kit's owner. A student's trial teaches a teacher's kit
    nothing."""


MOST_BEFORE = 3
"""Earlier trials that are told of."""


def add_trial(library: Library, request: AddTrial) -> TrialsAdded:
    """Note a trial, or every swatch of a file as one: all of them or none.

    Raises `BadRecipeError`, `BadColorError` and `BadFileError` for what can't be read.
    """
    request = replace(request, done=checked_day(request.done))
    if request.photograph:
        check_photograph(request.photograph.content, request.photograph.source)
    with library.look() as work:
        if request.kit:
            work.kit(request.kit)
        tried = () if request.pictures else _tried(work, request)
    tried = tried or _on_sheets(library, request)
    intended = _intended(library, request.wanted, tried[0].paper)
    label = "note a trial" if len(tried) == 1 else f"note {len(tried)} trials"
    with library.work(label) as work:
        before = work.notebook.latest()
        picture = request.photograph
        kept = work.notebook.keep_photograph(picture.source, picture.content) if picture else ""
        made = [
            work.notebook.add(replace(entry, intended=intended, photograph=kept)) for entry in tried
        ]
    there = [t for t in before if name_key(t.paper) == name_key(made[0].paper)]
    near = [] if intended is None else trials_near(there, intended)[:MOST_BEFORE]
    return tuple(map(shown, made)), tuple(shown(trial) for _, trial in near)


def _tried(work: Work, request: AddTrial) -> tuple[TrialEntry, ...]:
    if request.file is None:
        return (_typed(work, request),)
    if request.recipe or request.color:
        raise errors.BadRecipeError(
            "A file says recipe and color by itself.", hint="Give either a file or a recipe."
        )
    swatches = swatches_in(work, request.file, request.source, paper=request.paper)
    tried = tuple(_entry(s, request, "file") for s in swatches if s.recipe.steps)
    if not tried:
        raise errors.BadRecipeError(f"{request.source} has bare paper only, and no trial.")
    return tried


def _on_sheets(library: Library, request: AddTrial) -> tuple[TrialEntry, ...]:
    """Return the sound cells of colored sheets; they become trials, not swatches."""
    if request.recipe or request.color or request.file is not None:
        raise errors.BadRecipeError(
            "A sheet says recipes and colors by itself.", hint="Give the pictures alone."
        )
    shown = ReadSheet(request.pictures, accept_rough=True, keep=False, by_known=False)
    read = read_sheet(library, shown)
    with library.look() as work:
        papers = {cell.sheet: work.sheets.get(cell.sheet).paper for cell in read.cells}
    by_error = sorted(read.pages, key=lambda page: page.accuracy.mean)
    worst = {page.sheet: page.accuracy for page in by_error}
    content = b"".join(file.content for file in request.pictures)
    tried = tuple(
        _as_read(cell, papers[cell.sheet], worst[cell.sheet], request, content)
        for cell in read.cells
        if cell.taken and cell.recipe.steps
    )
    if not tried:
        raise errors.BadFileError(
            "No cell of these pictures can be taken as a trial.",
            hint="Read the sheet by itself: of each cell it is told what was read, and why not.",
            command="laydown sheet read",
        )
    return tried


def _as_read(
    cell: CellRead, paper: str, accuracy: Accuracy, request: AddTrial, shown: bytes
) -> TrialEntry:
    """Return a cell with all that may be off of it: its own spread, and the picture's error."""
    spread = float(np.hypot(max(cell.reading.spread, request.noise), accuracy.deviation(cell.lab)))
    reflectance = reconstruction.reflectance_from_xyz(cell.reading.xyz, tolerance=1.0)
    swatch = Swatch(paper, cell.recipe, reflectance, Basis.XYZ, spread=spread)
    digest = hashlib.sha256(shown + str(cell.sheet).encode()).hexdigest()
    return _entry(swatch, request, "sheet", picture=digest, shared=accuracy.shared(cell.lab))


def _typed(work: Work, request: AddTrial) -> TrialEntry:
    owned = work.kit(request.kit) if request.kit else ()
    recipe = parse_recipe(request.recipe, lambda text: own_first(work, text, owned))
    if not recipe.colorants:
        raise errors.BadRecipeError(
            "No colorant was named.", hint='Write what you laid, bottom first: "Kelp*2; Dune".'
        )
    paper = paper_named(work, request.paper)
    reflectance, deviation = _measured(request.color)
    noise = max(request.noise, deviation)
    swatch = Swatch(paper, recipe, reflectance, Basis.XYZ, spread=noise)
    return _entry(swatch, request, "typed")


def _intended(library: Library, wanted: str, paper: str) -> FloatArray | None:
    if not wanted:
        return None
    (target,) = settle_targets(library, [wanted], paper=paper)
    return target.lab


def _entry(
    swatch: Swatch, request: AddTrial, measured: str, *, picture: str = "", shared: float = 0.0
) -> TrialEntry:
    """Return what is noted of a swatch, but for the photograph and the color that was wanted."""
    return TrialEntry(
        kit=request.kit,
        paper=swatch.paper,
        recipe=swatch.recipe,
        reflectance=swatch.reflectance,
        basis=swatch.basis,
        spread=swatch.spread,
        measured=measured,
        wanted=request.wanted,
        remark=request.remark,
        done=request.done,
        fill=request.fill,
        picture=picture,
        shared=shared,
        made_by=request.made_by,
    )


FORM = "laydown trials 1"


def export_trials(library: Library) -> str:
    """Write the notebook, those taken back included, so that `import_trials` brings it in whole."""
    with library.look() as work:
        numbers = [t.number for t in work.notebook.latest(withdrawn=True)]
        histories = [work.notebook.history(number) for number in numbers]
        digests = {t.photograph for history in histories for t in history} - {""}
        pictures = [work.notebook.photograph(digest) for digest in sorted(digests)]
    whole = {
        "form": FORM,
        "trials": [[_told(entry) for entry in history] for history in histories],
        "photographs": [
            {"name": name, "content": base64.b64encode(content).decode("ascii")}
            for name, content in pictures
        ],
    }
    return json.dumps(whole, ensure_ascii=False, indent=1)


def _told(entry: TrialEntry) -> dict[str, Any]:
    told = {one.name: shelf.as_kept(getattr(entry, one.name)) for one in fields(entry)}
    del told["number"]  # which is another in another library
    return {**told, "recorded": entry.recorded.isoformat()}


DAMAGE = (LookupError, TypeError, ValueError, AttributeError, OverflowError, errors.LaydownError)
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


def import_trials(library: Library, content: bytes, source: str) -> tuple[str, int, int, int]:
    """Take in the content of a file that `export_trials` wrote: all of it or nothing.

    Returned are its name, how many trials it has, and how many trials and entries were new. Raises
    `BadFileError` for a file that is none, or is damaged.
    """
    whole, lifted = _read(content, source)
    try:
        histories = [[_stored(entry) for entry in history] for history in whole["trials"]]
        pictures = [_picture_import_trials(told, lifted) for told in whole["photographs"]]
    except DAMAGE as error:
        raise errors.BadFileError(
            f"{source} is a damaged notebook ({error}).", hint="Export it once more."
        ) from error
    histories = [history for history in histories if history]
    with library.work(f"take in trials from {source}") as work:
        # a photograph is kept here without what it told, so that it has another name
        kept = {
            digest_of(content): work.notebook.keep_photograph(name, content)
            for name, content in pictures
        }
        trials, entries = work.notebook.take_in(
            [
                [replace(s, photograph=kept.get(s.photograph, s.photograph)) for s in history]
                for history in histories
            ]
        )
    return source, len(histories), trials, entries


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
        raise errors.BadFileError(
            f"{source} is no notebook of trials.",
            hint="Give a file that was handed out from a notebook.",
            command="laydown trial export",
        )
    return whole, lifted


def _check_size(size: int, most: int, source: str) -> None:
    if size > most:
        what = "" if most == allowed_sizes.NOTEBOOK else " beside its photographs"
        raise _too_large(source, f"{size / 1e6:.0f} MB{what}, and {most / 1e6:.0f} MB are read")


def _too_large(source: str, what: str) -> errors.BadFileError:
    return errors.BadFileError(
        f"{source} is no notebook of trials, or too large a one: it has {what}.",
        hint="Hand out a notebook with fewer photographs.",
    )


def _stored(told: dict[str, Any]) -> TrialEntry:
    recorded = datetime.fromisoformat(told["recorded"])
    if recorded.tzinfo is None or not EARLIEST <= recorded.timestamp() <= LATEST:
        raise ValueError("a time is none that anything was noted at")
    if not isinstance(told["withdrawn"], bool):
        raise TypeError("where yes or no belongs is something else")
    intended = told["intended"]
    return TrialEntry(
        uid=_text(told["uid"], most=32),
        version=int(_numbers([told["version"]], 1, most=MOST_VERSIONS, least=1)[0]),
        withdrawn=told["withdrawn"],
        recorded=recorded,
        kit=_text(told["kit"], most=LONGEST_NAME),
        paper=_text(told["paper"], most=LONGEST_NAME),
        recipe=parse_recipe(_text(told["recipe"]), _written),
        reflectance=_numbers(told["reflectance"], len(spectra.WAVELENGTHS), most=BRIGHTEST),
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

    Returned is how many are on them, and the PDF. Raises `NotMeasuredError` when there is no trial
    at all.
    """
    with library.look() as work:
        stored: tuple[TrialEntry, ...] = (
            tuple(work.notebook.history(number)[-1] for number in numbers) or work.notebook.latest()
        )
    if not stored:
        raise errors.NotMeasuredError(
            "There are no trials yet.",
            hint="Note one first.",
            command='laydown trial add "Kelp*2" lab:40,-24,26',
        )
    rows = [_row(shown(trial)) for trial in stored]
    return len(rows), write_trial_pdf(rows, title="Trials", page=page)


def _row(trial: TrialShown) -> reports.ReportRow:
    made = " · ".join(part for part in (trial.done, trial.kit, trial.paper) if part)
    L, a, b = (round(float(x)) for x in trial.color.lab)
    color = f"{trial.color.words}, value {trial.color.value:.1f}, L* {L} a* {a} b* {b}"
    lines = [made, f"came out {color}"]
    if trial.off is not None:
        lines.append(f"wanted {trial.wanted}: {trial.off.words} ({trial.off.delta_e:.1f})")
    if trial.fill != "usual":
        lines.append(f"markers {trial.fill}")
    if trial.made_by:
        lines.append(f"made by {trial.made_by}")
    if trial.remark:
        lines.append(trial.remark)
    colors = {"came out": trial.color, **({"wanted": trial.intended} if trial.intended else {})}
    return reports.ReportRow(
        f"{trial.number} {recipe_words(trial.recipe)}",
        "\n".join(lines),
        tuple(color.screen for color in colors.values()),
        keys=tuple(colors),
    )
