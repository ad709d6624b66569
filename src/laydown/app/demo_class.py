"""The demo goes on to a class: its lesson as a file, as a whole, as a pack, and what to buy."""

from pathlib import Path

from laydown.app.choose_kit import ChooseKit, LessonFile, choose_kit
from laydown.app.compare_ranges import CompareRanges, compare_ranges
from laydown.app.convert_lesson import ConvertLesson, convert_lesson
from laydown.app.list_runs import ListRuns, list_runs
from laydown.app.match_color import Asking
from laydown.app.new_lesson import NewLesson, new_lesson
from laydown.app.opening import Library
from laydown.app.pack_lesson import PackLesson, pack_lesson, write_pack
from laydown.app.supplies import Supplies
from laydown.app.write_chart import WriteChart, write_chart
from laydown.app.write_report import Result, WriteReport, write_report
from laydown.demo.files import (
    CLASS_PAPER,
    LESSON,
    LESSON_FILE,
    STUDENTS_RANGE,
    TEACHERS_RANGE,
    read_bytes,
)
from laydown.match.found import Watch

SECONDS = 20.0
"""How long the demo tries to prove its kit."""


def run_class(
    library: Library, folder: Path, *, note: str, page: str = "A4", watch: Watch | None = None
) -> tuple[Path, ...]:
    """Take the demo's lesson through all that is done for a class.

    Parameters
    ----------
    library
        The demo's own, with both ranges in it.
    folder
        Where the files go.
    note
        Said at the head of the lesson.
    page
        Of the PDFs.
    watch
        Told (done, total) as colors are matched; may raise to cancel.

    Returns
    -------
    tuple of Path
        The lesson file, the lesson as a whole, the pack twice, runs, ranges compared, supplies.
    """
    asked = NewLesson(read_bytes(LESSON_FILE), LESSON_FILE, LESSON, CLASS_PAPER, (note,))
    text = new_lesson(library, asked).text.encode()
    students = Supplies(ranges=(STUDENTS_RANGE,), paper=CLASS_PAPER)
    asking = Asking(students)
    whole = convert_lesson(
        library, ConvertLesson(text, LESSON, asking, 1, (TEACHERS_RANGE,)), watch=watch
    )
    packed = pack_lesson(library, PackLesson(text, LESSON, asking), watch=watch)
    runs = list_runs(library, ListRuns(students, shop=(TEACHERS_RANGE,)))
    compared = compare_ranges(library, CompareRanges(TEACHERS_RANGE, STUDENTS_RANGE, CLASS_PAPER))
    for_sale = (TEACHERS_RANGE, STUDENTS_RANGE)
    lesson = LessonFile(text, LESSON)
    choice = ChooseKit((lesson,), for_sale, paper=CLASS_PAPER, seconds=SECONDS)
    chosen = choose_kit(library, choice)
    files = {
        "lesson.txt": text,
        "lesson as a whole.pdf": write_chart(WriteChart(whole.together, "pdf", page)),
        "class pack.pdf": write_pack(packed, "pdf", page),
        "class pack.html": write_pack(packed, "html"),
        "runs.pdf": _report(runs, page),
        "ranges compared.pdf": _report(compared, page),
        "supplies.pdf": _report(chosen, page),
    }
    return tuple(_write(folder / name, content) for name, content in files.items())


def _report(found: Result, page: str) -> bytes:
    return write_report(WriteReport(found, "pdf", page))


def _write(path: Path, content: bytes) -> Path:
    path.write_bytes(content)
    return path
