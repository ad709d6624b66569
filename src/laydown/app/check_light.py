"""Check which matches hold by day and under other lights, and find what holds where they break."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cache

from laydown.app.color_in_words import ColorInWords, in_words
from laydown.app.colors_in_file import colors_in_file
from laydown.app.match_color import Asking, find_match, paper_of_targets
from laydown.app.supplies import Bench, set_up
from laydown.app.table_cache import Tables
from laydown.app.targets import FitAtHand, Wanted, settle_targets
from laydown.color.light_names import DAY, NamedLight, find_light, named_lights
from laydown.errors import UnknownNameError
from laydown.match.candidate import candidate_of
from laydown.match.exact import Finder
from laydown.match.found import Watch
from laydown.match.judge import TOLERANCES
from laydown.match.outcome import Candidate, Match, Origin, Target
from laydown.match.pairing import pair_of, spectrum_of
from laydown.match.question import Question
from laydown.match.space import Limits
from laydown.media.kit_fit import guessed_spectra
from laydown.media.recipe import Recipe
from laydown.media.swatch import Basis
from laydown.plan.light_words import listed
from laydown.plan.lights import Holding, LightedMatch, under_lights
from laydown.plan.steadiest import Steadiest, steadiest
from laydown.store.library import Library

SMOOTHEST = (
    "Where no spectrum was measured the smoothest one is taken, and the ranges are wider for it."
)
GLOWS = "Brightener in paper or color glows by day and not under a lamp; that is not reckoned here."


@dataclass(frozen=True, slots=True)
class CheckLight:
    """The colors to check, the lights, and how a match is looked for.

    Parameters
    ----------
    colors
        Colors typed one by one.
    file, source
        Content and name of a lesson, a picture's plan or a list of colors; None for none.
    lights
        Names of lights, see `laydown.color.light_names.find_light`; none for the usual ones.
    asking
        How each match is looked for.
    """

    colors: tuple[str, ...] = ()
    file: bytes | None = None
    source: str = ""
    lights: tuple[str, ...] = ()
    asking: Asking = field(default_factory=Asking)


@dataclass(frozen=True, slots=True, eq=False)
class ColorUnderLights:
    """One wanted color, its match, and what becomes of that under other lights.

    Parameters
    ----------
    target, wanted
        The color, in numbers and in words.
    best, check
        The match made for daylight, and how it fares.
    estimated
        Why this is an estimate, a phrase each; empty where all of it rests on measured spectra.
    instead, instead_check
        A recipe that holds better, judged by day, and how it fares; None where none does or the
        match holds.
    steadiest
        What the search for that came to; None where the match holds.
    """

    target: Target
    wanted: ColorInWords
    best: Candidate
    check: LightedMatch
    estimated: tuple[str, ...]
    instead: Candidate | None = None
    instead_check: LightedMatch | None = None
    steadiest: Steadiest | None = None


@dataclass(frozen=True, slots=True, eq=False)
class LightChecked:
    """Which matches hold.

    Parameters
    ----------
    title, kit, paper, tolerance
        What was asked of.
    day, lights
        The light matches are made for, and those they are seen under.
    colors
        In the order asked for.
    notes
        On supplies, and on what can't be told.
    """

    title: str
    kit: str
    paper: str
    tolerance: str
    day: NamedLight
    lights: tuple[NamedLight, ...]
    colors: tuple[ColorUnderLights, ...]
    notes: tuple[str, ...]

    def count(self, holding: Holding) -> int:
        """Return how many matches have this as the worst of their verdicts."""
        return sum(color.check.holding is holding for color in self.colors)


def check_light(
    library: Library, request: CheckLight, *, watch: Watch | None = None
) -> LightChecked:
    """Match each color by day, then see the match under other lights.

    Parameters
    ----------
    library
        Where supplies and swatches are.
    request
        What to check.
    watch
        Told (done, total) in colors; may raise to cancel.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        For a light, or anything else, that is not there or not clear.
    """
    lights = lights_named(request.lights)
    at_hand = cache(lambda: set_up(library, request.asking.supplies))
    title, targets = _targets(library, request, lambda: at_hand().swatched)
    bench = at_hand()
    find, matches = Tables(len(targets)).find, []
    for done, target in enumerate(targets):
        matches.append(find_match(target, bench, request.asking, watch=None, finder=find))
        if watch:
            watch(done + 1, len(targets))
    return check_matches(
        library, matches, bench, request.asking, lights=lights, title=title, finder=find
    )


def lights_named(names: Sequence[str]) -> tuple[NamedLight, ...]:
    """Return the lights of these names, each once, daylight left out; for none the usual ones.

    Raises
    ------
    UnknownNameError, AmbiguousNameError
        For a light that is not there or not clear, and where daylight alone is named.
    """
    every = [find_light(name) for name in names] or [one for one in named_lights() if one.usual]
    others = tuple(one for one in dict.fromkeys(every) if one.cie != DAY)
    if not others:
        raise UnknownNameError(
            f"Matches are made for {find_light(DAY).name}: no other light was named.",
            hint="Choose another, such as a lamp; without any, the usual ones are taken.",
            command="--light lamp",
        )
    return others


def check_matches(
    library: Library,
    matches: Sequence[Match],
    bench: Bench,
    asking: Asking,
    *,
    lights: Sequence[NamedLight],
    title: str,
    finder: Finder | None = None,
) -> LightChecked:
    """See matches that are made already under other lights.

    Parameters
    ----------
    library
        Knows what was measured of the paper.
    matches, bench, asking
        The matches, what they were made from, and how.
    lights, title
        Under which, and what to call them all.
    finder
        Who searches, where tables are kept.
    """
    day, paper = find_light(DAY), _paper_in_doubt(library, bench)
    colors = tuple(
        _checked(match, bench, asking, day=day, lights=lights, paper=paper, finder=finder)
        for match in matches
    )
    return LightChecked(
        title=title,
        kit=bench.label,
        paper=bench.whole.paper.name,
        tolerance=asking.tolerance,
        day=day,
        lights=tuple(lights),
        colors=colors,
        notes=bench.notes + _notes(bench, colors),
    )


def _targets(
    library: Library, request: CheckLight, fit: FitAtHand
) -> tuple[str, tuple[Target, ...]]:
    paper = paper_of_targets(library, request.asking)
    typed = settle_targets(library, [Wanted(text) for text in request.colors], paper=paper, fit=fit)
    if request.file is None:
        return (request.colors[0] if len(request.colors) == 1 else "Colors"), typed
    title, targets = colors_in_file(library, request.file, request.source, paper=paper, fit=fit)
    return title, typed + targets


def _checked(
    match: Match,
    bench: Bench,
    asking: Asking,
    *,
    day: NamedLight,
    lights: Sequence[NamedLight],
    paper: tuple[str, ...],
    finder: Finder | None,
) -> ColorUnderLights:
    target, recipe = match.target, match.best.prediction.recipe
    tolerance = TOLERANCES[asking.tolerance]

    def seen(one: Recipe) -> LightedMatch:
        pair = pair_of(target, bench.whole, one, swatched=bench.swatched)
        return under_lights(pair, one, day=day, lights=lights, tolerance=tolerance)

    checked = ColorUnderLights(
        target=target,
        wanted=in_words(target.lab),
        best=match.best,
        check=seen(recipe),
        estimated=(*_target_in_doubt(target), *_colorants_in_doubt(bench, recipe), *paper),
    )
    if checked.check.holding is Holding.HOLDS:
        return checked
    question = _question(target, bench, asking, finder)
    laid = recipe.above(bench.over)
    found = steadiest(question, laid, spectrum_of(target), [day, *lights])
    if found.recipe is None:
        return replace(checked, steadiest=found)
    check = seen(bench.over.then(found.recipe))
    cost = float(asking.ranking.difference(target.lab, check.by_day.lab))
    instead = candidate_of(question, found.recipe, cost)
    return replace(checked, steadiest=found, instead=instead, instead_check=check)


def _question(target: Target, bench: Bench, asking: Asking, finder: Finder | None) -> Question:
    return Question(
        target=target,
        fit=bench.whole,
        limits=Limits(steps=asking.steps, coats=asking.coats, without=bench.without),
        ranking=asking.ranking,
        tolerance=TOLERANCES[asking.tolerance],
        over=bench.over,
        finder=finder,
        swatched=bench.swatched,
    )


def _target_in_doubt(target: Target) -> Iterator[str]:
    if target.origin is Origin.SCREEN:
        yield "the color wanted is a screen's"
    elif target.reflectance is None:
        yield "of the color wanted no spectrum is known"


def _colorants_in_doubt(bench: Bench, recipe: Recipe) -> Iterator[str]:
    guessed = guessed_spectra(bench.whole, recipe)
    if guessed:
        yield f"no spectrum was measured of {listed([c.name for c in guessed])}"


def _paper_in_doubt(library: Library, bench: Bench) -> tuple[str, ...]:
    paper = bench.whole.paper
    if not paper.measured:
        return ("the paper was not measured",)
    with library.look() as work:
        on_it = work.swatches(paper=paper.name)
    bare = {stored.swatch.basis for stored in on_it if not stored.swatch.recipe.steps}
    return ("no spectrum was measured of the paper",) if bare == {Basis.XYZ} else ()


def _notes(bench: Bench, colors: Sequence[ColorUnderLights]) -> tuple[str, ...]:
    spectra = [bench.whole.paper.reflectance] + [
        color.target.reflectance for color in colors if color.target.reflectance is not None
    ]
    said = [GLOWS] if any(float(spectrum.max()) > 1.0 for spectrum in spectra) else []
    count = sum(bool(color.estimated) for color in colors)
    if count and len(colors) > 1:
        said.append(f"Estimated are {count} of {len(colors)}.")
    if count:
        said.append(SMOOTHEST)
    return tuple(said)
