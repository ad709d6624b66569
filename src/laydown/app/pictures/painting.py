"""A picture as kits would make it: recipes for its palette, what is lost, and printed to color."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from laydown.app.crew import Worker, each
from laydown.app.encoding import to_json
from laydown.app.fits import SuppliesAtHand, look_up, set_up
from laydown.app.matches.colors import Asking, find_matches, question_of, short_limits
from laydown.app.pictures import plans
from laydown.color.naming import color_name
from laydown.color.screen import SCREEN_DEVIATION
from laydown.documents.print import plans as prints
from laydown.documents.print.outlines import PlacedNumber
from laydown.errors import BadFileError
from laydown.imaging.preview import side_by_side
from laydown.match.acceptance import may_pass
from laydown.match.judge import candidate_of
from laydown.match.outcome import Candidate, Match, Origin, Target, Verdict
from laydown.match.question import Question, best_of
from laydown.match.ranking import Watch
from laydown.match.search.repertoire import Repertoire, repertoire
from laydown.match.search.sense import for_area
from laydown.match.words import difference
from laydown.media.legible import legible
from laydown.plan.picture.picture import KitPicture, PicturePlan
from laydown.plan.picture.recipes import lost
from laydown.store.library import Library

HALF = 0.5
"""A value off by more than half a step is not that value any more (chosen)."""
BY_VALUE = (
    "Values alone were matched, in whatever hue the kit holds: the recipe that comes nearest in "
    "value for what it asks, then the one nearest in color. The picture shows grays."
)
HARDLY = 20.0
"""Where values alone are matched, chroma and hue count by a twentieth: a hue that is off by 20
counts as much as a twentieth of a value step (chosen)."""


FORMS = ("pdf", "svg", "html", "json")
ONE_KIT = ("pdf", "svg")
"""Forms whose list holds the recipes of one kit."""


@dataclass(frozen=True, slots=True)
class PaintPlan:
    """A plan or a picture, the kits to make it from, and how it is printed."""

    picture: plans.PictureFile
    """The plan, or a picture that is planned first."""
    asking: Asking | None = None
    """The kit, and how its recipes are looked for; None to print a plan without recipes."""
    beside: tuple[str, ...] = ()
    """Names of other kits or ranges side by side with it, asked in the same way; in print in HTML
    and JSON alone."""
    values_only: bool = False
    form: str = "pdf"
    """One of `FORMS`."""
    page: str = "A4"
    """A3, A4, A5, Letter, or width x height in millimetres."""


def paint_plan(
    library: Library, request: PaintPlan, *, watch: Watch | None = None
) -> plans.PlanMade:
    """Find recipes for a picture's palette from each kit, and show what they make of it."""
    whole = _with_kits(library, request, watch)
    return plans.plan_in_words(whole), plans.write_plan(whole), side_by_side(plans.panels(whole))


def askings(library: Library, asking: Asking, beside: Sequence[str]) -> tuple[Asking, ...]:
    """Return the question for a kit and for each other beside it; a name of no kit is a range.

    All that they name is looked up.
    """
    asked, own = [asking], asking.supplies
    with library.look() as work:
        kits = {kit.name.casefold() for kit in work.kits()}
        for name in beside:
            if name.casefold() in kits:
                supplies = replace(own, kit=name, ranges=())
            else:
                supplies = replace(own, kit="", ranges=(work.find_range(name).name,))
            asked.append(replace(asking, supplies=supplies))
    for one in asked:
        look_up(library, one.supplies)
    return tuple(asked)


def kit_picture(
    library: Library,
    plan: PicturePlan,
    asking: Asking,
    *,
    values_only: bool = False,
    watch: Watch | None = None,
) -> KitPicture:
    """Return the picture as one kit would make it."""
    bench = set_up(library, asking.supplies)
    return made_from(bench, plan, asking, values_only=values_only, watch=watch)


def made_from(
    bench: SuppliesAtHand,
    plan: PicturePlan,
    asking: Asking,
    *,
    values_only: bool = False,
    watch: Watch | None = None,
) -> KitPicture:
    """Return the picture as supplies that are set up would make it; see `kit_picture`."""
    targets = targets_of(plan)
    make = partial(_by_value, bench, asking) if values_only else None
    matches = each(make, targets, watch) if make else find_matches(targets, bench, asking, watch)
    far = [
        color.number
        for color, match in zip(plan.palette, matches, strict=True)
        if match.best.verdict is Verdict.OUT_OF_REACH
    ]
    labs = np.array([match.best.prediction.lab for match in matches])
    shared = set.intersection(*(set(match.notes) for match in matches))
    notes = (BY_VALUE,) if values_only else ()
    return KitPicture(
        kit=bench.label,
        paper=bench.whole.paper.name,
        values_only=values_only,
        matches=tuple(matches),
        lost=lost(plan, labs, far),
        notes=(*notes, *(note for note in matches[0].notes if note in shared)),
    )


