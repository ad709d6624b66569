"""How long a picture keeps its colors on a wall, and what would help."""

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field, replace
from functools import cache

from laydown.app.fits import Supplies, SuppliesAtHand, kit_fit_for, set_up
from laydown.app.light.lightfastness import KnownFading, known_lightfastness
from laydown.app.matches.colors import Asking, find_match, find_matches, targets_asked
from laydown.app.words import ColorInWords, in_words
from laydown.documents.print.reports import Report, ReportRow, Section
from laydown.errors import BadRecipeError
from laydown.match.judge import TOLERANCES
from laydown.match.outcome import Match, Target
from laydown.match.ranking import Watch
from laydown.media.kit.fit import color_of
from laydown.media.legible import capital
from laydown.media.light.exposure import Exposure, Span, span_text
from laydown.media.light.fading import Fading, lasting_words, shown_in
from laydown.media.recipe import Recipe, parse_recipe
from laydown.media.recipe_words import name_words, recipe_words
from laydown.plan.light.life import (
    Life,
    dose_words,
    hours_to_last,
    life_plot,
    recipe_life,
    rounded,
    soonest_first,
    years,
    years_words,
)
from laydown.plan.run.ranges import Plot
from laydown.reference.thresholds import thresholds
from laydown.store.library import Library

BETTER = 2.0
"""A colorant counts as more lasting when it bears this many times the light: half a wool's step."""
WORTH_IT = 1.5
"""A swap is named when it lasts so many times as long."""
MUSEUM_LUX = 50.0
"""Light on delicate work in museums (common practice, no source)."""
SHORTEST = 0.25
"""Hours a day; less isn't worth hanging a picture for."""
ABOUT_RANGES = (
    "These are ranges from what is known, and no promise: heat, damp, what is in the air, and how"
    " thickly a color was laid all count. The paper's own aging isn't in them."
)
ON_CLASSES = (
    "Classes stand for about the fading of their blue wool; the doses are those of CIE 157 as"
    " museums use them, read in secondary sources. A class is taken to speak of one plain coat."
)
ON_ULTRAVIOLET = (
    "This light has ultraviolet in it. Colors that are sensitive to light fade up to twice as fast"
    " for it (read in a secondary source). For more lasting ones how much faster isn't known here,"
    " only that they bear more than blue wool 3."
)
ON_UNKNOWN = (
    "Nothing is known of some colorants here. Ask their maker for a class, or hang a plain coat of"
    " each in a window and measure it again. Most felt-tip inks are among blue wools 1 to 3 (read"
    " in a secondary source), so unknown is no reason to hope."
)


@dataclass(frozen=True, slots=True, eq=False)
class Swap:
    """A more lasting recipe for a part, or word that the kit holds none."""

    name: str
    passage: str
    role: str
    """The part."""
    instead_of: str
    """Label of the colorant that goes first there now."""
    recipe: Recipe | None
    """What to lay instead; None where nothing lasting comes near enough."""
    off: float
    """How far that would be from the color wanted (CIEDE2000); without a recipe, how far it is."""
    noticeable: Span | None
    """Years to a just noticeable change then; None without a recipe."""
    words: str
    numbers: str = ""
    """How near it comes, in numbers."""


def showing(soonest: Span | None, exposure: Exposure, *, wanted: float) -> tuple[str, ...]:
    """Say how to show a picture so that it lasts.

    `soonest`: dose to a just noticeable change of the part that goes first; None where none is
    known. `exposure` is the light now. `wanted` is for how many years it shall look unchanged.

    >>> dim = Exposure(Span(50.0, 50.0), 2.0, 300.0, filtered=True)
    >>> showing(Span(0.3, 3.0), dim, wanted=10.0)[0]
    'In this light the part that goes first may be expected to look unchanged for 10 years.'
    """
    lines = []
    if soonest and soonest.low > 0.0:
        lines.append(_allowed(soonest.low, exposure, wanted))
    if not exposure.filtered:
        lines.append(
            "Keep ultraviolet out, with a filter or by white LED lamps instead of daylight; that"
            " helps, but the light itself does most of the harm to delicate colors."
        )
    lines.append("Half the light, or half the hours, is twice the time.")
    lines.append("Hang a copy, and keep the original in the dark between shows.")
    return tuple(lines)


