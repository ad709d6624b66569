"""Note what was tried and what came of it."""

import hashlib
from dataclasses import dataclass

import numpy as np

from laydown.app.page_reading import PageRead
from laydown.app.read_sheet import CellRead, PictureFile, ReadSheet, read_sheet
from laydown.app.supplies import paper_named
from laydown.app.swatch_forms import READERS, form_of_content
from laydown.app.targets import Wanted, settle_targets
from laydown.app.trial_photograph import check_photograph
from laydown.app.trial_words import TrialShown, checked_day, shown
from laydown.app.tried_before import near_trials
from laydown.color.arrays import FloatArray
from laydown.color.reconstruction import reflectance_from_xyz
from laydown.color.typed import measured_color
from laydown.documents.swatch_rows import Usual, swatches_from_rows
from laydown.errors import BadFileError, BadRecipeError
from laydown.media.colorant import Colorant
from laydown.media.recipe import parse_recipe
from laydown.media.swatch import Basis, Swatch
from laydown.media.trial import Fill
from laydown.sheet.reading import Accuracy
from laydown.store.library import Library
from laydown.store.trial_records import TrialEntry
from laydown.store.work import Work


@dataclass(frozen=True, slots=True)
class Picture:
    """A photograph's name and its bytes."""

    name: str
    content: bytes


@dataclass(frozen=True, slots=True)
class AddTrial:
    """What was tried.

    Parameters
    ----------
    recipe
        What was laid, bottom first; empty where a file says it.
    color
        What came of it, in numbers (`laydown.color.typed`); empty where a file says it.
    file, source
        Content and name of a file of measured swatches, each of which is a trial; None for none.
    pictures
        Of sheets that were colored in, each sound cell of which is a trial.
    kit, paper
        What it was made from and on; an empty paper is the only one of the library.
    wanted
        The color that was wanted, in any form that `match` knows; empty for none.
    remark, done, fill
        In one's own words; the day; how full the markers were.
    noise
        Of the measurement [CIELAB units per axis].
    photograph
        Kept with it.
    """

    recipe: str = ""
    color: str = ""
    file: bytes | None = None
    source: str = ""
    pictures: tuple[PictureFile, ...] = ()
    kit: str = ""
    paper: str = ""
    wanted: str = ""
    remark: str = ""
    done: str = ""
    fill: Fill = Fill.USUAL
    noise: float = 0.0
    photograph: Picture | None = None


@dataclass(frozen=True, slots=True, eq=False)
class _Tried:
    """A swatch that becomes a trial, and what it has alike with others of its picture."""

    swatch: Swatch
    picture: str = ""
    shared: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class TrialsAdded:
    """The trials that were noted, and earlier ones that were about as near to what was wanted."""

    trials: tuple[TrialShown, ...]
    tried_before: tuple[TrialShown, ...]


def add_trial(library: Library, request: AddTrial) -> TrialsAdded:
    """Note a trial, or every swatch of a file as one: all of them or none.

    Raises
    ------
    BadRecipeError, BadColorError, BadFileError
        For what can't be read.
    UnknownNameError
        For a kit, a paper or a colorant that isn't in the library.
    """
    done = checked_day(request.done)
    if request.photograph:
        check_photograph(request.photograph.content, request.photograph.name)
    with library.look() as work:
        kit = _kit_named(work, request.kit)
        tried = () if request.pictures else _tried(work, request)
    tried = tried or _on_sheets(library, request)
    intended = _intended(library, request.wanted, tried[0].swatch.paper)
    with library.work(_label(request, len(tried))) as work:
        before = work.notebook.latest()
        picture = request.photograph
        kept = work.notebook.keep_photograph(picture.name, picture.content) if picture else ""
        made = [
            work.notebook.add(_entry(one, request, kit, intended, done=done, photograph=kept))
            for one in tried
        ]
    near = () if intended is None else near_trials(before, intended, paper=made[0].entry.paper)
    return TrialsAdded(tuple(map(shown, made)), tuple(map(shown, near)))


def _label(request: AddTrial, count: int) -> str:
    return "note a trial" if count == 1 else f"note {count} trials"


def _kit_named(work: Work, name: str) -> str:
    if not name:
        return ""
    work.kit(name)
    return name


