"""A picture's plan: made, shown, drawn, changed by hand, and turned into a lesson."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import PurePath

import numpy as np

from laydown.app.fits import paper_named
from laydown.app.matches.targets import FORMS_AND_NAMES, settle_targets
from laydown.app.supplies.papers import usual_papers
from laydown.app.tasks import GivenFile
from laydown.app.words import ColorInWords, in_words
from laydown.color.arrays import FloatArray, Pixels
from laydown.color.lab import WHITE_D50, lab_from_xyz, xyz_from_reflectance
from laydown.color.screen import screen_color, screen_pixels
from laydown.color.value import grays, luminance_from_value
from laydown.documents.files import plans as plan_files
from laydown.documents.files.plans import read_plan, write_plan
from laydown.errors import BadColorError, BadEditError, BadFileError
from laydown.imaging import balance
from laydown.imaging.picture import Picture, open_picture
from laydown.imaging.preview import Panel, flat, numbered, soft
from laydown.plan.lesson.lesson import Lesson
from laydown.plan.picture.edits import Edit, edited
from laydown.plan.picture.picture import (
    KitPicture,
    PaletteColor,
    PicturePlan,
    PlanRules,
    Region,
    color_of_regions,
)
from laydown.plan.picture.plan import make_plan
from laydown.plan.picture.recipes import flattened, lesson_of
from laydown.plan.picture.regions import inner_places
from laydown.store.kept_files import KeptPlan
from laydown.store.library import Library

CHART = "chart"


def in_its_light(
    library: Library | None, picture: Picture, white: Sequence[str], *, paper: str = ""
) -> Picture:
    """Balance a picture by what a person names in it.

    Raises `BadFileError` for a text of another form, or a place that tells nothing.

    `library`: where papers are; None is enough where `names_paper` says that none is named.
    `white`: each ``what@where``. What is known: ``paper`` (the one in question) or ``paper NAME``,
    ``gray`` (a gray card of 18 %), a reflectance (``90%``) or a value (``value:5``). Where it is:
    see `laydown.imaging.balance.read_place`. Or ``chart`` alone. Empty for no balance. `paper`: the
    paper in question; empty where the library has only one.
    """
    if not white:
        return balance.unbalanced(picture)
    if CHART in white:
        if len(white) > 1:
            raise BadFileError("A chart tells the light by itself.", hint="Name nothing beside it.")
        return balance.balanced_by_chart(picture)
    return balance.balanced(picture, [_known(library, picture, text, paper) for text in white])


def names_paper(white: Sequence[str]) -> bool:
    """Return whether a paper is named, so that a library is needed.

    >>> names_paper(["gray@10,10", "paper@5%,5%"]), names_paper(["chart"])
    (True, False)
    """
    return any(text.split("@")[0].split()[:1] == ["paper"] for text in white)


def _known(library: Library | None, picture: Picture, text: str, paper: str) -> balance.KnownPlace:
    what, at, where = text.rpartition("@")
    kind, _, name = what.replace(":", " ").strip().partition(" ")
    if at and kind == "paper" and library is not None:
        place = balance.read_place(where, size=picture.size)
        with library.look() as work:
            bare = work.paper(paper_named(work, name.strip() or paper))
        words = f"bare paper, {bare.name}" + ("" if bare.measured else " (not measured)")
        return place, xyz_from_reflectance(bare.reflectance), words
    return balance.read_gray(text, size=picture.size)


__all__ = ["KeptPlan", "PictureFile", "plan_of", "planned", "read_plan", "write_plan"]

LONGEST = 1000
"""A picture is planned at so many pixels on its longer side: finer than a hand can color."""


@dataclass(frozen=True, slots=True)
class PictureFile:
    """A picture, or a plan that was made of one."""

    file: bytes
    source: str
    title: str = ""
    """What to call it; empty for the file's name."""
    rules: PlanRules = field(default_factory=PlanRules)
    white: tuple[str, ...] = ()
    """What is of known color in it, see `laydown.app.pictures.plans.in_its_light`."""
    paper: str = ""
    """The paper that is meant where `white` says only "paper"."""
    page: int = 1
    """Of a PDF or a TIFF, from 1."""


