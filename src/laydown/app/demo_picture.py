"""The demo plans a drawing of its lemons, has it made from both ranges, and prints it."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from laydown.app.match_color import Asking
from laydown.app.opening import Library
from laydown.app.paint_plan import PaintPlan, paint_plan
from laydown.app.plan_files import PictureFile, planned, write_plan
from laydown.app.print_plan import PrintPlan, print_plan
from laydown.demo.files import LESSON, TEACHERS_RANGE
from laydown.demo.lemons import Drawing, draw_lemons, lemons_png
from laydown.plan.picture import Lost, PicturePlan
from laydown.plan.picture_edits import Assign, edited

DRAWING, PLAN, PREVIEW = "drawing.png", "drawing.plan", "drawing from two kits.png"
PRINTED = "drawing to color in.pdf"
ROWS, COLUMNS = 320, 480
"""Of the drawing: enough for its regions, and quick."""
WHITE = "value:8.8@2%,2%,20%,15%"
"""What is of known color in it: the wall, at the upper left."""


@dataclass(frozen=True, slots=True)
class PictureStory:
    """What became of the drawing.

    Parameters
    ----------
    colors, regions
        Of its plan.
    right
        Share of the pixels that the plan has in the value step in which they were drawn.
    student, teacher
        What each kit's picture lacks against the plan.
    files
        The drawing, its plan, the preview, and the plan printed with the student's recipes.
    """

    colors: int
    regions: int
    right: float
    student: Lost
    teacher: Lost
    files: tuple[Path, ...]


def demo_drawing() -> PictureFile:
    """Return the demo's drawing, to be planned by the white that is known in it."""
    return _file_of(draw_lemons(rows=ROWS, columns=COLUMNS))


def _file_of(drawing: Drawing) -> PictureFile:
    return PictureFile(lemons_png(drawing), DRAWING, LESSON, white=(WHITE,))


def run_picture(
    library: Library, folder: Path, asking: Asking, *, page: str, note: str
) -> PictureStory:
    """Draw the lemons, plan the drawing, make it from both kits, and print it with the student's.

    Parameters
    ----------
    library
        The demo's own.
    folder
        Where the files go.
    asking
        For the student's kit.
    page
        Of the printed plan.
    note
        Said among what the plan rests on.
    """
    drawing = draw_lemons(rows=ROWS, columns=COLUMNS)
    request = _file_of(drawing)
    plan = _with_passages(planned(library, request))
    plan = replace(plan, notes=(note, *plan.notes))
    kept = PictureFile(write_plan(plan), PLAN)
    made = paint_plan(library, PaintPlan(kept, asking, (TEACHERS_RANGE,)))
    printed = print_plan(library, PrintPlan(kept, asking, page=page))
    student, teacher = made.shown.kits
    parts = {
        DRAWING: request.file,
        PLAN: kept.file,
        PREVIEW: made.preview,
        PRINTED: printed.document,
    }
    for name, part in parts.items():
        (folder / name).write_bytes(part)
    return PictureStory(
        colors=len(plan.palette),
        regions=len(plan.values.regions),
        right=float(np.mean(_steps(plan) == drawing.step)),
        student=student.lost,
        teacher=teacher.lost,
        files=tuple(folder / name for name in parts),
    )


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
    return edited(plan, [Assign(tuple(n), name) for name, n in named.items() if n])
