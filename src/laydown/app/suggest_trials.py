"""Say which few trials would make a lesson's recipes surest."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache

from laydown.app.learned_fits import own_trials, teach
from laydown.app.match_color import Asking, find_match, paper_of_targets
from laydown.app.print_sheet import PrintSheet, draw_sheet, print_sheet
from laydown.app.supplies import Bench, Supplies, set_up
from laydown.app.table_cache import Tables
from laydown.app.targets import FitAtHand, Wanted, settle_targets, wanted_in_file
from laydown.documents.target_csv import read_targets
from laydown.match.found import Watch
from laydown.match.outcome import Target
from laydown.media.film_learning import films_by_own_hand
from laydown.media.kit_fit import MediumFit
from laydown.media.learning import by_own_hand
from laydown.media.marker import MarkerFit
from laydown.media.recipe import Recipe, format_recipe, parse_recipe
from laydown.plan.next_trials import NextTrial, next_trials
from laydown.store.library import Library


@dataclass(frozen=True, slots=True)
class SuggestTrials:
    """The lesson, and what it is colored with.

    Parameters
    ----------
    recipes
        Recipes of the lesson, typed.
    colors
        Wanted colors, typed; each stands for its best recipe.
    file, source
        Content and name of a list of colors; None for none.
    most
        How many trials at most.
    asking
        Supplies, and how recipes for wanted colors are looked for.
    """

    recipes: tuple[str, ...] = ()
    colors: tuple[str, ...] = ()
    file: bytes | None = None
    source: str = ""
    most: int = 6
    asking: Asking = field(default_factory=Asking)


@dataclass(frozen=True, slots=True, eq=False)
class TrialsSuggested:
    """The trials, for how many recipes they are, and on which paper; no trials: none is worth it.

    Parameters
    ----------
    kit, paper
        What they are made with.
    recipes
        Of the lesson, each once.
    trials
        In the order in which they help.
    """

    kit: str
    paper: str
    recipes: tuple[Recipe, ...]
    trials: tuple[NextTrial, ...]


@dataclass(frozen=True, slots=True)
class TrialsSheet:
    """The number of a printed sheet, and its PDF."""

    number: int
    pdf: bytes


def suggest_trials(
    library: Library, request: SuggestTrials, *, watch: Watch | None = None
) -> TrialsSuggested:
    """Choose the trials that would cut what is unsure of a lesson most.

    Raises
    ------
    UnknownNameError, BadColorError, BadFileError
        For recipes and colors that can't be read.
    """
    at_hand = cache(lambda: set_up(library, request.asking.supplies))
    typed, targets = _asked(library, request, lambda: at_hand().swatched)
    bench = at_hand()
    recipes = tuple(dict.fromkeys((*typed, *_matched(targets, bench, request.asking, watch))))
    whole = set_up(library, request.asking.supplies, by_trials=False).whole
    parts = (whole,) if isinstance(whole, MarkerFit) else whole.fits
    trials = [
        trial
        for part in parts
        for trial in next_trials(
            _as_sure(library, part, request.asking.supplies.kit),
            [r for r in recipes if _is_of(part, r)],
            most=request.most,
        )
    ]
    trials.sort(key=lambda trial: trial.after - trial.before)
    return TrialsSuggested(
        bench.label, bench.whole.paper.name, recipes, tuple(trials[: request.most])
    )


def _is_of(part: MediumFit, recipe: Recipe) -> bool:
    """Return whether a recipe is of the part's medium alone; layers of several teach nothing."""
    known = {c.label for c in part.colorants}
    return {c.label for c in recipe.colorants} <= known


def _as_sure(library: Library, part: MediumFit, kit: str) -> MediumFit:
    """Return the fit as sure as it is of this person's hand."""
    own = own_trials(library, part, kit)
    if own.stored:
        return teach(part, own).fit
    return by_own_hand(part) if isinstance(part, MarkerFit) else films_by_own_hand(part)


def _asked(
    library: Library, request: SuggestTrials, fit: FitAtHand
) -> tuple[tuple[Recipe, ...], tuple[Target, ...]]:
    """Return the recipes and the colors that were named."""
    with library.look() as work:
        typed = [parse_recipe(text, work.find_colorant) for text in request.recipes]
    wanted = tuple(Wanted(text) for text in request.colors)
    if request.file is not None:
        rows = read_targets(request.file, source=request.source)
        wanted += wanted_in_file(rows, source=request.source)
    paper = paper_of_targets(library, request.asking)
    targets = settle_targets(library, wanted, paper=paper, fit=fit)
    return tuple(recipe for recipe in typed if recipe.steps), targets


def _matched(
    targets: Sequence[Target], bench: Bench, asking: Asking, watch: Watch | None
) -> Iterator[Recipe]:
    """Give the best recipe for each color that takes more than bare paper."""
    find = Tables(len(targets)).find
    for done, target in enumerate(targets):
        if watch is not None:
            watch(done, len(targets))
        match = find_match(target, bench, asking, watch=None, finder=find)
        if match.best.prediction.recipe.steps:
            yield match.best.prediction.recipe


def sheet_of(library: Library, suggested: TrialsSuggested, *, page: str) -> TrialsSheet:
    """Print a sheet to color the suggested trials on, which can be read back from a photograph."""
    request = PrintSheet(
        kind="list",
        asking=Asking(Supplies(paper=suggested.paper)),
        recipes=tuple(format_recipe(t.recipe, with_range=True) for t in suggested.trials),
        title="What to try next",
        page=page,
    )
    printed = print_sheet(library, request)
    return TrialsSheet(printed.sheet.number, draw_sheet(library, printed.sheet))