def plan_of(library: Library | None, asked: PictureFile) -> PicturePlan:
    """Return the plan in a file; a picture is planned by the rules first."""
    if plan_files.is_plan(asked.file):
        return read_plan(asked.file, source=asked.source)
    return planned(library, asked)


def planned(library: Library | None, asked: PictureFile) -> PicturePlan:
    """Open a picture, balance its light and plan it; a library is needed if a paper is named.

    Raises `BadFileError` for what is no picture.
    """
    opened = open_picture(asked.file, source=asked.source, longest=LONGEST, page=asked.page)
    picture = in_its_light(library, opened, asked.white, paper=asked.paper)
    title = asked.title or PurePath(asked.source).stem.replace("_", " ")
    return make_plan(
        picture.lab.astype(np.float64),
        asked.rules,
        title=title,
        opaque=picture.opaque,
        notes=picture.notes,
    )


@dataclass(frozen=True, slots=True, eq=False)
class PlanShown:
    """A plan in words and numbers, without its pixels."""

    title: str
    width: float
    height: float
    """On paper [mm]."""
    columns: int
    rows: int
    """Of the plan [pixels]."""
    boundaries: FloatArray
    """Values that part its steps, rising."""
    levels: FloatArray
    """Mean value of each step, the darkest first."""
    palette: tuple[PaletteColor, ...]
    regions: tuple[Region, ...]
    flattened: float
    """Mean CIEDE2000 between the picture and the plan."""
    notes: tuple[str, ...]
    """How it was read and planned."""
    kits: tuple[KitPicture, ...] = ()
    """What kits make of it, where that was asked."""


PlanMade = tuple[PlanShown, bytes, bytes]
"""A plan in words, and as the file is to hold it; and with kits a PNG of all side by side."""


def show_plan(file: bytes, source: str) -> PlanShown:
    """Read a plan file and describe it; no library is needed."""
    return plan_in_words(read_plan(file, source=source))


def plan_in_words(plan: PicturePlan) -> PlanShown:
    """Describe a plan."""
    values = plan.values
    return PlanShown(
        title=plan.title,
        width=values.width,
        height=values.height,
        columns=values.labels.shape[1],
        rows=values.labels.shape[0],
        boundaries=values.boundaries,
        levels=values.levels,
        palette=plan.palette,
        regions=values.regions,
        flattened=flattened(plan),
        notes=plan.notes,
        kits=plan.kits,
    )


def plan_picture(library: Library | None, request: PictureFile) -> PlanMade:
    """Plan a photograph or a drawing.

    `library`: knows the papers that may be named for its light; None where none is named. Raises
    `BadFileError` for what is no picture, or none that can be planned.
    """
    plan = planned(library, request)
    return plan_in_words(plan), write_plan(plan), b""


def edit_plan(
    file: bytes, source: str, edits: Sequence[Edit] = (), *, changes: GivenFile | None = None
) -> PlanMade:
    """Change a plan; all of the changes or none of them.

    `changes`: a text file with further changes, a line each; None for none. Raises `BadFileError`
    for what is no plan, or a line that is no change; `BadEditError` for a change that can't be
    made.
    """
    plan = read_plan(file, source=source)
    further = plan_files.read_changes(changes.content, source=changes.source) if changes else ()
    changed = edited(plan, [*edits, *further])
    return plan_in_words(changed), write_plan(changed), b""


def lesson_from_plan(file: bytes, source: str, *, title: str = "", paper: str = "") -> Lesson:
    """Make a lesson of a plan's file; its colors stay what they are: estimates from a picture.

    Title and paper are what the lesson says at its head; empty for the plan's own, and for none.
    """
    return lesson_of(read_plan(file, source=source), title=title, paper=paper)


