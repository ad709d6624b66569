"""The student without an instrument: print, color in, photograph, read, and go on from it."""

import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image

from laydown.app.import_swatches import ImportSwatches, SwatchFile, import_swatches
from laydown.app.make_chart import MakeChart, make_chart
from laydown.app.match_color import Asking
from laydown.app.opening import Library, open_named
from laydown.app.print_sheet import PrintSheet, draw_sheet, print_sheet
from laydown.app.read_sheet import PictureFile, ReadSheet, SheetRead, read_sheet
from laydown.app.supplies import Supplies
from laydown.app.write_chart import WriteChart, write_chart
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.demo.colored_sheet import colored_and_photographed, true_spectra
from laydown.demo.files import CLASS_PAPER, LESSON_FILE, STUDENTS_RANGE, read_bytes, read_rows
from laydown.imaging.files import open_photographs
from laydown.media.colorant import Colorant
from laydown.plan.chart import Chart
from laydown.sheet.sheet import Sheet

LIBRARY = "library from a sheet.db"
SHEET, PHOTOGRAPH, PROOF, CHART = "sheet.pdf", "photograph.jpg", "proof.png", "from a sheet.pdf"
QUALITY = 90


@dataclass(frozen=True, slots=True, eq=False)
class SheetStory:
    """How the student with the sheet fared.

    Parameters
    ----------
    cells, taken
        How many cells were read, and taken over.
    read_off
        Mean CIEDE2000 between what was read and what an even hand would have laid: reading, hand
        and streaks together.
    chart
        The lesson, converted from what was read.
    files
        Sheet, photograph, proof and chart.
    """

    cells: int
    taken: int
    read_off: float
    chart: Chart
    files: tuple[Path, ...]


def run_sheet(folder: Path, *, title: str, notes: tuple[str, ...], page: str) -> SheetStory:
    """Print a kit sheet of the student's range, have it colored in and photographed, and read it.

    Parameters
    ----------
    folder
        The demo's own.
    title, notes, page
        Of the chart.
    """
    for old in folder.glob(f"{LIBRARY}*"):
        old.unlink()
    library = open_named(str(folder / LIBRARY))
    try:
        sheet = _printed(library, folder)
        read = _read(library, folder, sheet)
        chart = make_chart(library, _lesson(title, notes))
    finally:
        library.close()
    (folder / CHART).write_bytes(write_chart(WriteChart(chart, "pdf", page)))
    files = tuple(folder / name for name in (SHEET, PHOTOGRAPH, PROOF, CHART))
    return SheetStory(len(read.cells), read.taken, _off(sheet, read), chart, files)


def _printed(library: Library, folder: Path) -> Sheet:
    """Take in the teacher's swatches alone, and print a sheet for the student's kit."""
    teachers = "estuary_on_gannet_smooth.csv"
    import_swatches(library, ImportSwatches((SwatchFile(read_bytes(teachers), teachers),)))
    with library.work("name the student's markers") as work:
        work.add_colorants(_students())
    asked = PrintSheet("kit", Asking(Supplies(ranges=(STUDENTS_RANGE,), paper=CLASS_PAPER)))
    sheet = print_sheet(library, asked).sheet
    (folder / SHEET).write_bytes(draw_sheet(library, sheet))
    return sheet


def _students() -> list[Colorant]:
    return [
        Colorant(row["color"], row["range"], blender=row["blender"] == "yes")
        for row in read_rows("colorants.csv")
        if row["range"] == STUDENTS_RANGE
    ]


def _read(library: Library, folder: Path, sheet: Sheet) -> SheetRead:
    printed = next(open_photographs((folder / SHEET).read_bytes(), source=SHEET)).pixels
    content = io.BytesIO()
    picture = colored_and_photographed(sheet, printed)
    Image.fromarray(picture).save(content, "JPEG", quality=QUALITY)
    (folder / PHOTOGRAPH).write_bytes(content.getvalue())
    read = read_sheet(library, ReadSheet((PictureFile(content.getvalue(), PHOTOGRAPH),)))
    (folder / PROOF).write_bytes(read.pages[0].proof)
    return read


def _lesson(title: str, notes: tuple[str, ...]) -> MakeChart:
    return MakeChart(
        title=f"{title}, from a photographed sheet",
        file=read_bytes(LESSON_FILE),
        source=LESSON_FILE,
        asking=Asking(Supplies(ranges=(STUDENTS_RANGE,), paper=CLASS_PAPER)),
        notes=notes,
    )


def _off(sheet: Sheet, read: SheetRead) -> float:
    colored = [cell for cell in sheet.cells if not cell.bare]
    true = lab_from_reflectance(true_spectra(colored))
    by_number = {cell.number: cell.lab for cell in read.cells}
    return float(ciede2000(np.array([by_number[c.number] for c in colored]), true).mean())