def _tried(work: Work, request: AddTrial) -> tuple[_Tried, ...]:
    if request.file is None:
        return (_typed(work, request),)
    if request.recipe or request.color:
        raise BadRecipeError(
            "A file says recipe and color by itself.", hint="Give either a file or a recipe."
        )
    form = form_of_content(request.file)
    usual = Usual("", request.paper, "")
    rows = READERS[form](request.file, source=request.source, usual=usual)
    swatches = swatches_from_rows(rows, source=request.source, find=work.find_colorant)
    tried = tuple(_Tried(s) for s in swatches if s.recipe.steps)
    if not tried:
        raise BadRecipeError(f"{request.source} has bare paper only, and no trial.")
    return tried


def _on_sheets(library: Library, request: AddTrial) -> tuple[_Tried, ...]:
    """Return the sound cells of colored sheets; they become trials, not swatches."""
    if request.recipe or request.color or request.file is not None:
        raise BadRecipeError(
            "A sheet says recipes and colors by itself.", hint="Give the pictures alone."
        )
    read = read_sheet(library, ReadSheet(request.pictures, accept_rough=True, keep=False))
    with library.look() as work:
        papers = {cell.sheet: work.sheets.get(cell.sheet).paper for cell in read.cells}
    worst = {page.sheet: page.accuracy for page in sorted(read.pages, key=_mean_error)}
    shown = b"".join(file.content for file in request.pictures)
    tried = tuple(
        _as_read(cell, papers[cell.sheet], worst[cell.sheet], request.noise, shown)
        for cell in read.cells
        if cell.taken and cell.recipe.steps
    )
    if not tried:
        raise BadFileError(
            "No cell of these pictures can be taken as a trial.",
            hint="Read the sheet by itself: of each cell it is told what was read, and why not.",
            command="laydown sheet read",
        )
    return tried


def _mean_error(page: PageRead) -> float:
    return page.accuracy.mean


def _as_read(cell: CellRead, paper: str, accuracy: Accuracy, noise: float, shown: bytes) -> _Tried:
    """Return a cell with all that may be off of it: its own spread, and the picture's error."""
    spread = float(np.hypot(max(cell.reading.spread, noise), accuracy.deviation))
    reflectance = reflectance_from_xyz(cell.reading.xyz, tolerance=1.0)
    swatch = Swatch(paper, cell.recipe, reflectance, Basis.XYZ, spread=spread)
    digest = hashlib.sha256(shown + str(cell.sheet).encode()).hexdigest()
    return _Tried(swatch, digest, accuracy.shared)


def _typed(work: Work, request: AddTrial) -> _Tried:
    owned = work.kit(request.kit) if request.kit else ()
    recipe = parse_recipe(request.recipe, lambda text: _find(work, text, owned))
    if not recipe.colorants:
        raise BadRecipeError(
            "No colorant was named.", hint='Write what you laid, bottom first: "Kelp*2; Dune".'
        )
    paper = paper_named(work, request.paper)
    typed = measured_color(request.color)
    noise = max(request.noise, typed.deviation)
    return _Tried(Swatch(paper, recipe, typed.reflectance, Basis.XYZ, spread=noise))


def _find(work: Work, text: str, owned: tuple[Colorant, ...]) -> Colorant:
    names = [c for c in owned if c.name.casefold() == text.strip().casefold()]
    return names[0] if len(names) == 1 else work.find_colorant(text)


def _intended(library: Library, wanted: str, paper: str) -> FloatArray | None:
    if not wanted:
        return None
    (target,) = settle_targets(library, [Wanted(wanted)], paper=paper)
    return target.lab


def _entry(
    tried: _Tried,
    request: AddTrial,
    kit: str,
    intended: FloatArray | None,
    *,
    done: str,
    photograph: str,
) -> TrialEntry:
    swatch = tried.swatch
    return TrialEntry(
        kit=kit,
        paper=swatch.paper,
        recipe=swatch.recipe,
        reflectance=swatch.reflectance,
        basis=swatch.basis,
        spread=swatch.spread,
        measured=_how(request),
        wanted=request.wanted,
        intended=intended,
        remark=request.remark,
        done=done,
        fill=request.fill,
        photograph=photograph,
        picture=tried.picture,
        shared=tried.shared,
    )


def _how(request: AddTrial) -> str:
    if request.pictures:
        return "sheet"
    return "typed" if request.file is None else "file"