def panels(plan: PicturePlan) -> tuple[tuple[Panel, ...], ...]:
    """Return two rows of panels: in color, and below it in values only."""
    wanted = np.array([color.lab for color in plan.palette])
    made = [("The plan", wanted, False)]
    made += [(f"From {k.kit} on {k.paper}", k.shown, k.values_only) for k in plan.kits]
    seen = plan.seen.astype(np.float64)
    top = [("The picture", screen_pixels(seen))]
    bottom = [("Its values", screen_pixels(grays(seen)))]
    for title, labs, values_only in made:
        gray = f"{title}, values only"
        top.append((gray if values_only else title, plan_pixels(plan, labs)))
        bottom.append((gray, plan_pixels(plan, grays(labs))))
    return tuple(top), tuple(bottom)


def plan_pixels(plan: PicturePlan, labs: FloatArray) -> Pixels:
    """Return the plan in given colors, white where nothing is colored."""
    table = [bytes.fromhex(fill[1:]) for fill in ("#ffffff", *map(screen_color, labs))]
    colors = color_of_regions(plan.values)[plan.values.labels]
    return np.array([list(color) for color in table], dtype=np.uint8)[colors]


def draw_plan(file: bytes, source: str) -> bytes:
    """Return a PNG of the plan: each region in its color, outlined, with its own number in it."""
    return with_numbers(read_plan(file, source=source))


def with_numbers(plan: PicturePlan, *, values_only: bool = False) -> bytes:
    """Draw a plan that is read already; in values only where that is asked for."""
    labs = np.array([color.lab for color in plan.palette])
    pixels = plan_pixels(plan, grays(labs) if values_only else labs)
    return numbered(pixels, plan.values.labels, inner_places(plan.values.labels))


POINTED_AT = 900
"""Longer side of a picture that places are pointed at in [pixels]."""


def picture_itself(plan: PicturePlan, *, values_only: bool = False) -> bytes:
    """Return what was planned, to be looked at, as a WebP."""
    return soft(screen_pixels(grays(plan.seen) if values_only else plan.seen))


def in_steps(plan: PicturePlan) -> bytes:
    """Return the value plan, as a PNG: each region in the gray of its step."""
    steps = np.array([gray_of_step(float(level)).lab for level in plan.values.levels])
    return flat(plan_pixels(plan, steps[[color.value_step for color in plan.palette]]))


def in_colors(
    plan: PicturePlan, labs: FloatArray | None = None, *, values_only: bool = False
) -> bytes:
    """Return the plan, as a PNG.

    `labs`: shape (colors, 3), what a kit makes of its palette; None for the palette itself.
    `values_only`: whether each color is shown by the gray of its value.
    """
    shown = np.array([color.lab for color in plan.palette]) if labs is None else labs
    return flat(plan_pixels(plan, grays(shown) if values_only else shown))


def map_of_regions(plan: PicturePlan) -> bytes:
    """Return which region each pixel belongs to, as a PNG: its number is 256 × red + green."""
    labels = plan.values.labels
    return flat(np.stack([labels >> 8, labels & 255, 0 * labels], axis=-1).astype(np.uint8))


def gray_of_step(level: float) -> ColorInWords:
    """Describe the gray of a value.

    >>> round(gray_of_step(5.0).value, 3)
    5.0
    """
    luminance = luminance_from_value(np.clip(level, 0.0, 10.0))
    return in_words(lab_from_xyz(luminance / 100.0 * WHITE_D50))


def picture_sent(asked: PictureFile) -> bytes:
    """Return a picture that is to be planned, as a WebP, to point at places in it.

    Raises `BadFileError` for what is no picture.
    """
    opened = open_picture(asked.file, source=asked.source, longest=POINTED_AT, page=asked.page)
    return soft(
        screen_pixels(balance.unbalanced(opened).lab.astype(np.float64)), longest=POINTED_AT
    )


