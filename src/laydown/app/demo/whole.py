"""The whole job on invented data: from swatch files to a chart, and how far it was from the truth.

The shipped files are written into the demo's folder and imported from there by the same task as
anybody's own, into a library of the demo's own.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from laydown.app.demo.folder import claim_folder
from laydown.app.demo.parts import (
    PictureStory,
    SheetStory,
    hang,
    look_by_lamp,
    run_class,
    run_picture,
    run_sheet,
)
from laydown.app.fits.at_hand import Supplies
from laydown.app.given_file import GivenFile
from laydown.app.library import Library, open_named
from laydown.app.light.checking import LightChecked
from laydown.app.light.life import LifeForecast
from laydown.app.light.lightfastness import ImportLightfastness, import_lightfastness
from laydown.app.matches.charts import FORMS, MakeChart, WriteChart, make_chart, write_chart
from laydown.app.matches.colors import Asking
from laydown.app.supplies.kits import OwnColorants, create_kit, own_colorants
from laydown.app.swatches import ImportSwatches, import_swatches
from laydown.color.arrays import FloatArray
from laydown.demo.files import (
    CLASS_PAPER,
    FILM_FILES,
    LESSON,
    LESSON_FILE,
    LIGHTFASTNESS_FILE,
    PENCIL_RANGE,
    STUDENTS_RANGE,
    SWATCH_FILES,
    TEACHERS_RANGE,
    read_bytes,
)
from laydown.demo.film_truth import film_misses, mixed_misses
from laydown.demo.truth import Misses, misses
from laydown.match.outcome import Match
from laydown.match.search.found import Watch
from laydown.media.recipe import Recipe
from laydown.plan.chart import Chart

KIT = "student"
PENCIL_KIT = "student in pencil"
PENCIL_STEPS = 2
"""The second student layers two pencils at most: quick to lay, and quick to find."""
PICTURE_STEPS = 2
"""And so do those who color a picture, whose palette is larger than a lesson's passage."""
BOTH_KIT = "student in both"
INVENTED = (
    "All data here is invented: ranges, paper, swatches and lesson. No real product is meant."
)


@dataclass(frozen=True, slots=True)
class RunDemo:
    """Where the demo goes, the page of its PDF, whether all of the range and a class follow."""

    folder: Path
    page: str = "A4"
    whole_range: bool = False
    for_class: bool = False


@dataclass(frozen=True, slots=True)
class Missed:
    """How far predictions were from the simulated truth.

    Parameters
    ----------
    recipes
        How many were compared.
    mean, largest
        CIEDE2000.
    inside
        How many truths lie in the region that holds 80 in 100 by the predictions' own account.
    """

    recipes: int
    mean: float
    largest: float
    inside: int


@dataclass(frozen=True, slots=True, eq=False)
class DemoDone:
    """What the demo came to.

    Parameters
    ----------
    chart
        The lesson, converted.
    files
        The charts written.
    library
        The demo's own library.
    missed
        How far its predictions were from the simulated truth.
    in_pencil, missed_in_pencil
        The same for the student who works in pencil.
    in_both, missed_in_both
        The same for one who owns both and may lay pencil over marker.
    sheet, missed_from_sheet
        The same for one who colored a printed sheet in and photographed it.
    on_a_wall
        How long the lesson in marker keeps its colors on a wall.
    by_lamp
        Which matches in pencil hold under other lights.
    drawn
        What became of a drawing, planned and made from both ranges.
    """

    chart: Chart
    files: tuple[Path, ...]
    library: Path
    missed: Missed
    in_pencil: Chart
    missed_in_pencil: Missed
    in_both: Chart
    missed_in_both: Missed
    sheet: SheetStory
    missed_from_sheet: Missed
    on_a_wall: LifeForecast
    by_lamp: LightChecked
    drawn: PictureStory


def _silent(sentence: str) -> None:
    """Say nothing."""


CHI_SQUARE_80 = 4.6416
"""80 % point of chi-square with 3 degrees of freedom (computed: scipy.stats.chi2.ppf(.8, 3))."""


