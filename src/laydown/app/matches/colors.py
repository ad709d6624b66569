"""Recipes for a wanted color, told, found again in tables, answered several ways; and charts."""

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import cache, partial
from pathlib import PurePath
from typing import TypeAlias, TypeVar

import numpy as np

from laydown.app.crew import Worker, each
from laydown.app.encoding import to_json
from laydown.app.fits import Supplies, SuppliesAtHand, look_up, set_up
from laydown.app.matches.targets import FitAtHand, one_coats_of, settle_targets, targets_of_lesson
from laydown.app.supplies.kits import running_low
from laydown.app.supplies.names import marked_invented
from laydown.app.supplies.papers import usual_papers
from laydown.app.supplies.ranges import advice_by_marks
from laydown.app.words import ColorInWords, in_words
from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.documents.files.lessons import FIRST_LINE, lesson_file, read_lesson
from laydown.documents.files.lists import TargetRow, read_targets
from laydown.documents.files.plans import is_plan, read_plan
from laydown.documents.print.charts import chart_csv, chart_html, write_chart_pdf
from laydown.errors import BadRecipeError, LaydownError
from laydown.match import judge
from laydown.match.outcome import Candidate, Match, Target
from laydown.match.question import Question
from laydown.match.ranking import Found, Limits, Ranking, Wanted, Watch, usual_ranking
from laydown.match.search.coloring import ColoredPart
from laydown.match.search.recipes import RecipeSpace
from laydown.match.search.search import Finder, Work, can_be_laid, lay_all, search_once
from laydown.match.search.sense import for_area
from laydown.match.search.tables import can_be_tabled, make_table, search_table
from laydown.media.kit.fit import color_of
from laydown.media.legible import capital, legible, name_key
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Recipe, format_recipe
from laydown.plan.chart import Chart, in_coloring_order, with_layers
from laydown.plan.lesson.lesson import Lesson
from laydown.plan.picture.recipes import lesson_of
from laydown.reference.thresholds import thresholds
from laydown.store.library import Library
from laydown.store.records import TrialEntry

NEAR = 2.25
"""An earlier trial within this of what is wanted would do: half of observers accept it."""


def trials_near(
    trials: Sequence[TrialEntry], lab: FloatArray, *, within: float = NEAR
) -> list[tuple[float, TrialEntry]]:
    """Return the trials that came out near a color, and how far from it, nearest first."""
    if not trials:
        return []
    far = ciede2000(lab_from_reflectance(np.array([t.reflectance for t in trials])), lab)
    order = np.argsort(far, kind="stable").tolist()
    return [(float(far[i]), trials[i]) for i in order if far[i] <= within]


def tried_before(library: Library, lab: FloatArray, *, kit: str, paper: str) -> tuple[str, ...]:
    """Say which trial of a kit on a paper came out nearest to a color, if any came near."""
    with library.look() as work:
        trials = work.notebook.latest()
    wanted = name_key(kit), name_key(paper)
    own = [t for t in trials if (name_key(t.kit), name_key(t.paper)) == wanted]
    near = trials_near(own, lab)
    if not near:
        return ()
    off, nearest = near[0]
    recipe = format_recipe(nearest.recipe)
    return (f"You made this before: trial {nearest.number}, “{recipe}”, came within {off:.1f}.",)


USUAL_K_L = 0.5


@dataclass(frozen=True, slots=True)
class Asking:
    """How a match is looked for and judged; the same for one color and for a chart."""

    supplies: Supplies = field(default_factory=Supplies)
    from_paper: str = ""
    """The paper that a named color is wanted as on; empty for the same paper."""
    steps: int = 3
    coats: int = 3
    """The most steps of a recipe, and the most coats of a step."""
    top: int = 3
    """How many alternatives to give."""
    k_L: float = USUAL_K_L  # noqa: N815  the symbol of the standard
    """How lightness weighs in the ranking; below 1 it weighs more."""
    tolerance: str = "class"
    """Sketch, class or close."""
    step: float | None = None
    coat: float | None = None
    """What each step and each coat adds to the cost of a recipe, in CIEDE2000, 0 or above; None for
    what is usual at the tolerance."""
    prices: tuple[tuple[str, float], ...] = ()
    """What a coat of a colorant adds besides, by its label (``Range/Name``), 0 or above."""
    sense: bool = True
    """Whether the sense of the trade counts (``reference/sense.csv``)."""

    @property
    def ranking(self) -> Ranking:
        """What recipes are ranked by."""
        return usual_ranking(
            self.tolerance,
            k_L=self.k_L,
            step=self.step,
            coat=self.coat,
            prices=self.prices,
            sense=self.sense,
        )