AT_HAND = 4
"""How many plans stay open: each takes some 20 MB, and opening one takes longer than a page may."""
KEPT = "the plan that is kept"


@lru_cache(AT_HAND)
def opened(file: bytes) -> PicturePlan:
    """Open a plan's file; those looked at last stay open."""
    return read_plan(file, source=KEPT)


@lru_cache(AT_HAND)
def told(file: bytes) -> PlanShown:
    """Put a plan's file into words, as `show_plan` does; those looked at last stay at hand."""
    return plan_in_words(opened(file))


def keep_plan(library: Library, file: bytes, *, source: str) -> KeptPlan:
    """Keep a plan.

    Raises `BadFileError` for what is no plan; `TooLargeError` where there is no room for it.
    """
    plan = read_plan(file, source=source)
    with library.work("keep a plan") as work:
        return work.plans.keep(file, title=plan.title or source)


def kept_plans(library: Library) -> tuple[KeptPlan, ...]:
    """Return the plans that are kept, the one changed last first."""
    with library.look() as work:
        return work.plans.all()


def kept_plan(library: Library, number: int) -> KeptPlan:
    """Return what is known of a plan that is kept."""
    with library.look() as work:
        return work.plans.get(number)


def kept_file(library: Library, number: int) -> bytes:
    """Return the file of a plan that is kept, as it is now."""
    with library.look() as work:
        return work.plans.file(number)


def number_of(library: Library, file: bytes) -> int | None:
    """Return the number of the plan that is kept as this very file; None where none is any more."""
    with library.look() as work:
        found = work.plans.find(file)
    return found.number if found else None


def change_plan(library: Library, number: int, revision: int, edit: Edit | None) -> KeptPlan:
    """Change a plan that is kept, or take back what was changed last.

    `edit`: what to change; None to take back what was changed last. Raises `BadEditError` for a
    change that can't be made, or one to a plan that has changed meanwhile.
    """
    with library.look() as work:
        kept = work.plans.get(number)
        file = work.plans.file(number) if edit else work.plans.begun(number)
    if edit:
        lines = (*kept.changes, plan_files.change_in_words(edit))
        changed = write_plan(edited(opened(file), [edit]))
    else:
        if not kept.changes:
            raise BadEditError(f"Nothing was changed in “{kept.title}” yet.")
        lines, changed = kept.changes[:-1], file
        if lines:
            _, changed, _ = edit_plan(file, KEPT, changes=GivenFile(text_of(lines), KEPT))
    with library.work("change a plan") as work:
        return work.plans.change(number, changed, lines, revision=revision)


def painted(library: Library, numbers: tuple[int, ...], color: str, to: str = "") -> Edit:
    """Return what gives regions a color, or a run of even steps from it to another.

    Raises `BadColorError` for what is no color.

    `library`: knows the colorants that names stand for, as they are on the paper one usually works
    on. `numbers`: of the regions, in the order of the run. `color`, `to`: in any form in which a
    color can be wanted; empty `to` for no run.
    """
    ends = list(filter(None, (color.strip(), to.strip())))
    if not color.strip():
        raise BadColorError("No color was named.", hint=FORMS_AND_NAMES)
    *_, usual = usual_papers(library)
    targets = settle_targets(library, ends, paper=usual)
    first, *last = (tuple(target.lab.round(2).tolist()) for target in targets)
    return Edit("color", numbers, lab=first, to=last[0] if last else None)


def text_of(lines: tuple[str, ...]) -> bytes:
    r"""Write changes as the file that `read_changes` reads.

    >>> text_of(("merge 3 4", "split 7"))
    b'merge 3 4\nsplit 7\n'
    """
    return "".join(f"{line}\n" for line in lines).encode()


def forget_plan(library: Library, number: int) -> KeptPlan:
    """Put a plan away; undo brings it back."""
    with library.work("put a plan away") as work:
        return work.plans.remove(number)
