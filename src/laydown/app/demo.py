"""The demo: its supplies in one's own library, and the whole job on them against the truth."""

import io
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
from PIL import Image

from laydown.app.buying import ChooseKit, choose_kit
from laydown.app.fits import Supplies, set_up
from laydown.app.lessons import lessons, packs
from laydown.app.library import open_named
from laydown.app.light import checking, life, lightfastness
from laydown.app.matches.colors import FORMS, Asking, MakeChart, make_chart, write_chart
from laydown.app.pictures import painting, plans
from laydown.app.reports import Result, write_report
from laydown.app.runs import CompareRanges, ListRuns, by_hue, compare_ranges, list_runs
from laydown.app.sheets.printing import PrintSheet, draw_sheet, print_sheet
from laydown.app.sheets.reading import ReadSheet, SheetRead, read_sheet
from laydown.app.supplies.kits import create_kit, own_colorants
from laydown.app.supplies.names import INVENTED, KITS, PAPERS, RANGES
from laydown.app.swatches import ImportSwatches, import_swatches, take_in
from laydown.app.tasks import GivenFile
from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.demo import files as shipped
from laydown.demo import photograph, truth
from laydown.demo.lemons import STEPS, LemonsDrawing, draw_lemons, lemons_png
from laydown.errors import BadFileError, DuplicateNameError
from laydown.imaging.files import open_photographs
from laydown.match.outcome import Match
from laydown.match.ranking import Watch
from laydown.media.legible import name_key
from laydown.media.light.exposure import Exposure, Span
from laydown.media.recipe import Colorant, Recipe
from laydown.plan.chart import Chart
from laydown.plan.picture.edits import Edit, edited
from laydown.plan.picture.picture import PicturePlan
from laydown.plan.run.runs import Shade, shade
from laydown.sheet.sheet import Sheet
from laydown.store.files import file_at, find_location, usual_path
from laydown.store.library import Library, Work

MARK = "read me.txt"
FOLDER = "laydown demo"
TEXT = (
    "This folder belongs to the demo of laydown and is overwritten by the next one.\n"
    "All data in it is invented: ranges, papers, swatches and lesson.\n"
)


def folder_beside(library: Library) -> Path:
    """Return where the bench puts the demo: beside the library, or beside the usual place of one.

    `library`: in a file, or on a database server, which has no folder.
    """
    return (file_at(find_location(library.location)) or usual_path()).with_name(FOLDER)


def claim_folder(folder: Path) -> Path:
    """Make a folder the demo's own: a new one, an empty one, or one from an earlier demo.

    Returned is the same folder, with a library in it no longer. Raises `BadFileError` when
    something else lies there already; nothing is touched then.
    """
    mark = folder / MARK
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if not mark.exists() and any(folder.iterdir()):
            raise BadFileError(
                f"The folder {folder} holds files that are not the demo's.",
                hint="Move them elsewhere: the demo needs a folder that is new or empty.",
                command="or --folder ANOTHER",
            )
        mark.write_text(TEXT, encoding="utf-8")
        for old in folder.glob("library.db*"):
            old.unlink()
    except OSError as error:
        raise BadFileError(
            f"The demo can't write into {folder}: {error.strerror}.",
            hint="Check the folder, your rights, and the room on the disk.",
            command="or --folder ANOTHER",
        ) from error
    return folder


FILES = (*shipped.SWATCH_FILES, *shipped.FILM_FILES, shipped.SECOND_PAPER_FILE)


Names = tuple[str, ...]
DemoSupplies = tuple[Names, Names, Names, int]
"""The ranges, papers and kits that came in or went, all of it invented, and how many swatches."""


@cache
def demo_shades() -> tuple[Shade, ...]:
    """Return one coat of each of the student's invented markers, to look at before all else."""
    rows = shipped.read_rows("orchard_on_gannet_smooth.csv")
    bands = [name for name in rows[0] if re.fullmatch(r"r\d{3}", name)]
    laid = [r for r in rows if r["color"] and r["coats"] == "1" and not r["over"]]
    spectra = np.array([[float(row[band]) for band in bands] for row in laid])
    return by_hue(
        shade(row["color"], lab)
        for row, lab in zip(laid, lab_from_reflectance(spectra), strict=True)
    )