def _allowed(dose: float, exposure: Exposure, wanted: float) -> str:
    yearly, a_year = dose / wanted, exposure.yearly.high
    if a_year <= yearly:
        return (
            "In this light the part that goes first may be expected to look unchanged for"
            f" {wanted:g} years."
        )
    lead = (
        f"For the part that goes first to look unchanged for {wanted:g} years at the least, no more"
        f" than about {rounded(1e6 * yearly):,.0f} lux-hours may fall on it in a year"
    )
    lux = min(MUSEUM_LUX, exposure.lux.high)
    hours = hours_to_last(dose, lux=lux, years=wanted, days=exposure.days)
    if hours >= SHORTEST:
        return f"{lead}: {lux:g} lux for about {rounded(hours):g} hours a day, as an example."
    days = max(1.0, rounded(1e6 * yearly / (lux * exposure.hours)))
    return f"{lead}: {lux:g} lux on about {days:g} days of {exposure.hours:g} hours, as an example."


def what_it_rests_on(
    known: Mapping[str, KnownFading], used: AbstractSet[str], exposure: Exposure
) -> tuple[str, ...]:
    """Say what a forecast for these colorants rests on, and where its figures were read."""
    found = [known[label] for label in sorted(used) if label in known]
    lines = []
    if any(_by_class(one) for one in found):
        lines.append(ON_CLASSES)
    if not exposure.filtered and any(one.fading and one.fading.filtered for one in found):
        lines.append(ON_ULTRAVIOLET)
    if any(one.fading and not _by_class(one) for one in found):
        lines.append("Window tests hold for coats and paper like the ones that hung there.")
    if len(found) < len(used) or any(one.fading is None for one in found):
        lines.append(ON_UNKNOWN)
    return tuple(lines)


def _by_class(one: KnownFading) -> bool:
    """Return whether a forecast rests on the stated class."""
    return bool(one.fading and one.basis == one.stated)


NO_FORECAST = "no forecast"
NONE_LASTS = "Nothing in your box is known to last longer."
NONE_NEAR = "Nothing in your box that lasts longer comes close enough."
HARDLY_LONGER = "What comes close enough from the rest of your box lasts hardly longer."


@dataclass(frozen=True, slots=True)
class ForecastLife:
    """What hangs on the wall, and in what light."""

    exposure: Exposure
    colors: tuple[str, ...] = ()
    """Wanted colors typed one by one; each is matched first."""
    laid: tuple[str, ...] = ()
    """Recipes as they were laid, in their text form."""
    file: bytes | None = None
    source: str = ""
    """Content and name of a lesson, a picture's plan or a list of colors, each of which is matched
    first; None for none."""
    asking: Asking = field(default_factory=Asking)
    """From what colors are matched, and on what paper all lies."""
    wanted: float = 10.0
    """For how many years the picture shall look unchanged; the advice on showing it keeps to
    that."""
    swaps: int = 3
    """For how many of the parts that go first a more lasting recipe is looked for."""


PicturePart = tuple[Target, Recipe, float]
"""A part of a picture: the color wanted, of a recipe as laid its own; what lies there; and how far
that is off (CIEDE2000)."""
Fadings = Mapping[str, Fading | None]
"""How colorants fade in a light, by label."""


@dataclass(frozen=True, slots=True, eq=False)
class PartLife:
    """How long one part keeps its color."""

    name: str
    passage: str
    role: str
    recipe: Recipe
    color: ColorInWords
    """What the part is and what lies there."""
    life: Life
    """Doses to a just noticeable and to a clear change."""
    first: str
    because: str
    """The colorant that is seen to go first, and what its fading rests on; empty without
    forecast."""
    noticeable: Span | None
    clear: Span | None
    """The same in years, or None."""
    noticeable_said: str
    clear_said: str


@dataclass(frozen=True, slots=True, eq=False)
class LifeForecast:
    """The answer."""

    title: str
    kit: str
    paper: str
    exposure: Exposure
    yearly: Span
    """The light, and what falls in a year [million lux-hours]."""
    parts: tuple[PartLife, ...]
    """The one that goes first at the head; those without a forecast at the end."""
    unrated: tuple[str, ...]
    """Labels of colorants used of whose lightfastness nothing is known."""
    swaps: tuple[Swap, ...]
    """More lasting recipes for the parts that go first."""
    showing: tuple[str, ...]
    """How to show it so that it lasts: sentences."""
    notes: tuple[str, ...]
    """What the forecast rests on, and what it is not."""
    wanted: float = 10.0
    """For how many years it shall look unchanged."""