def targets_of(plan: PicturePlan) -> tuple[Target, ...]:
    """Return the palette as targets; what a camera saw is an estimate."""
    doubt = SCREEN_DEVIATION**2 * np.eye(3)
    return tuple(
        Target(
            f"{color.number} {color_name(color.lab)}",
            color.lab,
            origin=Origin.SCREEN,
            covariance=doubt,
            share=color.share,
        )
        for color in plan.palette
    )


def _by_value(bench: SuppliesAtHand, asking: Asking) -> Worker[Target, Match]:
    """Return what finds a recipe of each value among all short ones, as a match but for hue."""
    ranking = replace(asking.ranking, k_C=HARDLY, k_H=HARDLY)
    limits = short_limits(bench, asking)
    held = repertoire(bench.whole, limits=limits, ranking=ranking, over=bench.over)

    def answer(target: Target, watch: Watch | None = None) -> Match:
        asked, ranked = question_of(target, bench, asking), for_area(ranking, target.share)
        question = replace(asked, limits=held.space.limits, ranking=ranked)
        best, single = (_of_value(question, held, steps) for steps in (2, 1))
        return Match(target, best, single, (), len(held), bench.notes)

    return answer


def _of_value(question: Question, held: Repertoire, steps: int) -> Candidate:
    few = np.flatnonzero(np.sum(held.members >= 0, axis=1) <= steps)
    judged = candidate_of(question, held.recipe(best_of(question, held, few)))
    off = abs(judged.difference.value)
    if judged.verdict is Verdict.SAME or (off > HALF and may_pass(judged.acceptance)):
        return judged
    verdict = Verdict.BUT_HUE if off <= HALF else Verdict.OUT_OF_REACH
    told = difference(question.target.lab, judged.prediction.lab, verdict)
    return replace(judged, verdict=verdict, difference=told)


@dataclass(frozen=True, slots=True, eq=False)
class PrintShown:
    """What is printed, in words and numbers."""

    plan: plans.PlanShown
    """With each kit's recipes."""
    page: tuple[float, float]
    """Width and height of the sheet with the drawing [mm]."""
    scale: float
    """Of the drawing against the size that was planned."""
    numbers: tuple[PlacedNumber, ...]
    """Where they stand, from the picture's upper left corner [mm]."""
    warnings: tuple[str, ...]
    """What is to be said of the print."""


def print_plan(
    library: Library | None, request: PaintPlan, *, watch: Watch | None = None
) -> tuple[PrintShown, bytes]:
    """Print a picture's plan; return what is printed in words, and the document.

    `library`: where supplies and swatches are; None where neither recipes nor a paper are asked
    for. Raises `BadFileError` for a paper that is not known, or several kits on one printed list.
    """
    paper = prints.paper_size(request.page)
    if request.beside and request.form in ONE_KIT:
        raise BadFileError(
            "A printed list holds the recipes of one kit.",
            hint="Print one kit at a time, or have several side by side as HTML.",
            command="-o plan.html",
        )
    plan = _with_kits(library, request, watch)
    drawing = prints.draw_plan(plan, paper)
    shown = PrintShown(
        plans.plan_in_words(plan),
        drawing.size,
        drawing.scale,
        drawing.numbers,
        prints.print_warnings(drawing),
    )
    return shown, _document(plan, drawing, shown, request.form)


def _with_kits(library: Library | None, request: PaintPlan, watch: Watch | None) -> PicturePlan:
    """Return the plan asked for with what each kit makes of it, all looked up before it is read."""
    asked: tuple[Asking, ...] = ()
    if library is not None and request.asking is not None:
        asked = askings(library, request.asking, request.beside)
    plan = plans.plan_of(library, request.picture)
    if library is None:
        return plan
    values_only = request.values_only
    kits = (kit_picture(library, plan, one, values_only=values_only, watch=watch) for one in asked)
    return replace(plan, kits=tuple(kits))


def _document(
    plan: PicturePlan, drawing: prints.PlanDrawing, shown: PrintShown, form: str
) -> bytes:
    if form == "pdf":
        return prints.write_plan_pdf(plan, drawing)
    if form == "svg":
        return legible(prints.plan_svg(plan, drawing)).encode()
    if form == "html":
        return legible(prints.plan_html(plan, drawing)).encode()
    return (to_json(shown) + "\n").encode()