def add_demo(library: Library) -> DemoSupplies:
    """Put the demo in as one change, which one undo takes back.

    Raises `DuplicateNameError` where the library has something of one of its names, which may be
    real.
    """
    with library.work("put in the demo, all of it invented") as work:
        _refuse_taken(work)
        came = [take_in(work, GivenFile(shipped.read_bytes(name), name)) for name in FILES]
        for kit, ranges in KITS.items():
            work.add_kit(kit)
            work.own(kit, [c for name in ranges for c in work.colorants(name)])
    return RANGES, PAPERS, tuple(KITS), sum(file.new for file in came)


def _refuse_taken(work: Work) -> None:
    ours = {name_key(name) for name in INVENTED}
    here = [*(r.name for r in work.ranges()), *work.paper_names(), *work.kit_names()]
    taken = [name for name in here if name_key(name) in ours]
    if taken:
        raise DuplicateNameError(
            f"There is {' and '.join(taken)} in this library already.",
            hint="If that is the demo of earlier, take it out first.",
        )


def remove_demo(library: Library) -> DemoSupplies:
    """Remove what has the demo's names, and the swatches that use it.

    A paper of the demo that carries swatches of one's own stays.
    """
    with library.work("take out the demo") as work:
        gone = _there(KITS, work.kit_names())
        for kit in gone:
            work.remove_kit(kit)
        ranges = _there(RANGES, [r.name for r in work.ranges()])
        swatches = sum(work.remove_range(name, with_swatches=True) for name in ranges)
        used = {covered.paper for covered in work.coverage()}  # by ranges of one's own
        papers = [name for name in _there(PAPERS, work.paper_names()) if name not in used]
        swatches += sum(work.remove_paper(name, with_swatches=True) for name in papers)
    return tuple(ranges), tuple(papers), tuple(gone), swatches


def _there(wanted: Iterable[str], here: Iterable[str]) -> list[str]:
    ours = {name_key(name) for name in wanted}
    return [name for name in here if name_key(name) in ours]


ALL_INVENTED = (
    "All data here is invented: ranges, paper, swatches and lesson. No real product is meant."
)
WITHOUT_KIT = Asking(Supplies(ranges=(shipped.STUDENTS_RANGE,), paper=shipped.CLASS_PAPER))
SECONDS = 20.0
"""How long the demo tries to prove its kit."""


def _run_class(
    library: Library, folder: Path, *, page: str, watch: Watch | None = None
) -> tuple[Path, ...]:
    """Take the demo's lesson through all that is done for a class."""
    lesson = lessons.new_lesson(
        library,
        shipped.read_bytes(shipped.LESSON_FILE),
        shipped.LESSON_FILE,
        title=shipped.LESSON,
        paper=shipped.CLASS_PAPER,
        notes=(ALL_INVENTED,),
    )
    text = lessons.write_lesson(lesson)
    asked = lessons.LessonAsked(text, shipped.LESSON, WITHOUT_KIT)
    bought = replace(asked, turns=1, shop=(shipped.TEACHERS_RANGE,))
    whole = lessons.convert_lesson(library, bought, watch=watch)
    packed = packs.pack_lesson(library, asked, watch=watch)
    runs = list_runs(library, ListRuns(WITHOUT_KIT.supplies, shop=(shipped.TEACHERS_RANGE,)))
    compared = compare_ranges(
        library, CompareRanges(shipped.TEACHERS_RANGE, shipped.STUDENTS_RANGE, shipped.CLASS_PAPER)
    )
    for_sale = (shipped.TEACHERS_RANGE, shipped.STUDENTS_RANGE)
    choice = ChooseKit(
        (GivenFile(text, shipped.LESSON),), for_sale, paper=shipped.CLASS_PAPER, seconds=SECONDS
    )
    chosen = choose_kit(library, choice)
    files = {
        "lesson.txt": text,
        "lesson as a whole.pdf": write_chart(whole.together, "pdf", page),
        "class pack.pdf": packs.write_pack(packed, "pdf", page),
        "class pack.html": packs.write_pack(packed, "html"),
        "runs.pdf": write_report(runs, page=page),
        "ranges compared.pdf": write_report(compared, page=page),
        "supplies.pdf": write_report(chosen, page=page),
    }
    return tuple(_write(folder / name, content) for name, content in files.items())


