"""Print a picture's plan: regions with numbers, a list with recipes, an outline to trace."""

from dataclasses import dataclass, replace
from pathlib import PurePath

from laydown.app.encoding import to_json
from laydown.app.match_color import Asking
from laydown.app.paint_plan import kit_picture
from laydown.app.plan_files import PictureFile, plan_of
from laydown.documents import plan_rows
from laydown.documents.outlines import WITHIN
from laydown.documents.plan_drawing import Drawing, draw_plan, print_warnings
from laydown.documents.plan_html import plan_html
from laydown.documents.plan_numbers import PlacedNumber
from laydown.documents.plan_page import paper_size
from laydown.documents.plan_pdf import write_plan_pdf
from laydown.documents.plan_rows import PlanRow
from laydown.documents.plan_svg import plan_svg
from laydown.errors import BadFileError
from laydown.match.search import Watch
from laydown.plan.picture import PicturePlan
from laydown.store.library import Library

FORMS = ("pdf", "svg", "html", "json")


@dataclass(frozen=True, slots=True)
class PrintPlan:
    """A plan or a picture, the kits to print recipes of, and how it is printed.

    Parameters
    ----------
    picture
        The plan, or a picture that is planned first.
    askings
        For each kit, how its recipes are looked for; none for a plan without recipes. Several
        stand side by side in HTML and JSON alone.
    form
        One of `FORMS`.
    page
        A3, A4, A5, Letter, or width x height in millimetres.
    within
        How far a printed line may lie from the plan's own borders [mm].
    values_only
        Whether hues are free.
    """

    picture: PictureFile
    askings: tuple[Asking, ...] = ()
    form: str = "pdf"
    page: str = "A4"
    within: float = WITHIN
    values_only: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class KitPrinted:
    """One kit's recipes as they are printed, and what is lost with them; no name without a kit."""

    kit: str
    paper: str
    rows: tuple[PlanRow, ...]
    losses: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class PrintShown:
    """What is printed, in words and numbers.

    Parameters
    ----------
    title, size
        What it is called, and how large it is, in words.
    page
        Width and height of the sheet with the drawing [mm].
    scale
        Of the drawing against the size that was planned.
    numbers
        Where they stand, from the picture's upper left corner [mm].
    kits
        The list, for each kit.
    warnings, notes
        What is to be said of the print, and of the plan.
    """

    title: str
    size: str
    page: tuple[float, float]
    scale: float
    numbers: tuple[PlacedNumber, ...]
    kits: tuple[KitPrinted, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class PlanPrinted:
    """The document, and what is in it."""

    shown: PrintShown
    document: bytes


def plan_form(name: str, *, usual: str = "pdf") -> str:
    """Return the form that a file's name asks for by its ending; `usual` for none.

    Examples
    --------
    >>> plan_form("lemons.SVG"), plan_form("-")
    ('svg', 'pdf')
    """
    ending = PurePath(name).suffix.lower().lstrip(".")
    if ending and ending not in FORMS:
        raise BadFileError(
            f"{name}: a plan can't be printed as .{ending}.",
            hint=f"End the name in {', '.join('.' + form for form in FORMS)}, or say --format.",
        )
    return ending or usual


def print_plan(library: Library, request: PrintPlan, *, watch: Watch | None = None) -> PlanPrinted:
    """Print a picture's plan.

    Parameters
    ----------
    library
        Where supplies and swatches are.
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
    if len(request.askings) > 1 and request.form in ("pdf", "svg"):
        raise BadFileError(
            f"A printed list holds the recipes of one kit; {len(request.askings)} are named.",
            hint="Print one at a time, or see them side by side with -o plan.html.",
        )
    plan = plan_of(library, request.picture)
    kits = tuple(
        kit_picture(library, plan, asking, values_only=request.values_only, watch=watch)
        for asking in request.askings
    )
    plan = replace(plan, kits=kits)
    drawing = draw_plan(plan, paper, within=request.within)
    shown = _shown(plan, drawing)
    return PlanPrinted(shown, _document(plan, drawing, shown, request.form))


def _document(plan: PicturePlan, drawing: Drawing, shown: PrintShown, form: str) -> bytes:
    if form == "pdf":
        return write_plan_pdf(plan, drawing)
    if form == "svg":
        return plan_svg(plan, drawing).encode()
    if form == "html":
        return plan_html(plan, drawing).encode()
    return (to_json(shown) + "\n").encode()


def _shown(plan: PicturePlan, drawing: Drawing) -> PrintShown:
    alone = [replace(plan, kits=(kit,)) for kit in plan.kits] or [plan]
    return PrintShown(
        plan.title,
        plan_rows.size_words(plan),
        drawing.page.size,
        drawing.page.scale,
        drawing.numbers,
        tuple(_kit(part) for part in alone),
        print_warnings(drawing),
        plan_rows.notes(plan),
    )


def _kit(plan: PicturePlan) -> KitPrinted:
    kit, paper = (plan.kits[0].kit, plan.kits[0].paper) if plan.kits else ("", "")
    return KitPrinted(kit, paper, plan_rows.plan_rows(plan), plan_rows.losses(plan))