@dataclass(frozen=True, slots=True, eq=False)
class ColorMatched:
    """The answer for one wanted color."""

    kit: str
    paper: str
    tolerance: str
    over: Recipe
    """What lies on the paper already; every recipe here begins with it."""
    target: Target
    wanted: ColorInWords
    best: Candidate
    single: Candidate
    alternatives: tuple[Candidate, ...]
    considered: int
    notes: tuple[str, ...]
    next_swatch: str
    """As the match has them; the notes on supplies stand first, those on marks of pans last."""


def match_color(
    library: Library,
    wanted: str,
    asking: Asking,
    *,
    watch: Watch | None = None,
    finder: Finder | None = None,
) -> ColorMatched:
    """Find the best recipes for a wanted color.

    `finder`: of `laydown.app.matches.colors.Tables`, for a door where many colors are asked of one
    kit.
    """
    wanted_on = paper_of_targets(library, asking)
    at_hand = cache(lambda: set_up(library, asking.supplies))
    (target,) = settle_targets(library, [wanted], paper=wanted_on, fit=lambda: at_hand().swatched)
    bench = at_hand()
    found = find_match(target, bench, asking, watch=watch, finder=finder)
    kit, paper = asking.supplies.kit, bench.whole.paper.name
    before = tried_before(library, target.lab, kit=kit, paper=paper)
    recipe = found.best.prediction.recipe
    advised = running_low(library, kit, recipe) + advice_by_marks(library, recipe)
    return _told(replace(found, notes=before + found.notes + advised), bench, asking)


def paper_of_targets(library: Library, asking: Asking) -> str:
    """Look up the supplies, and return the name of the paper that named colors are wanted as on."""
    own = look_up(library, asking.supplies).paper
    if not asking.from_paper:
        return own
    with library.look() as work:
        return work.paper_name(asking.from_paper)


def find_match(
    target: Target,
    bench: SuppliesAtHand,
    asking: Asking,
    *,
    watch: Watch | None,
    finder: Finder | None = None,
) -> Match:
    """Search and judge one target with supplies that are set up.

    `finder`: of `laydown.app.matches.colors.Tables`, where many targets are asked of one kit.
    """
    question = replace(question_of(target, bench, asking, finder), watch=watch)
    found = judge.match_of(question, top=asking.top)
    return replace(found, notes=bench.notes + found.notes)


def by_color(bench: SuppliesAtHand, asking: Asking, colors: int) -> Worker[Target, Match]:
    """Return what finds the best recipe of each color, with tables that all of them share."""
    find = Tables(colors).find

    def answer(target: Target, watch: Watch | None = None) -> Match:
        return find_match(target, bench, asking, watch=watch, finder=find)

    return answer


def find_matches(
    targets: Sequence[Target], bench: SuppliesAtHand, asking: Asking, watch: Watch | None = None
) -> list[Match]:
    """Find a match for each color, as `find_match` does for one."""
    return each(partial(by_color, bench, asking, len(targets)), targets, watch)


def short_limits(bench: SuppliesAtHand, asking: Asking) -> Limits:
    """Return what a recipe of up to two steps of two coats may be, within what was asked for."""
    return Limits(steps=min(2, asking.steps), coats=min(2, asking.coats), without=bench.without)


def question_of(
    target: Target, bench: SuppliesAtHand, asking: Asking, finder: Finder | None = None
) -> Question:
    """Return what a match of one target with supplies that are set up asks of them."""
    return Question(
        target,
        bench.whole,
        Limits(steps=asking.steps, coats=asking.coats, without=bench.without),
        for_area(asking.ranking, target.share),
        judge.TOLERANCES[asking.tolerance],
        bench.over,
        finder=finder,
        swatched=bench.swatched,
    )