def _write(path: Path, content: bytes) -> Path:
    path.write_bytes(content)
    return path


def _in_forms(path: Path, forms: Sequence[str], write: Callable[[str], bytes]) -> tuple[Path, ...]:
    return tuple(_write(path.with_suffix(f".{form}"), write(form)) for form in forms)


def _reports(found: Result, path: Path, forms: Sequence[str], page: str) -> tuple[Path, ...]:
    return _in_forms(path, forms, lambda form: write_report(found, form, page=page))


def _look_by_lamp(
    library: Library, folder: Path, chart: Chart, asking: Asking, *, page: str
) -> tuple[checking.LightChecked, tuple[Path, ...]]:
    """See the lesson as it was converted under the usual lights, and write that down."""
    bench = set_up(library, asking.supplies)
    found = checking.check_matches(
        library, chart.matches, bench, asking, lights=checking.lights_named(()), title=chart.title
    )
    found = replace(found, notes=(ALL_INVENTED, *found.notes))
    return found, _reports(
        found, folder / "under other lights", ("pdf", "html", "csv", "json"), page
    )


DRAWING, PLAN, PREVIEW = "drawing.png", "drawing.plan", "drawing from two kits.png"
PRINTED = "drawing to color in.pdf"
ROWS, COLUMNS = 320, 480
"""Of the drawing: enough for its regions, and quick."""
WHITE = "value:8.8@2%,2%,20%,15%"
"""What is of known color in it: the wall, at the upper left."""


def demo_drawing() -> plans.PictureFile:
    """Return the demo's drawing, to be planned by the white that is known in it."""
    return _file_of(draw_lemons(rows=ROWS, columns=COLUMNS))


def _file_of(drawing: LemonsDrawing) -> plans.PictureFile:
    return plans.PictureFile(lemons_png(drawing), DRAWING, shipped.LESSON, white=(WHITE,))


def _run_picture(
    library: Library, folder: Path, asking: Asking, *, page: str
) -> tuple[plans.PlanShown, float, tuple[Path, ...]]:
    """Draw the lemons, plan them, make the plan from both kits, and print it with the student's.

    Returned are the plan with both kits, the share of its pixels in the value step in which they
    were drawn, and the files.
    """
    drawing = draw_lemons(rows=ROWS, columns=COLUMNS)
    request = _file_of(drawing)
    plan = _with_passages(plans.planned(library, request))
    plan = replace(plan, notes=(ALL_INVENTED, *plan.notes))
    kept = plans.PictureFile(plans.write_plan(plan), PLAN)
    both = painting.PaintPlan(kept, asking, (shipped.TEACHERS_RANGE,))
    shown, _, preview = painting.paint_plan(library, both)
    _, document = painting.print_plan(library, painting.PaintPlan(kept, asking, page=page))
    parts = {DRAWING: request.file, PLAN: kept.file, PREVIEW: preview, PRINTED: document}
    right = float(np.mean(_steps(plan) == STEPS[drawing[1]]))
    return shown, right, tuple(_write(folder / name, part) for name, part in parts.items())


def _steps(plan: PicturePlan) -> np.ndarray:
    table = np.zeros(int(plan.values.labels.max()) + 1, dtype=np.int64)
    for region in plan.values.regions:
        table[region.number] = region.value_step
    return table[plan.values.labels]


def _with_passages(plan: PicturePlan) -> PicturePlan:
    """Say which passage each region is of: yellow ones are lemons, blue ones the bowl."""
    lemons = [r.number for r in plan.values.regions if r.lab[2] > 30.0]
    bowl = [r.number for r in plan.values.regions if r.lab[2] < -5.0]
    room = [r.number for r in plan.values.regions if r.number not in {*lemons, *bowl}]
    named = {"lemons": lemons, "bowl": bowl, "room": room}
    return edited(plan, [Edit("assign", tuple(n), passage=name) for name, n in named.items() if n])