def run_demo(
    request: RunDemo, *, watch: Watch | None = None, tell: Callable[[str], None] = _silent
) -> DemoDone:
    """Run the demo.

    Parameters
    ----------
    request
        Where to.
    watch
        Told (done, total) as the matching goes on; may raise to cancel.
    tell
        Told what comes next, a sentence for each stage.

    Raises
    ------
    BadFileError
        When the folder holds somebody's files.
    """
    folder = claim_folder(request.folder)
    library = open_named(str(folder / "library.db"))
    try:
        tell(f"Importing the swatches of {TEACHERS_RANGE} and {STUDENTS_RANGE}…")
        _fill(library, folder)
        tell(f"Fitting both ranges on {CLASS_PAPER}, and converting the lesson…")
        chart = make_chart(library, _lesson(folder), watch=watch)
        files = _write(chart, folder / "chart", request.page)
        tell("Hanging it on a wall, and asking how long its colors last there…")
        on_a_wall, hung = hang(library, folder, chart, _asking(), page=request.page, note=INVENTED)
        files += hung
        tell(f"Converting it to the pencils of {PENCIL_RANGE}, for a student who has those…")
        in_pencil = make_chart(library, _lesson(folder, PENCIL_KIT, PENCIL_STEPS), watch=watch)
        files += _write(in_pencil, folder / "chart in pencil", request.page)
        tell("Looking at that by lamp light and other lights…")
        asked = _asking(PENCIL_KIT, PENCIL_STEPS)
        by_lamp, seen = look_by_lamp(
            library, folder, in_pencil, asked, page=request.page, note=INVENTED
        )
        files += seen
        tell("Planning a drawing of it, making that from both ranges, and printing it…")
        asked = _asking(steps=PICTURE_STEPS)
        drawn = run_picture(library, folder, asked, page=request.page, note=INVENTED)
        files += drawn.files
        tell("Converting it to both, for one who lays pencil over marker…")
        in_both = make_chart(library, _lesson(folder, BOTH_KIT, PENCIL_STEPS), watch=watch)
        files += _write(in_both, folder / "chart in both", request.page)
        if request.whole_range:
            tell(f"Converting all of {TEACHERS_RANGE}…")
            everything = make_chart(library, _whole_range(), watch=watch)
            files += _write(everything, folder / "whole range", request.page)
        if request.for_class:
            tell("Going on to a class: the lesson as a whole, its pack, runs and supplies…")
            files += run_class(library, folder, note=INVENTED, page=request.page, watch=watch)
    finally:
        library.close()
    tell("Printing a sheet, having it colored in and photographed, and going on from that…")
    sheet = run_sheet(folder, title=LESSON, notes=(INVENTED,), page=request.page)
    files += sheet.files
    tell("Simulating what these recipes would truly look like; this takes a while…")
    return DemoDone(
        chart,
        files,
        folder / "library.db",
        _missed(chart.matches, misses),
        in_pencil,
        _missed(in_pencil.matches, film_misses),
        in_both,
        _missed(in_both.matches, mixed_misses),
        sheet,
        _missed(sheet.chart.matches, misses),
        on_a_wall,
        by_lamp,
        drawn,
    )


def _fill(library: Library, folder: Path) -> None:
    for name in (*SWATCH_FILES, *FILM_FILES, LESSON_FILE, LIGHTFASTNESS_FILE):
        (folder / name).write_bytes(read_bytes(name))
    files = tuple(
        GivenFile((folder / name).read_bytes(), str(folder / name))
        for name in (*SWATCH_FILES, *FILM_FILES)
    )
    import_swatches(library, ImportSwatches(files))
    classes = ImportLightfastness(read_bytes(LIGHTFASTNESS_FILE), LIGHTFASTNESS_FILE)
    import_lightfastness(library, classes)
    create_kit(library, KIT)
    own_colorants(library, OwnColorants(KIT, ranges=(STUDENTS_RANGE,)))
    create_kit(library, PENCIL_KIT)
    own_colorants(library, OwnColorants(PENCIL_KIT, ranges=(PENCIL_RANGE,)))
    create_kit(library, BOTH_KIT)
    own_colorants(library, OwnColorants(BOTH_KIT, ranges=(STUDENTS_RANGE, PENCIL_RANGE)))


def _asking(kit: str = KIT, steps: int = 3) -> Asking:
    return Asking(Supplies(kit=kit, paper=CLASS_PAPER), steps=steps)


def _lesson(folder: Path, kit: str = KIT, steps: int = 3) -> MakeChart:
    content = (folder / LESSON_FILE).read_bytes()
    return MakeChart(
        title=LESSON,
        file=content,
        source=LESSON_FILE,
        asking=_asking(kit, steps),
        notes=(INVENTED,),
    )


def _whole_range() -> MakeChart:
    title = f"{TEACHERS_RANGE} from {STUDENTS_RANGE}"
    return MakeChart(title=title, range=TEACHERS_RANGE, asking=_asking(), notes=(INVENTED,))


def _write(chart: Chart, path: Path, page: str) -> tuple[Path, ...]:
    files = tuple(path.with_suffix(f".{form}") for form in FORMS)
    for file, form in zip(files, FORMS, strict=True):
        file.write_bytes(write_chart(WriteChart(chart, form, page)))
    return files


def _missed(
    matches: tuple[Match, ...], against: Callable[[list[Recipe], FloatArray], Misses]
) -> Missed:
    predictions = [m.best.prediction for m in matches]
    labs = np.array([p.lab for p in predictions])
    found = against([p.recipe for p in predictions], labs)
    off = found.labs - labs
    distances = [
        float(d @ np.linalg.solve(p.covariance, d)) for d, p in zip(off, predictions, strict=True)
    ]
    inside = sum(distance <= CHI_SQUARE_80 for distance in distances)
    return Missed(len(predictions), found.mean, found.largest, inside)