def _told(found: Match, bench: SuppliesAtHand, asking: Asking) -> ColorMatched:
    return ColorMatched(
        kit=bench.label,
        paper=bench.whole.paper.name,
        tolerance=asking.tolerance,
        over=bench.over,
        target=found.target,
        wanted=in_words(found.target.lab),
        best=found.best,
        single=found.single,
        alternatives=found.alternatives,
        considered=found.considered,
        notes=found.notes,
        next_swatch=found.next_swatch,
    )


NINE_IN_TEN_BELOW = 1.28
"""Normal quantile: a normal value lies within so many deviations in 80 of 100 cases."""
LEAST_SPREAD = 0.05
"""In value steps: less than that is not said of a color laid by hand."""


def color_numbers(color: ColorInWords) -> str:
    """Say a color in numbers, and whether a screen can show it."""
    L, a, b = (round(float(x)) for x in color.lab)
    screen = color.screen if color.on_screen else f"near {color.screen}, but no screen shows it"
    return f"L* {L} a* {a} b* {b} ({screen})"


def surety_words(seen: Candidate) -> str:
    """Say how far the value that comes out may lie from the one predicted."""
    deviation = float(seen.prediction.covariance[0, 0]) ** 0.5 / 10
    spread = max(NINE_IN_TEN_BELOW * deviation, LEAST_SPREAD)
    return f"value ± {spread:.1f} in 80 of 100"


WORTH_A_TABLE = 4
"""For fewer colors one pass for each is sooner done than a table (measured, as the next)."""
RECIPES_A_COLOR = 300_000
"""Of so many more recipes of markers the table is worth its making by another color: 3.6 million
are by 11 colors, 13.7 million by 44, where what lies below the last step is kept (measured)."""
FEWEST_RECIPES = 50_000
"""Fewer than that are searched as soon as a table is looked up."""
MOST_HELD = 500_000_000
"""What the tables of one task together may take in memory [bytes]."""


def key_of(space: RecipeSpace) -> str:
    """Return the hash of all that a table depends on; what it is ranked by is no part of it."""
    content, ground, limits = hashlib.sha256(), space.ground, space.limits
    values = [np.array([limits.steps, limits.coats, space.budget, ground.load, len(ground.media)])]
    values += [ground.base, ground.reflectance, *(ground.pile or ())]
    values += [part for layer in ground.layers for part in layer]
    for tops in space.tops:
        fit, shelf = tops.shelf.fit, tops.shelf
        values += [shelf.k, shelf.s, fit.effects, tops.colorants, tops.coats]
        if isinstance(fit, MarkerFit):
            strength, lifts, blender = fit.strength, fit.lifts, fit.blender
            values += [part[shelf.places] for part in (strength, lifts, blender)]
            values += [fit.ceiling, fit.paper_absorption]
    for value in values:
        content.update(f"{value.shape}".encode() + np.ascontiguousarray(value).tobytes())
    return content.hexdigest()


class Tables:
    """The tables of one task that asks so many colors of a kit: made when they are worth it.

    The answers are those without tables. A kit under other limits, or over something else, has a
    table of its own, made when it is asked a second time; where none is worth it, all steps of its
    recipes but the last are kept from the first time on.
    """

    def __init__(self, colors: int) -> None:
        self.colors, self.asked = colors, set[str]()
        self.held: dict[str, ColoredPart | tuple[Work, ...]] = {}

    def find(self, space: RecipeSpace, wanted: Wanted, watch: Watch | None) -> Found:
        """Find the best recipes for one color, see `laydown.match.search.search.Finder`."""
        kept = self._kept(space, watch)
        if isinstance(kept, ColoredPart):
            return search_table(kept, space, wanted, watch)
        return search_once(space, wanted, watch, laid=kept)

    def _kept(self, space: RecipeSpace, watch: Watch | None) -> ColoredPart | tuple[Work, ...]:
        laid = self.colors > 1 and can_be_laid(space)
        worth = max(WORTH_A_TABLE, laid * space.considered / RECIPES_A_COLOR)
        tabled = self.colors >= worth and can_be_tabled(space)
        if space.considered < FEWEST_RECIPES or not (tabled or laid):
            return ()
        key = key_of(space)
        has_room = sum(map(_size_of, self.held.values())) < MOST_HELD
        # a first search would lay the same, but for what is too dear
        if key not in self.held and (key in self.asked or not tabled) and has_room:
            self.held[key] = make_table(space, watch=watch) if tabled else lay_all(space)
        self.asked.add(key)
        return self.held.get(key, ())