LIBRARY = "library from a sheet.db"
SHEET, PHOTOGRAPH, PROOF, CHART = "sheet.pdf", "photograph.jpg", "proof.png", "from a sheet.pdf"
QUALITY = 90


def _run_sheet(folder: Path, *, page: str) -> tuple[Chart, SheetRead, float, tuple[Path, ...]]:
    """Print a sheet of the student's range, have it colored in and photographed, and read it."""
    for old in folder.glob(f"{LIBRARY}*"):
        old.unlink()
    library = open_named(str(folder / LIBRARY))
    try:
        sheet = _printed(library, folder)
        read = _read(library, folder, sheet)
        chart = make_chart(
            library, _lesson_for(WITHOUT_KIT, f"{shipped.LESSON}, from a photographed sheet")
        )
    finally:
        library.close()
    (folder / CHART).write_bytes(write_chart(chart, "pdf", page))
    files = tuple(folder / name for name in (SHEET, PHOTOGRAPH, PROOF, CHART))
    return chart, read, _off(sheet, read), files


def _printed(library: Library, folder: Path) -> Sheet:
    """Take in the teacher's swatches alone, and print a sheet for the student's kit."""
    teachers = "estuary_on_gannet_smooth.csv"
    import_swatches(library, ImportSwatches((GivenFile(shipped.read_bytes(teachers), teachers),)))
    students = [
        Colorant(row["color"], row["range"], blender=row["blender"] == "yes")
        for row in shipped.read_rows("colorants.csv")
        if row["range"] == shipped.STUDENTS_RANGE
    ]
    with library.work("name the student's markers") as work:
        work.add_colorants(students)
    sheet = print_sheet(library, PrintSheet("kit", WITHOUT_KIT))
    (folder / SHEET).write_bytes(draw_sheet(library, sheet))
    return sheet


def _read(library: Library, folder: Path, sheet: Sheet) -> SheetRead:
    printed = next(open_photographs((folder / SHEET).read_bytes(), source=SHEET)).pixels
    content = io.BytesIO()
    picture = photograph.colored_and_photographed(sheet, printed)
    Image.fromarray(picture).save(content, "JPEG", quality=QUALITY)
    (folder / PHOTOGRAPH).write_bytes(content.getvalue())
    read = read_sheet(library, ReadSheet((GivenFile(content.getvalue(), PHOTOGRAPH),)))
    (folder / PROOF).write_bytes(read.pages[0].proof)
    return read


def _off(sheet: Sheet, read: SheetRead) -> float:
    """Return how far what was read is off what an even hand would have laid."""
    colored = [cell for cell in sheet.cells if not cell.bare]
    true = lab_from_reflectance(photograph.true_spectra(colored))
    by_number = {cell.number: cell.lab for cell in read.cells}
    return float(ciede2000(np.array([by_number[c.number] for c in colored]), true).mean())


LIVING_ROOM = Exposure(Span(100.0, 200.0), hours=8.0, days=365.0, filtered=True)
"""A wall in a lit room, behind a filter against ultraviolet; invented like the rest."""


def _hang(
    library: Library, folder: Path, chart: Chart, asking: Asking, *, page: str
) -> tuple[life.LifeForecast, tuple[Path, ...]]:
    """Forecast the life of the lesson as it was converted, and write it down."""
    bench = set_up(library, asking.supplies)
    request = life.ForecastLife(LIVING_ROOM, asking=asking)
    parts = [life.part_of(match) for match in chart.matches]
    found = life.life_of_parts(library, parts, bench, request, title=chart.title)
    found = replace(found, notes=(ALL_INVENTED, *found.notes))
    return found, _reports(found, folder / "life on a wall", ("pdf", "html", "json"), page)


KIT = "student"
PENCIL_KIT = "student in pencil"
PENCIL_STEPS = 2
"""The second student layers two pencils at most: quick to lay, and quick to find."""
PICTURE_STEPS = 2
"""And so do those who color a picture, whose palette is larger than a lesson's passage."""
BOTH_KIT = "student in both"


