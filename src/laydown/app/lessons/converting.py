"""Convert a lesson to one's own kit: color by color, as a whole, and transposed."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from laydown.app.fits.at_hand import SuppliesAtHand, ranges_named, set_up
from laydown.app.lessons.lessons import chart_of, match_each, read_lesson, short_recipes
from laydown.app.matches.colors import Asking, question_of, short_limits
from laydown.app.runs import shop_of
from laydown.match.judge import candidate_of
from laydown.match.outcome import Match, Target
from laydown.match.question import Question
from laydown.match.search.found import Watch
from laydown.media.recipe import format_recipe
from laydown.plan.chart import Chart
from laydown.plan.lesson.conversion import LessonConversion, Turned, convert, options, transposed
from laydown.plan.lesson.lesson import Lesson, turned
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class ConvertLesson:
    """A lesson file, what to make it from, how many turns to offer, and where one could buy."""

    file: bytes
    source: str
    """Content and name of the lesson file."""
    asking: Asking = field(default_factory=Asking)
    """How each color is looked for."""
    turns: int = 3
    """How many transposed palettes to offer."""
    shop: tuple[str, ...] = ()
    """Ranges from which a purchase may be named that would mend a passage."""


@dataclass(frozen=True, slots=True, eq=False)
class LessonConverted:
    """The answer."""

    title: str
    kit: str
    paper: str
    """What was converted to what."""
    names: tuple[str, ...]
    """Of the lesson's colors, in its order."""
    conversion: LessonConversion
    """As a whole: recipes, cost and bound, what departs from color by color and why."""
    singly: Chart
    together: Chart
    """Both as charts."""
    turned: tuple[Turned, ...]
    """Transposed palettes, the nearest first, each with its chart in `turned_charts`."""
    turned_charts: tuple[Chart, ...]
    """In the same order."""
    notes: tuple[str, ...]
    """On roles that the lesson's colors contradict, and on supplies."""


def convert_lesson(
    library: Library, request: ConvertLesson, *, watch: Watch | None = None
) -> LessonConverted:
    """Convert a lesson."""
    lesson = read_lesson(request.file, source=request.source)
    asking = request.asking
    for_sale = ranges_named(library, request.shop)
    bench = set_up(library, asking.supplies)
    singly = match_each(lesson, bench, asking, watch)
    recipes = short_recipes(bench, asking)
    own = [m.best.prediction.recipe.above(bench.over) for m in singly]
    questions = [_question(match.target, bench, asking) for match in singly]
    found = options(questions, recipes, lesson.weights, more=[[recipe] for recipe in own])
    start = [found.first_of_more(color) for color in range(len(own))]
    made = convert(lesson, found, start, shop_of(library, for_sale, bench))
    turns = transposed(lesson, questions, recipes, count=request.turns) if request.turns else ()
    whole = _rejudged(singly, made, bench, asking)
    return LessonConverted(
        title=lesson.title,
        kit=bench.label,
        paper=bench.whole.paper.name,
        names=tuple(color.name for color in lesson.colors),
        conversion=made,
        singly=chart_of(lesson, singly, bench, asking),
        together=chart_of(lesson, whole, bench, asking),
        turned=turns,
        turned_charts=tuple(_turned_chart(lesson, t, singly, bench, asking) for t in turns),
        notes=lesson.troubles + bench.notes,
    )


def _rejudged(
    matches: Sequence[Match], made: LessonConversion, bench: SuppliesAtHand, asking: Asking
) -> tuple[Match, ...]:
    """Put the recipes of the whole into the matches, with the reason where they differ."""
    reasons = {
        d.name: f"Not the nearest recipe “{format_recipe(d.instead_of)}”: {d.reason}"
        for d in made.departures
    }
    found = []
    for match, recipe in zip(matches, made.recipes, strict=True):
        if recipe == match.best.prediction.recipe.above(bench.over):
            found.append(match)
            continue
        best = candidate_of(_question(match.target, bench, asking), recipe)
        said = reasons.get(match.target.name)
        notes = (said, *match.notes) if said else match.notes
        others = (match.best, *match.alternatives)[: max(asking.top, 1)]
        found.append(replace(match, best=best, alternatives=others, notes=notes))
    return tuple(found)


def _question(target: Target, bench: SuppliesAtHand, asking: Asking) -> Question:
    return replace(question_of(target, bench, asking), limits=short_limits(bench, asking))


def _turned_chart(
    lesson: Lesson, turn: Turned, singly: Sequence[Match], bench: SuppliesAtHand, asking: Asking
) -> Chart:
    wanted = [
        replace(m, target=turned(m.target, turn.turn), notes=(), alternatives=()) for m in singly
    ]
    plain = [
        replace(m, best=candidate_of(_question(m.target, bench, asking), recipe), next_swatch="")
        for m, recipe in zip(wanted, turn.recipes, strict=True)
    ]
    alone = tuple(replace(m, single=m.best) for m in plain)
    title = f"{lesson.title}, {turn.turn.words}"
    return chart_of(lesson, alone, bench, asking, title=title)