def _size_of(kept: ColoredPart | tuple[Work, ...]) -> int:
    if isinstance(kept, ColoredPart):
        return kept.size
    return sum(tree.piles.nbytes + tree.ends.nbytes for _, _, tree in kept if tree)


POOR = 0.25
"""A chance to be accepted below which a color is probably not close enough."""


def fix_color(
    library: Library, wanted: str, asking: Asking, *, finder: Finder | None = None
) -> tuple[ColorMatched, ColorMatched, bool]:
    """Look for a wanted color over what lies on the paper already, and on bare paper.

    The third tells whether bare paper is better: what lies there probably stays too far off, and
    bare paper comes visibly nearer. Raises `BadRecipeError` where nothing lies there;
    `UnknownNameError` or `NotMeasuredError` as `match_color` does.
    """
    supplies = asking.supplies
    if not supplies.over:
        raise BadRecipeError(
            "Nothing is on the paper yet.", hint="Say what you laid, bottom layer first."
        )
    bare = replace(asking, supplies=replace(supplies, over=""))
    mended, fresh = (match_color(library, wanted, one, finder=finder) for one in (asking, bare))
    on_top, afresh = mended.best, fresh.best
    nearer = on_top.difference.delta_e - afresh.difference.delta_e >= thresholds()["noticeable"]
    return mended, fresh, nearer and on_top.acceptance < POOR


Answer = TypeVar("Answer")
OfOneBox: TypeAlias = tuple[str, Answer | None, str]
"""A box, its answer, and why it has none."""


def match_lesson(
    library: Library, lesson: Lesson, asking: Asking, *, finder: Finder | None = None
) -> tuple[Match, ...]:
    """Answer each color of a lesson by itself."""
    bench = set_up(library, asking.supplies)
    return tuple(
        find_match(target, bench, asking, watch=None, finder=finder)
        for target in targets_of_lesson(lesson, bench.swatched)
    )


def in_each_box(
    library: Library, asking: Asking, kits: Sequence[str], answer: Callable[[Asking], Answer]
) -> tuple[OfOneBox[Answer], ...]:
    """Answer out of each of these boxes, on the paper that most of each was swatched on."""
    papers, *_ = usual_papers(library)
    found: list[OfOneBox[Answer]] = []
    for kit in kits:
        own = replace(asking.supplies, kit=kit, ranges=(), paper=papers.get(kit, ""))
        try:
            found.append((kit, answer(replace(asking, supplies=own)), ""))
        except LaydownError as error:
            found.append((kit, None, error.message))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class MakeChart:
    """The colors to convert, and how."""

    title: str = ""
    """Of the chart; empty for the name of what is converted."""
    colors: tuple[str, ...] = ()
    file: bytes | None = None
    source: str = ""
    """Content and name of a list of colors; None for no list."""
    range: str = ""
    kit: str = ""
    """A range, or a kit, each of whose colorants is a wanted color."""
    asking: Asking = field(default_factory=Asking)
    notes: tuple[str, ...] = ()
    """Sentences for the chart's head."""


def make_chart(library: Library, request: MakeChart, *, watch: Watch | None = None) -> Chart:
    """Find a match for each color of a list, in the order people color in."""
    at_hand = cache(lambda: set_up(library, request.asking.supplies))
    paper = paper_of_targets(library, request.asking)
    targets = settle_targets(
        library,
        (
            *wanted_colors(request.colors, request.file, request.source),
            *_named(library, request, paper),
        ),
        paper=paper,
        source=request.source,
        fit=lambda: at_hand().swatched,
    )
    bench = at_hand()
    matches = find_matches(targets, bench, request.asking, watch)
    named = request.range or request.kit or PurePath(request.source).stem.replace("_", " ")
    title = request.title or (named if named.strip("-") else "Colors")
    return chart_of(title, matches, bench, request.asking, notes=request.notes)