@dataclass(frozen=True, slots=True)
class RunDemo:
    """Where the demo goes, the page of its PDF, whether all of the range and a class follow."""

    folder: Path
    page: str = "A4"
    whole_range: bool = False
    for_class: bool = False


@dataclass(frozen=True, slots=True)
class Missed:
    """How far predictions were from the simulated truth."""

    recipes: int
    mean: float
    largest: float
    """CIEDE2000."""
    inside: int
    """How many truths lie in the region that holds 80 in 100 by the predictions' own account."""


@dataclass(frozen=True, slots=True, eq=False)
class DemoDone:
    """What the demo came to."""

    chart: Chart
    files: tuple[Path, ...]
    library: Path
    missed: Missed
    """How far its predictions were from the simulated truth."""
    in_pencil: Chart
    missed_in_pencil: Missed
    """The same for the student who works in pencil."""
    in_both: Chart
    missed_in_both: Missed
    """The same for one who owns both and may lay pencil over marker."""
    from_sheet: Chart
    missed_from_sheet: Missed
    """The same for one who colored a printed sheet in and photographed it."""
    cells: int
    taken: int
    """How many cells of that sheet were read, and taken over."""
    read_off: float
    said_off: float
    """Mean CIEDE2000 between what was read and what an even hand would have laid: reading, hand and
    streaks together; and the mean that the reading itself states."""
    on_a_wall: life.LifeForecast
    """How long the lesson in marker keeps its colors on a wall."""
    by_lamp: checking.LightChecked
    """Which matches in pencil hold under other lights."""
    drawn: plans.PlanShown
    """A drawing, planned and made from both ranges."""
    right: float
    """Share of its pixels that the plan has in the value step in which they were drawn."""


CHI_SQUARE_80 = 4.6416
"""80 % point of chi-square with 3 degrees of freedom (computed: scipy.stats.chi2.ppf(.8, 3))."""


def run_demo(
    request: RunDemo, *, watch: Watch | None = None, tell: Callable[[str], None] = lambda _: None
) -> DemoDone:
    """Run the demo.

    `tell`: told what comes next, a sentence for each stage. Raises `BadFileError` when the folder
    holds somebody's files.
    """
    folder = claim_folder(request.folder)
    library = open_named(str(folder / "library.db"))
    try:
        tell(f"Importing the swatches of {shipped.TEACHERS_RANGE} and {shipped.STUDENTS_RANGE}…")
        _fill(library, folder)
        tell(f"Fitting both ranges on {shipped.CLASS_PAPER}, and converting the lesson…")
        chart = make_chart(library, _lesson_for(_asking()), watch=watch)
        files = _charts(chart, folder / "chart", request.page)
        tell("Hanging it on a wall, and asking how long its colors last there…")
        on_a_wall, hung = _hang(library, folder, chart, _asking(), page=request.page)
        files += hung
        tell(f"Converting it to {shipped.PENCIL_RANGE}, for a student who has those pencils…")
        asked = _asking(PENCIL_KIT, PENCIL_STEPS)
        in_pencil = make_chart(library, _lesson_for(asked), watch=watch)
        files += _charts(in_pencil, folder / "chart in pencil", request.page)
        tell("Looking at that by lamp light and other lights…")
        by_lamp, seen = _look_by_lamp(library, folder, in_pencil, asked, page=request.page)
        files += seen
        tell("Planning a drawing of it, making that from both ranges, and printing it…")
        asked = _asking(steps=PICTURE_STEPS)
        drawn, right, drawings = _run_picture(library, folder, asked, page=request.page)
        files += drawings
        tell("Converting it to both, for one who lays pencil over marker…")
        in_both = make_chart(library, _lesson_for(_asking(BOTH_KIT, PENCIL_STEPS)), watch=watch)
        files += _charts(in_both, folder / "chart in both", request.page)
        files += _further(library, folder, request, watch=watch, tell=tell)
    finally:
        library.close()
    tell("Printing a sheet, having it colored in and photographed, and going on from that…")
    from_sheet, read, read_off, sheets = _run_sheet(folder, page=request.page)
    files += sheets
    tell("Simulating what these recipes would truly look like; this takes a while…")
    return DemoDone(
        chart=chart,
        files=files,
        library=folder / "library.db",
        missed=_missed(chart.matches, truth.misses),
        in_pencil=in_pencil,
        missed_in_pencil=_missed(in_pencil.matches, truth.film_misses),
        in_both=in_both,
        missed_in_both=_missed(in_both.matches, truth.mixed_misses),
        from_sheet=from_sheet,
        missed_from_sheet=_missed(from_sheet.matches, truth.misses),
        cells=len(read.cells),
        taken=read.taken,
        read_off=read_off,
        said_off=read.pages[0].accuracy.mean,
        on_a_wall=on_a_wall,
        by_lamp=by_lamp,
        drawn=drawn,
        right=right,
    )