def forecast_life(
    library: Library, request: ForecastLife, *, watch: Watch | None = None
) -> LifeForecast:
    """Forecast the life of a picture, or of single recipes.

    Raises `BadRecipeError` where nothing was named, or a recipe can't be laid. Raises
    `BadFileError`, `UnknownNameError` and `NotMeasuredError` for files, names and colorants that
    have no answer.
    """
    with library.look() as work:
        recipes = [parse_recipe(text, work.find_colorant) for text in request.laid]
    request = _with_supplies(request, recipes)
    at_hand = cache(lambda: _bench(library, request.asking.supplies, recipes))
    title, targets = targets_asked(
        library,
        request.colors,
        request.file,
        request.source,
        asking=request.asking,
        fit=lambda: at_hand().swatched,
    )
    if not recipes and not targets:
        raise BadRecipeError(
            "Nothing was named that hangs on the wall.",
            hint="Name colors, a lesson or a list, or write what was laid.",
            command="--laid RECIPE",
        )
    bench = at_hand()
    laid = [
        (Target(text, color_of(bench.whole, recipe)), recipe, 0.0)
        for text, recipe in zip(request.laid, recipes, strict=True)
    ]
    matched = map(part_of, find_matches(targets, bench, request.asking, watch))
    return life_of_parts(
        library, (*laid, *matched), bench, request, title=title or "Life on a wall"
    )


def part_of(match: Match) -> PicturePart:
    """Return the part of a picture that a match is for."""
    best = match.best
    return match.target, best.prediction.recipe, best.difference.delta_e


def life_of_parts(
    library: Library,
    parts: Sequence[PicturePart],
    bench: SuppliesAtHand,
    request: ForecastLife,
    *,
    title: str,
) -> LifeForecast:
    """Forecast the life of parts whose recipes are settled."""
    with library.look() as work:
        known = known_lightfastness(work)
    filtered = request.exposure.filtered
    fadings = {
        label: shown_in(one.fading, filtered=filtered) if one.fading else None
        for label, one in known.items()
    }
    lives = [recipe_life(bench.whole, recipe, fadings) for _, recipe, _ in parts]
    order = soonest_first(lives)
    order += [place for place in range(len(parts)) if place not in order]
    shown = [_told(parts[i], lives[i], bench, fadings, request.exposure) for i in order]
    used = {c.label for _, recipe, _ in parts for c in recipe.colorants if not c.blender}
    unrated = tuple(sorted(label for label in used if fadings.get(label) is None))
    going = [  # what may change before the years wanted are over
        place
        for place in order[: request.swaps]
        if (span := lives[place].noticeable) and years(span, request.exposure).low < request.wanted
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
        swaps=tuple(_swap(parts[i], lives[i], bench, fadings, request) for i in going),
        showing=showing(soonest, request.exposure, wanted=request.wanted),
        notes=(*bench.notes, *what_it_rests_on(known, used, request.exposure), ABOUT_RANGES),
        wanted=request.wanted,
    )


def _swap(
    part: PicturePart, life: Life, bench: SuppliesAtHand, fadings: Fadings, request: ForecastLife
) -> Swap:
    """Look for a more lasting recipe of a part.

    It is matched anew without the colorants that are not clearly more lasting than its own weakest
    one, and without those of which nothing is known.
    """
    target, _, off = part
    nothing = Swap(
        target.name, target.passage, target.role, life.first, None, off, None, words=NONE_LASTS
    )
    whole, weakest = bench.whole, fadings[life.first]
    least = BETTER * weakest.noticeable.middle if weakest else 0.0
    usable = [c.label for c in whole.colorants if c.label not in bench.without]
    lasting = {
        label for label in usable if (f := fadings.get(label)) and f.noticeable.middle >= least
    }
    if not lasting:
        return nothing
    poor = frozenset(c.label for c in whole.colorants if c.label not in lasting)
    found = find_match(target, replace(bench, without=poor), request.asking, watch=None)
    recipe, far = found.best.prediction.recipe, found.best.difference.delta_e
    near = max(TOLERANCES[request.asking.tolerance], off + thresholds()["noticeable"])
    then = recipe_life(whole, recipe, fadings).noticeable
    if far > near or then is None:
        return replace(nothing, words=NONE_NEAR, numbers=f"The nearest is off by ΔE {far:.1f}.")
    now = life.noticeable or Span(0.0, 0.0)
    if then.low < WORTH_IT * now.low or then.high < WORTH_IT * now.high:
        return replace(nothing, words=HARDLY_LONGER)
    lasts = years(then, request.exposure)
    words = f"{_closeness(far - off)} Just noticeable {years_words(lasts)}."
    return replace(
        nothing,
        words=words,
        numbers=f"Off by ΔE {far:.1f} instead of {off:.1f}.",
        recipe=recipe,
        off=far,
        noticeable=lasts,
    )