def chart_of(
    title: str,
    matches: Sequence[Match],
    bench: SuppliesAtHand,
    asking: Asking,
    *,
    notes: tuple[str, ...],
) -> Chart:
    """Return the chart of matches that are made already."""
    chart = Chart(
        title=title,
        kit=bench.label,
        paper=bench.whole.paper,
        matches=in_coloring_order(matches),
        tolerance=asking.tolerance,
        notes=marked_invented(notes, (m.best.prediction.recipe for m in matches)),
    )
    return with_layers(chart, partial(color_of, bench.whole))


def _named(library: Library, request: MakeChart, paper: str) -> tuple[TargetRow, ...]:
    of_range = one_coats_of(library, paper, range=request.range) if request.range else ()
    return (*of_range, *(one_coats_of(library, paper, kit=request.kit) if request.kit else ()))


def wanted_colors(
    colors: Sequence[str], list_: bytes | None = None, source: str = ""
) -> tuple[str | TargetRow, ...]:
    """Return the colors that were typed one by one, then those of a list, if there is one."""
    return (*colors, *(() if list_ is None else read_targets(list_, source=source)))


def spelled_out(library: Library, request: MakeChart) -> MakeChart:
    """Return the same request with every colorant of its range or kit as a color of its own.

    So that something else can be asked of the same colors.
    """
    if not (request.range or request.kit):
        return request
    named = _named(library, request, paper_of_targets(library, request.asking))
    colors = request.colors + tuple(row.color for row in named)
    return replace(request, colors=colors, range="", kit="")


FORMS = ("pdf", "html", "csv", "json")
PAGES = ("A4", "Letter")


def write_chart(
    chart: Chart, form: str = "pdf", page: str = "A4", *, details: bool = False
) -> bytes:
    """Write a chart as PDF, HTML, CSV or JSON; the same chart gives the same bytes."""
    if form == "pdf":
        return write_chart_pdf(chart, page=page, details=details)
    if form == "html":
        return legible(chart_html(chart, details=details)).encode()
    if form == "csv":
        return chart_csv(chart).encode()
    return (to_json(chart) + "\n").encode()


LESSON = FIRST_LINE.rpartition(" ")[0].encode()
"""What a lesson file of any version begins with."""


def targets_asked(
    library: Library,
    colors: Sequence[str],
    file: bytes | None,
    source: str,
    *,
    asking: Asking,
    fit: FitAtHand,
) -> tuple[str, tuple[Target, ...]]:
    """Return what a file is called, and as targets the colors that were typed and those of it.

    The file may be what `colors_in_file` reads; for none the name is empty.
    """
    paper = paper_of_targets(library, asking)
    typed = settle_targets(library, colors, paper=paper, fit=fit)
    if file is None:
        return "", typed
    title, targets = colors_in_file(library, file, source, paper=paper, fit=fit)
    return title, typed + targets


def colors_in_file(
    library: Library, file: bytes, source: str, *, paper: str, fit: FitAtHand | None = None
) -> tuple[str, tuple[Target, ...]]:
    """Return what to call a file of wanted colors, and the colors.

    `paper`: the paper that named colorants are wanted as on. Raises `BadFileError` for a file that
    is none of these, or broken.
    """
    file = lesson_file(file, source=source)
    if is_plan(file):
        lesson = lesson_of(read_plan(file, source=source))
        return lesson.title, lesson.targets
    if file.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(LESSON):
        lesson = read_lesson(file, source=source)
        return lesson.title, lesson.targets if fit is None else targets_of_lesson(lesson, fit())
    rows = read_targets(file, source=source)
    title = PurePath(source).stem.replace("_", " ")
    return capital(title), settle_targets(library, rows, paper=paper, source=source, fit=fit)
