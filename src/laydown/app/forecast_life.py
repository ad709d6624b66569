"""Forecast how long a picture keeps its colors on a wall, part by part, and what would help."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache

from laydown.app.color_in_words import ColorInWords, in_words
from laydown.app.colors_in_file import colors_in_file
from laydown.app.fadings import Known, known_lightfastness
from laydown.app.kit_fits import kit_fit_for
from laydown.app.life_advice import (
    ABOUT_RANGES,
    Going,
    Swap,
    Wall,
    find_swaps,
    showing,
    what_it_rests_on,
)
from laydown.app.match_color import Asking, find_match, paper_of_targets
from laydown.app.supplies import Bench, Supplies, set_up
from laydown.app.table_cache import Tables
from laydown.app.targets import FitAtHand, Wanted, settle_targets
from laydown.errors import BadRecipeError
from laydown.match.found import Watch
from laydown.match.outcome import Match, Target
from laydown.media.exposure import Exposure, Span
from laydown.media.fading import Fading, shown_in
from laydown.media.kit_fit import predict
from laydown.media.recipe import Recipe, parse_recipe
from laydown.plan.life import Life, recipe_life, soonest_first, years
from laydown.plan.life_words import years_words
from laydown.store.library import Library

NO_FORECAST = "no forecast"


@dataclass(frozen=True, slots=True)
class ForecastLife:
    """What hangs on the wall, and in what light.

    Parameters
    ----------
    exposure
        The light on it.
    colors
        Wanted colors typed one by one; each is matched first.
    laid
        Recipes as they were laid, in their text form.
    file, source
        Content and name of a lesson, a picture's plan or a list of colors, each of which is matched
        first; None for none.
    asking
        From what colors are matched, and on what paper all lies.
    wanted
        For how many years the picture shall look unchanged; the advice on showing it keeps to that.
    swaps
        For how many of the parts that go first a more lasting recipe is looked for.
    """

    exposure: Exposure
    colors: tuple[str, ...] = ()
    laid: tuple[str, ...] = ()
    file: bytes | None = None
    source: str = ""
    asking: Asking = field(default_factory=Asking)
    wanted: float = 10.0
    swaps: int = 3


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A part of the picture: what it shows, what was wanted of it, and what lies there.

    Parameters
    ----------
    target
        The color wanted; of a recipe as laid, its own.
    recipe
        What is laid.
    off
        How far that is from the color wanted (CIEDE2000).
    """

    target: Target
    recipe: Recipe
    off: float


@dataclass(frozen=True, slots=True, eq=False)
class PartLife:
    """How long one part keeps its color.

    Parameters
    ----------
    name, passage, role, recipe, color
        What the part is and what lies there.
    life
        Doses to a just noticeable and to a clear change.
    first, because
        The colorant that is seen to go first, and what its fading rests on; empty without forecast.
    noticeable, clear
        The same in years, or None.
    noticeable_said, clear_said
        In words.
    """

    name: str
    passage: str
    role: str
    recipe: Recipe
    color: ColorInWords
    life: Life
    first: str
    because: str
    noticeable: Span | None
    clear: Span | None
    noticeable_said: str
    clear_said: str


@dataclass(frozen=True, slots=True, eq=False)
class LifeForecast:
    """The answer.

    Parameters
    ----------
    title, kit, paper
        What hangs there, from what, on what.
    exposure, yearly
        The light, and what falls in a year [million lux-hours].
    parts
        The one that goes first at the head; those without a forecast at the end.
    unrated
        Labels of colorants used of whose lightfastness nothing is known.
    swaps
        More lasting recipes for the parts that go first.
    showing
        How to show it so that it lasts: sentences.
    notes
        What the forecast rests on, and what it is not.
    """

    title: str
    kit: str
    paper: str
    exposure: Exposure
    yearly: Span
    parts: tuple[PartLife, ...]
    unrated: tuple[str, ...]
    swaps: tuple[Swap, ...]
    showing: tuple[str, ...]
    notes: tuple[str, ...]


def forecast_life(
    library: Library, request: ForecastLife, *, watch: Watch | None = None
) -> LifeForecast:
    """Forecast the life of a picture, or of single recipes.

    Parameters
    ----------
    library
        Where supplies, swatches and lightfastness are.
    request
        What hangs where.
    watch
        Told (done, total) in colors; may raise to cancel.

    Raises
    ------
    BadRecipeError
        Where nothing was named, or a recipe can't be laid.
    BadFileError, UnknownNameError, NotMeasuredError
        For files, names and colorants that have no answer.
    """
    recipes = _recipes(library, request)
    request = _with_supplies(request, recipes)
    at_hand = cache(lambda: _bench(library, request.asking.supplies, recipes))
    targets, title = _wanted(library, request, lambda: at_hand().swatched)
    if not recipes and not targets:
        raise BadRecipeError(
            "Nothing was named that hangs on the wall.",
            hint="Name colors, a lesson or a list, or write what was laid.",
            command="--laid RECIPE",
        )
    bench = at_hand()
    laid = [_as_laid(text, r, bench) for text, r in zip(request.laid, recipes, strict=True)]
    find = Tables(len(targets)).find
    matched = []
    for done, target in enumerate(targets):
        found = find_match(target, bench, request.asking, watch=None, finder=find)
        matched.append(part_of(found))
        if watch:
            watch(done + 1, len(targets))
    return life_of_parts(library, (*laid, *matched), bench, request, title=title)