def _closeness(farther: float) -> str:
    """Say how a swap looks beside what it takes the place of, by how much farther off it is."""
    if abs(farther) < thresholds()["noticeable"]:
        return "It looks as close."
    return "It looks a little less close." if farther > 0 else "It looks closer, too."


def _ranges(laid: Sequence[Recipe]) -> set[str]:
    return {colorant.range for recipe in laid for colorant in recipe.colorants}


def _with_supplies(request: ForecastLife, laid: Sequence[Recipe]) -> ForecastLife:
    """Return the same request; where it names no supplies, with those that were laid."""
    supplies = request.asking.supplies
    if supplies.kit or supplies.ranges:
        return request
    supplies = replace(supplies, ranges=tuple(sorted(_ranges(laid))))
    return replace(request, asking=replace(request.asking, supplies=supplies))


def _bench(library: Library, supplies: Supplies, laid: Sequence[Recipe]) -> SuppliesAtHand:
    """Set the supplies up, and fit what was laid from elsewhere with them."""
    bench = set_up(library, supplies)
    there = {c.range for c in bench.whole.colorants}
    if there >= _ranges(laid):
        return bench
    ranges = tuple(sorted(there | _ranges(laid)))
    whole = kit_fit_for(library, ranges, bench.whole.paper.name)
    own = {c.label for c in bench.whole.colorants}
    others = frozenset(c.label for c in whole.colorants if c.label not in own)
    return replace(bench, whole=whole, swatched=whole, without=bench.without | others)


def _told(
    part: PicturePart, life: Life, bench: SuppliesAtHand, fadings: Fadings, exposure: Exposure
) -> PartLife:
    target, recipe, _ = part
    noticeable = years(life.noticeable, exposure) if life.noticeable else None
    clear = years(life.clear, exposure) if life.clear else None
    fading = fadings.get(life.first)
    without = f"{NO_FORECAST}: {life.why_not}"
    return PartLife(
        name=target.name,
        passage=target.passage,
        role=target.role,
        recipe=recipe,
        color=in_words(color_of(bench.whole, recipe)),
        life=life,
        first=life.first,
        because=fading.words if fading else "",
        noticeable=noticeable,
        clear=clear,
        noticeable_said=years_words(noticeable) if noticeable else without,
        clear_said=years_words(clear) if clear else without,
    )


BESIDE = (
    "“Just noticeable” is what you see with a fresh piece held beside it; “clear” is twice that."
)
PLOTTED = (
    "From when to when you would first see each color change, beside a fresh piece. Hollow: it goes"
    " on beyond what is known."
)
FEWEST_LINES, MOST_LINES = 2, 40
"""A plot of fewer ranges says nothing, and one of more is no page."""
FOOT = "A forecast is a range, never a promised lifetime."


def light_words(exposure: Exposure) -> str:
    """Say the light on a wall in a sentence.

    >>> from laydown.media.light.exposure import Span
    >>> light_words(Exposure(Span(150.0, 150.0), filtered=True))
    '150 lux for 8 hours on 365 days a year, ultraviolet kept out'
    """
    kept = "kept out" if exposure.filtered else "in it"
    return (
        f"{span_text(exposure.lux)} lux for {exposure.hours:g} hours on {exposure.days:g} days a"
        f" year, ultraviolet {kept}"
    )