def _further(
    library: Library,
    folder: Path,
    request: RunDemo,
    *,
    watch: Watch | None,
    tell: Callable[[str], None],
) -> tuple[Path, ...]:
    """Make what is asked for besides: the whole range, and what a class needs."""
    files: tuple[Path, ...] = ()
    if request.whole_range:
        tell(f"Converting all of {shipped.TEACHERS_RANGE}…")
        title = f"{shipped.TEACHERS_RANGE} from {shipped.STUDENTS_RANGE}"
        wanted = MakeChart(
            title, range=shipped.TEACHERS_RANGE, asking=_asking(), notes=(ALL_INVENTED,)
        )
        everything = make_chart(library, wanted, watch=watch)
        files += _charts(everything, folder / "whole range", request.page)
    if request.for_class:
        tell("Going on to a class: the lesson as a whole, its pack, runs and supplies…")
        files += _run_class(library, folder, page=request.page, watch=watch)
    return files


def _fill(library: Library, folder: Path) -> None:
    swatches, fastness = (*shipped.SWATCH_FILES, *shipped.FILM_FILES), shipped.LIGHTFASTNESS_FILE
    for name in (*swatches, shipped.LESSON_FILE, fastness):
        (folder / name).write_bytes(shipped.read_bytes(name))
    files = (GivenFile(shipped.read_bytes(name), str(folder / name)) for name in swatches)
    import_swatches(library, ImportSwatches(tuple(files)))
    lightfastness.import_lightfastness(library, shipped.read_bytes(fastness), fastness)
    markers, pencils = shipped.STUDENTS_RANGE, shipped.PENCIL_RANGE
    kits = {KIT: (markers,), PENCIL_KIT: (pencils,), BOTH_KIT: (markers, pencils)}
    for kit, ranges in kits.items():
        create_kit(library, kit)
        own_colorants(library, kit, ranges=ranges)


def _asking(kit: str = KIT, steps: int = 3) -> Asking:
    return Asking(Supplies(kit=kit, paper=shipped.CLASS_PAPER), steps=steps)


def _lesson_for(asking: Asking, title: str = shipped.LESSON) -> MakeChart:
    content, notes = shipped.read_bytes(shipped.LESSON_FILE), (ALL_INVENTED,)
    return MakeChart(title, file=content, source=shipped.LESSON_FILE, asking=asking, notes=notes)


def _charts(chart: Chart, path: Path, page: str) -> tuple[Path, ...]:
    return _in_forms(path, FORMS, lambda form: write_chart(chart, form, page))


def _missed(
    matches: tuple[Match, ...],
    against: Callable[[list[Recipe], FloatArray], tuple[FloatArray, FloatArray]],
) -> Missed:
    predictions = [m.best.prediction for m in matches]
    labs = np.array([p.lab for p in predictions])
    true, missed = against([p.recipe for p in predictions], labs)
    off = true - labs
    distances = [
        float(d @ np.linalg.solve(p.covariance, d)) for d, p in zip(off, predictions, strict=True)
    ]
    inside = sum(distance <= CHI_SQUARE_80 for distance in distances)
    return Missed(len(predictions), float(missed.mean()), float(missed.max()), inside)
