"""Lesson files as the tasks about them share it: read, and matched color by color."""

from dataclasses import replace

from laydown.app.add_demo import marked_invented
from laydown.app.match_color import Asking, find_match
from laydown.app.supplies import Bench
from laydown.app.table_cache import Tables
from laydown.app.targets import targets_of_lesson
from laydown.documents.lesson_text import read_lesson
from laydown.match.found import Watch
from laydown.match.outcome import Match
from laydown.match.repertoire import Repertoire, repertoire
from laydown.match.space import Limits
from laydown.media.kit_fit import predict
from laydown.plan.chart import Chart, in_coloring_order, with_layers
from laydown.plan.lesson import Lesson

__all__ = ["chart_of", "match_each", "read_lesson", "short_recipes"]


def match_each(
    lesson: Lesson, bench: Bench, asking: Asking, watch: Watch | None = None
) -> tuple[Match, ...]:
    """Match each color of a lesson by itself, in the lesson's order."""
    targets = targets_of_lesson(lesson, bench.swatched)
    find, found = Tables(len(targets)).find, []
    for done, target in enumerate(targets):
        match = find_match(target, bench, asking, watch=None, finder=find)
        said = lesson.colors[done].note
        found.append(replace(match, notes=(f"Note: {said}", *match.notes)) if said else match)
        if watch:
            watch(done + 1, len(targets))
    return tuple(found)


def short_recipes(bench: Bench, asking: Asking) -> Repertoire:
    """Return all recipes of up to two steps of two coats within what was asked for.

    They are what is laid over what lies there.
    """
    limits = Limits(steps=min(2, asking.steps), coats=min(2, asking.coats), without=bench.without)
    return repertoire(bench.whole, limits=limits, over=bench.over)


def chart_of(
    lesson: Lesson, matches: tuple[Match, ...], bench: Bench, asking: Asking, *, title: str = ""
) -> Chart:
    """Return the chart of a lesson's matches."""
    chart = Chart(
        title=title or lesson.title,
        kit=bench.label,
        paper=bench.whole.paper,
        matches=in_coloring_order(matches),
        tolerance=asking.tolerance,
        notes=marked_invented(lesson.notes, (m.best.prediction.recipe for m in matches)),
    )
    return with_layers(chart, lambda recipe: predict(bench.whole, recipe).lab)