def part_name(part: PartLife | Swap) -> str:
    """Return what to call a part: its place in the picture, then its color."""
    place = ", ".join(word for word in (part.passage, part.role) if word)
    name = name_words(part.name)
    return f"{place}: {name}" if place else name


def life_report(found: LifeForecast) -> Report:
    """Return the report of a forecast."""
    known = [part for part in found.parts if part.noticeable]
    unknown = [part for part in found.parts if not part.noticeable]
    lead = (
        f"Colors from {found.kit} on {found.paper}, in {light_words(found.exposure)}.",
        " ".join([*([_soonest(known)] if known else []), _what_to_do(found)]),
    )
    rows = tuple(_part_row(part, f"{number}. ") for number, part in enumerate(known, 1))
    numbers = (
        ReportRow(f"Instead of {swap.instead_of.rpartition('/')[2]}", swap.numbers)
        for swap in found.swaps
        if swap.numbers
    )
    rests = (f"On it falls {dose_words(found.yearly)} a year.", classes_said(found), *found.notes)
    sections = (
        Section("", plots=_plots(known)),
        Section("What to lay instead", tuple(map(_swap_row, found.swaps))),
        Section("How to show it", tuple(ReportRow("", line) for line in found.showing)),
        Section("What goes first", (*rows, *([ReportRow("", BESIDE)] * bool(rows))), apart=True),
        Section("No forecast", tuple(map(_part_row, unknown))),
        Section("Numbers", tuple(numbers)),
        Section("What this rests on", tuple(ReportRow("", line) for line in rests if line)),
    )
    title = found.title if found.title == "Life on a wall" else f"Life on a wall: {found.title}"
    return Report(title, lead, tuple(s for s in sections if s.rows or s.plots), FOOT)


def _what_to_do(found: LifeForecast) -> str:
    """Say in one sentence whether it may hang as it does."""
    soonest = found.parts[0].noticeable
    if soonest is None:
        return "Nothing is known of how long these colors last: hang a copy."
    if soonest.low >= found.wanted:
        return f"It may hang like this for {found.wanted:g} years."
    return f"It can't hang like this for {found.wanted:g} years unchanged: hang a copy."


def _soonest(known: Sequence[PartLife]) -> str:
    """Say what goes first, and how many parts may within a year."""
    soon = sum(part.noticeable is not None and part.noticeable.low < 1.0 for part in known)
    return (
        f"First goes {part_name(known[0])}: just noticeable {known[0].noticeable_said}. Within a"
        f" year {soon} of {len(known)} may change that much."
    )


def classes_said(found: LifeForecast) -> str:
    """Say on what class or test the fading of each colorant rests that goes first."""
    known = {f"{_first(part)}: {part.because}." for part in found.parts if part.noticeable}
    return " ".join(sorted(known))


def _plots(parts: Sequence[PartLife]) -> tuple[Plot, ...]:
    """Return the ranges of the parts that go first as a plot, as many as a page holds."""
    shown = [
        (part.noticeable, part.color.screen, part_name(part))
        for part in parts[:MOST_LINES]
        if part.noticeable
    ]
    if len(shown) < FEWEST_LINES:
        return ()
    spans, fills, names = zip(*shown, strict=True)
    return (life_plot(PLOTTED, spans, fills, names),)


def _part_row(part: PartLife, number: str = "") -> ReportRow:
    laid = recipe_words(part.recipe)
    if part.noticeable is None:
        return ReportRow(part_name(part), f"{laid}: {part.life.why_not}.", (part.color.screen,))
    return ReportRow(
        f"{number}{part_name(part)}",
        f"{laid} (value {part.color.value:.1f}, {part.color.words}). Just noticeable"
        f" {part.noticeable_said}; clear {part.clear_said}. {_first(part)} goes first"
        f" ({lasting_words(part.because)}).",
        (part.color.screen,),
    )


def _first(part: PartLife) -> str:
    return part.first.rpartition("/")[2]


def _swap_row(swap: Swap) -> ReportRow:
    name = f"{part_name(swap)}, instead of {swap.instead_of.rpartition('/')[2]}"
    if swap.recipe is None:
        return ReportRow(name, swap.words)
    return ReportRow(name, f"{capital(recipe_words(swap.recipe))}. {swap.words}", box=True)
