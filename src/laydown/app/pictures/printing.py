"""Print a picture's plan: regions with numbers, a list with recipes, an outline to trace."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import PurePath

from laydown.app.encoding import to_json
from laydown.app.matches.colors import Asking
from laydown.app.pictures.painting import PaintingShown, askings, kit_picture, painting_shown
from laydown.app.pictures.plans import PictureFile, plan_of
from laydown.documents.print.outlines import PlacedNumber
from laydown.documents.print.plans import (
    PlanDrawing,
    draw_plan,
    paper_size,
    plan_html,
    plan_svg,
    print_warnings,
    write_plan_pdf,
)
from laydown.errors import BadFileError
from laydown.match.search.found import Watch
from laydown.media.legible import legible
from laydown.plan.picture.picture import PicturePlan
from laydown.store.library import Library

FORMS = ("pdf", "svg", "html", "json")
ONE_KIT = ("pdf", "svg")
"""Forms whose list holds the recipes of one kit."""


@dataclass(frozen=True, slots=True)
class PrintPlan:
    """A plan or a picture, the kits to print recipes of, and how it is printed.

    Parameters
    ----------
    picture
        The plan, or a picture that is planned first.
    asking
        The kit, and how its recipes are looked for; None for a plan without recipes.
    beside
        Names of other kits or ranges side by side with it, in HTML and JSON alone.
    values_only
        Whether hues are free.
    form
        One of `FORMS`.
    page
        A3, A4, A5, Letter, or width x height in millimetres.
    """

    picture: PictureFile
    asking: Asking | None = None
    beside: tuple[str, ...] = ()
    values_only: bool = False
    form: str = "pdf"
    page: str = "A4"


@dataclass(frozen=True, slots=True, eq=False)
class PrintShown:
    """What is printed, in words and numbers.

    Parameters
    ----------
    painting
        The plan, and each kit's recipes.
    page
        Width and height of the sheet with the drawing [mm].
    scale
        Of the drawing against the size that was planned.
    numbers
        Where they stand, from the picture's upper left corner [mm].
    warnings
        What is to be said of the print.
    """

    painting: PaintingShown
    page: tuple[float, float]
    scale: float
    numbers: tuple[PlacedNumber, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class PlanPrinted:
    """What is printed, and the document."""

    shown: PrintShown
    document: bytes


def plan_form(name: str) -> str:
    """Return the form that a file's name asks for by its ending.

    Raises
    ------
    BadFileError
        For an ending that a plan is not printed in.

    Examples
    --------
    >>> plan_form("lemons.SVG")
    'svg'
    """
    ending = PurePath(name).suffix.lower().lstrip(".")
    if ending in FORMS:
        return ending
    raise BadFileError(
        f"{name}: a plan can't be printed as {'.' + ending if ending else 'a file of no kind'}.",
        hint=f"End the name in {', '.join('.' + form for form in FORMS)}.",
    )


def print_plan(
    library: Library | None, request: PrintPlan, *, watch: Watch | None = None
) -> PlanPrinted:
    """Print a picture's plan.

    Parameters
    ----------
    library
        Where supplies and swatches are; None where neither recipes nor a paper are asked for.
    request
        What to print, and how.
    watch
        Told (done, total) in colors as recipes are looked for; may raise to cancel.

    Raises
    ------
    BadFileError
        For a paper that is not known, or several kits on one printed list.
    """
    paper = paper_size(request.page)
    if request.beside and request.form in ONE_KIT:
        raise BadFileError(
            "A printed list holds the recipes of one kit.",
            hint="Print one kit at a time, or have several side by side as HTML.",
            command="-o plan.html",
        )
    asked = _asked(library, request)
    plan = _with_kits(library, plan_of(library, request.picture), request, asked, watch)
    drawing = draw_plan(plan, paper)
    shown = PrintShown(
        painting_shown(plan),
        drawing.page.size,
        drawing.page.scale,
        drawing.numbers,
        print_warnings(drawing),
    )
    return PlanPrinted(shown, _document(plan, drawing, shown, request.form))


def _asked(library: Library | None, request: PrintPlan) -> tuple[Asking, ...]:
    if library is None or request.asking is None:
        return ()
    return askings(library, request.asking, request.beside)


def _with_kits(
    library: Library | None,
    plan: PicturePlan,
    request: PrintPlan,
    asked: Sequence[Asking],
    watch: Watch | None,
) -> PicturePlan:
    if library is None or not asked:
        return plan
    kits = tuple(
        kit_picture(library, plan, asking, values_only=request.values_only, watch=watch)
        for asking in asked
    )
    return replace(plan, kits=kits)


def _document(plan: PicturePlan, drawing: PlanDrawing, shown: PrintShown, form: str) -> bytes:
    if form == "pdf":
        return write_plan_pdf(plan, drawing)
    if form == "svg":
        return legible(plan_svg(plan, drawing)).encode()
    if form == "html":
        return legible(plan_html(plan, drawing)).encode()
    return (to_json(shown) + "\n").encode()