def part_of(match: Match) -> Part:
    """Return the part of a picture that a match is for."""
    best = match.best
    return Part(match.target, best.prediction.recipe, best.difference.delta_e)


def life_of_parts(
    library: Library, parts: Sequence[Part], bench: Bench, request: ForecastLife, *, title: str
) -> LifeForecast:
    """Forecast the life of parts whose recipes are settled.

    Parameters
    ----------
    library
        Where lightfastness is.
    parts
        Of the picture.
    bench
        What they are made from.
    request
        The light, and what to look for.
    title
        What hangs there.
    """
    with library.look() as work:
        known = known_lightfastness(work)
    fadings = fadings_in(known, request.exposure)
    lives = [recipe_life(bench.whole, part.recipe, fadings) for part in parts]
    order = soonest_first(lives)
    order += [place for place in range(len(parts)) if place not in order]
    wall = Wall(bench, request.asking, fadings, request.exposure)
    shown = [_told(parts[i], lives[i], wall) for i in order]
    used = {c.label for part in parts for c in part.recipe.colorants if not c.blender}
    unrated = tuple(sorted(label for label in used if fadings.get(label) is None))
    going = [
        Going(parts[i].target, parts[i].off, lives[i])
        for i in order[: request.swaps]
        if _goes_early(lives[i], request)
    ]
    soonest = lives[order[0]].noticeable
    return LifeForecast(
        title=title,
        kit=bench.label,
        paper=bench.whole.paper.name,
        exposure=request.exposure,
        yearly=request.exposure.yearly,
        parts=tuple(shown),
        unrated=unrated,
        swaps=find_swaps(going, wall),
        showing=showing(soonest, request.exposure, wanted=request.wanted),
        notes=(*bench.notes, *what_it_rests_on(known, used, request.exposure), ABOUT_RANGES),
    )


def _goes_early(life: Life, request: ForecastLife) -> bool:
    """Return whether a part may change before the years wanted are over."""
    span = life.noticeable
    return span is not None and years(span, request.exposure).low < request.wanted


def fadings_in(known: Mapping[str, Known], exposure: Exposure) -> dict[str, Fading | None]:
    """Return how colorants fade in a light, by label."""
    return {
        label: shown_in(one.fading, filtered=exposure.filtered) if one.fading else None
        for label, one in known.items()
    }


def _recipes(library: Library, request: ForecastLife) -> list[Recipe]:
    with library.look() as work:
        return [parse_recipe(text, work.find_colorant) for text in request.laid]


def _ranges(laid: Sequence[Recipe]) -> set[str]:
    return {colorant.range for recipe in laid for colorant in recipe.colorants}


def _with_supplies(request: ForecastLife, laid: Sequence[Recipe]) -> ForecastLife:
    """Return the same request; where it names no supplies, with those that were laid."""
    supplies = request.asking.supplies
    if supplies.kit or supplies.ranges:
        return request
    supplies = replace(supplies, ranges=tuple(sorted(_ranges(laid))))
    return replace(request, asking=replace(request.asking, supplies=supplies))


def _bench(library: Library, supplies: Supplies, laid: Sequence[Recipe]) -> Bench:
    """Set the supplies up, and fit what was laid from elsewhere with them."""
    bench = set_up(library, supplies)
    there = {c.range for c in bench.whole.colorants}
    if there >= _ranges(laid):
        return bench
    whole = kit_fit_for(library, sorted(there | _ranges(laid)), bench.whole.paper.name)
    own = {c.label for c in bench.whole.colorants}
    others = frozenset(c.label for c in whole.colorants if c.label not in own)
    return replace(bench, whole=whole, swatched=whole, without=bench.without | others)


def _as_laid(text: str, recipe: Recipe, bench: Bench) -> Part:
    return Part(Target(text, predict(bench.whole, recipe).lab), recipe, 0.0)


def _wanted(
    library: Library, request: ForecastLife, fit: FitAtHand
) -> tuple[tuple[Target, ...], str]:
    """Return the colors wanted, and what to call all of it."""
    paper = paper_of_targets(library, request.asking)
    typed = settle_targets(library, [Wanted(text) for text in request.colors], paper=paper, fit=fit)
    if request.file is None:
        return typed, "Life on a wall"
    title, targets = colors_in_file(library, request.file, request.source, paper=paper, fit=fit)
    return typed + targets, title


def _told(part: Part, life: Life, wall: Wall) -> PartLife:
    noticeable = years(life.noticeable, wall.exposure) if life.noticeable else None
    clear = years(life.clear, wall.exposure) if life.clear else None
    fading = wall.fadings.get(life.first)
    without = f"{NO_FORECAST}: {life.why_not}"
    return PartLife(
        name=part.target.name,
        passage=part.target.passage,
        role=part.target.role,
        recipe=part.recipe,
        color=in_words(predict(wall.bench.whole, part.recipe).lab),
        life=life,
        first=life.first,
        because=fading.words if fading else "",
        noticeable=noticeable,
        clear=clear,
        noticeable_said=years_words(noticeable) if noticeable else without,
        clear_said=years_words(clear) if clear else without,
    )
