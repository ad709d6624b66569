"""Which matches hold under other lights, as an answer and as a report."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cache

from laydown.app.fits import SuppliesAtHand, set_up
from laydown.app.matches.colors import Asking, Tables, find_matches, question_of, targets_asked
from laydown.app.words import ColorInWords, in_words
from laydown.color import naming, value
from laydown.color.arrays import FloatArray
from laydown.color.light import DAY, NamedLight, find_light, named_lights
from laydown.color.screen import screen_color
from laydown.documents.files.csv import write_csv
from laydown.documents.print import entries, layout, reports
from laydown.errors import UnknownNameError
from laydown.match import judge, outcome, pairing
from laydown.match.acceptance import acceptance_words
from laydown.match.ranking import Watch
from laydown.match.search.search import Finder
from laydown.media.kit.fit import guessed_spectra
from laydown.media.recipe import Recipe, format_recipe
from laydown.media.recipe_words import recipe_words
from laydown.media.swatch import Basis
from laydown.plan.light.lights import (
    Holding,
    LightedMatch,
    Steadiest,
    UnderLight,
    change_words,
    index_words,
    instead_words,
    listed,
    steadiest,
    summary_words,
    under_lights,
    verdict_sentence,
    verdict_words,
)
from laydown.store.library import Library

SMOOTHEST = (
    "Where no spectrum was measured the smoothest one is taken, and the ranges are wider for it."
)
GLOWS = "Brightener in paper or color glows by day and not under a lamp; that is not reckoned here."


@dataclass(frozen=True, slots=True)
class CheckLight:
    """The colors to check, the lights, and how a match is looked for."""

    colors: tuple[str, ...] = ()
    file: bytes | None = None
    source: str = ""
    """Content and name of a lesson, a picture's plan or a list of colors; None for none."""
    lights: tuple[str, ...] = ()
    """Names of lights, see `laydown.color.light.find_light`; none for the usual ones."""
    asking: Asking = field(default_factory=Asking)


@dataclass(frozen=True, slots=True, eq=False)
class ColorUnderLights:
    """One wanted color, its match, and what becomes of that under other lights."""

    target: outcome.Target
    wanted: ColorInWords
    best: outcome.Candidate
    check: LightedMatch
    """The match made for daylight, and how it fares."""
    estimated: tuple[str, ...]
    """Why this is an estimate, a phrase each; empty where all of it rests on measured spectra."""
    instead: outcome.Candidate | None = None
    instead_check: LightedMatch | None = None
    """A recipe that holds better, judged by day, and how it fares; None where none does or the
    match holds."""
    steadiest: Steadiest | None = None
    """What the search for that came to; None where the match holds."""


@dataclass(frozen=True, slots=True, eq=False)
class LightChecked:
    """Which matches hold."""

    title: str
    kit: str
    paper: str
    tolerance: str
    day: NamedLight
    lights: tuple[NamedLight, ...]
    """The light matches are made for, and those they are seen under."""
    colors: tuple[ColorUnderLights, ...]
    notes: tuple[str, ...]
    """On supplies, and on what can't be told."""

    def count(self, holding: Holding) -> int:
        """Return how many matches have this as the worst of their verdicts."""
        return sum(color.check.holding is holding for color in self.colors)


def check_light(
    library: Library, request: CheckLight, *, watch: Watch | None = None
) -> LightChecked:
    """Match each color by day, then see the match under other lights."""
    lights = lights_named(request.lights)
    at_hand = cache(lambda: set_up(library, request.asking.supplies))
    title, targets = targets_asked(
        library,
        request.colors,
        request.file,
        request.source,
        asking=request.asking,
        fit=lambda: at_hand().swatched,
    )
    title = title or (request.colors[0] if len(request.colors) == 1 else "Colors")
    bench = at_hand()
    matches = find_matches(targets, bench, request.asking, watch)
    find = Tables(len(targets)).find
    return check_matches(
        library, matches, bench, request.asking, lights=lights, title=title, finder=find
    )


def lights_named(names: Sequence[str]) -> tuple[NamedLight, ...]:
    """Return the lights of these names, each once, daylight left out; for none the usual ones.

    Raises `UnknownNameError` and `AmbiguousNameError` for a light that is not there or not clear,
    and where daylight alone is named.
    """
    every = [find_light(name) for name in names] or [one for one in named_lights() if one.usual]
    day = find_light(DAY)
    others = tuple(one for one in dict.fromkeys(every) if one != day)
    if not others:
        raise UnknownNameError(
            f"Matches are made for {day.name}: no other light was named.",
            hint="Choose another, such as a lamp; without any, the usual ones are taken.",
            command="--light lamp",
        )
    return others


def check_matches(
    library: Library,
    matches: Sequence[outcome.Match],
    bench: SuppliesAtHand,
    asking: Asking,
    *,
    lights: Sequence[NamedLight],
    title: str,
    finder: Finder | None = None,
) -> LightChecked:
    """See matches that are made already under other lights."""
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


def _checked(
    match: outcome.Match,
    bench: SuppliesAtHand,
    asking: Asking,
    *,
    day: NamedLight,
    lights: Sequence[NamedLight],
    paper: tuple[str, ...],
    finder: Finder | None,
) -> ColorUnderLights:
    target, recipe = match.target, match.best.prediction.recipe
    tolerance = judge.TOLERANCES[asking.tolerance]

    def seen(one: Recipe) -> LightedMatch:
        pair = pairing.pair_of(target, bench.whole, one, swatched=bench.swatched)
        return under_lights(pair, one, day=day, lights=lights, tolerance=tolerance)

    checked = ColorUnderLights(
        target=target,
        wanted=in_words(target.lab),
        best=match.best,
        check=seen(recipe),
        estimated=(*_in_doubt(target, bench, recipe), *paper),
    )
    if checked.check.holding is Holding.HOLDS:
        return checked
    question = question_of(target, bench, asking, finder)
    laid = recipe.above(bench.over)
    found = steadiest(question, laid, pairing.spectrum_of(target), [day, *lights])
    if found.recipe is None:
        return replace(checked, steadiest=found)
    check = seen(bench.over.then(found.recipe))
    instead = judge.candidate_of(question, found.recipe)
    return replace(checked, steadiest=found, instead=instead, instead_check=check)


def _in_doubt(target: outcome.Target, bench: SuppliesAtHand, recipe: Recipe) -> Iterator[str]:
    if target.origin is outcome.Origin.SCREEN:
        yield "the color wanted is a screen's"
    elif target.reflectance is None:
        yield "of the color wanted no spectrum is known"
    guessed = guessed_spectra(bench.whole, recipe)
    if guessed:
        yield f"no spectrum was measured of {listed([c.name for c in guessed])}"


def _paper_in_doubt(library: Library, bench: SuppliesAtHand) -> tuple[str, ...]:
    paper = bench.whole.paper
    if not paper.measured:
        return ("the paper was not measured",)
    with library.look() as work:
        on_it = work.swatches(paper=paper.name)
    bare = {stored.swatch.basis for stored in on_it if not stored.swatch.recipe.steps}
    return ("no spectrum was measured of the paper",) if bare == {Basis.XYZ} else ()


def _notes(bench: SuppliesAtHand, colors: Sequence[ColorUnderLights]) -> tuple[str, ...]:
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


HOW_TO_READ = (
    (
        "Each pair of patches is the color wanted and, to its right, the match, as an eye used to"
        " that light sees them; under it how far apart they are there (CIEDE2000), and both values."
    ),
    (
        "Holds: you won't notice the light. Drifts: noticeable, still acceptable. Breaks: close by"
        " day and no longer close there; or off by day and noticeably further off there."
    ),
    (
        "The index is the special metamerism index (ISO 18314-4; CIE 15) from daylight D50 to the"
        " light: how far the pair comes apart once what is off by day is taken out. The range holds"
        " it 80 times in 100."
    ),
)
COLUMNS = (
    *("passage", "role", "name", "recipe", "light", "cie", "verdict", "off", "what_is_off"),
    *("apart", "index", "index_low", "index_high", "acceptance", "wanted_L", "wanted_a"),
    *("wanted_b", "wanted_value", "match_L", "match_a", "match_b", "match_value"),
    *("instead", "estimated", "kit", "paper", "tolerance"),
)


def light_report(found: LightChecked) -> reports.Report:
    """Return the report of a check."""
    moved = [color for color in found.colors if color.steadiest]
    sections = [
        _grid("Which matches hold", found, _seen_under, lambda color: ""),
        reports.Section("What to lay instead", tuple(_instead_rows(moved))),
        replace(_grid("Numbers", found, _numbers_under, _remark), apart=True),
        reports.Section("Those that don't hold", tuple(r for c in moved for r in _rows(c, found))),
        reports.Section(
            "The lights",
            tuple(
                reports.ReportRow(f"{one.name} ({one.cie})", f"{one.kind}.")
                for one in (found.day, *found.lights)
            ),
        ),
        reports.Section(
            "How to read it",
            tuple(reports.ReportRow("", text) for text in (*HOW_TO_READ, *found.notes)),
        ),
    ]
    lead = (
        f"From {found.kit} on {found.paper}, matched for {found.day.name} ({found.day.cie}).",
        " ".join(_in_three_sentences(found)),
    )
    title = f"{found.title}, under other lights"
    return reports.Report(
        title, lead, tuple(s for s in sections if s.rows or s.columns), layout.SHOWN_COLORS
    )


def _in_three_sentences(found: LightChecked) -> Iterator[str]:
    """Say how many hold, under which light fewest do, and what to do."""
    checks = [color.check for color in found.colors]
    yield summary_words(checks) if len(checks) > 1 else f"It {verdict_words(checks[0])}."
    lost = [sum(one.lights[n].holding is not Holding.HOLDS for one in checks)
            for n in range(len(found.lights))]  # fmt: skip
    if not any(lost):
        yield "Each pair below stays a pair under every light."
        return
    worst = max(range(len(lost)), key=lambda n: lost[n])
    lamp, all_ = found.lights[worst].short, len(checks)
    yield f"Fewest hold under the {lamp}: {lost[worst]} of {all_} don't."
    yield (
        "Where a word stands beside a pair, you will see the two come apart: try the recipe below"
        " under that light before you use it."
    )


def _instead_rows(moved: Sequence[ColorUnderLights]) -> Iterator[reports.ReportRow]:
    for color in moved:
        if color.instead and color.instead_check:
            said = f"{recipe_words(color.instead.prediction.recipe)}. "
            told = f"{said[:1].upper()}{said[1:]}{verdict_sentence(color.instead_check)}."
            yield reports.ReportRow(entries.name_of(color.target), told, box=True)
    rest = [entries.name_of(color.target) for color in moved if not color.instead]
    if rest:
        yield reports.ReportRow("", f"Nothing at hand holds better for: {'; '.join(rest)}.")


def _grid(
    title: str,
    found: LightChecked,
    cells_of: Callable[[LightedMatch], Sequence[reports.GridCell]],
    remark_of: Callable[[ColorUnderLights], str],
) -> reports.Section:
    names = tuple(f"{one.short} ({one.cie})" for one in (found.day, *found.lights))
    lines = (
        (entries.name_of(color.target), remark_of(color), tuple(cells_of(color.check)))
        for color in found.colors
    )
    return reports.Section(title, columns=names, lines=tuple(lines))


def _seen_under(check: LightedMatch) -> Sequence[reports.GridCell]:
    """Show the wanted color beside the match under each light, with a word where it fails."""
    return [
        reports.GridCell(("" if seen.holding is Holding.HOLDS else str(seen.holding),), _pair(seen),
                 strong=seen.holding is Holding.BREAKS, beside=True)
        for seen in (check.by_day, *check.lights)
    ]  # fmt: skip


def _numbers_under(check: LightedMatch) -> Sequence[reports.GridCell]:
    words = ("by day", *(str(seen.holding) for seen in check.lights))
    return [
        reports.GridCell(
            (
                word,
                f"{seen.difference.delta_e:.1f} off",
                f"value {in_words(seen.wanted).value:.1f} / {in_words(seen.lab).value:.1f}",
            )
        )
        for word, seen in zip(words, (check.by_day, *check.lights), strict=True)
    ]


def _remark(color: ColorUnderLights) -> str:
    place = ", ".join(word for word in (color.target.passage, color.target.role) if word)
    recipe = recipe_words(color.check.recipe)
    remark = f"{place}: {recipe}" if place else recipe
    return remark + (" (estimated)" if color.estimated else "")


def _pair(seen: UnderLight) -> tuple[str, str]:
    return screen_color(seen.wanted), screen_color(seen.lab)


def _rows(color: ColorUnderLights, found: LightChecked) -> Iterator[reports.ReportRow]:
    told = f"{verdict_sentence(color.check)}."
    if color.estimated:
        told += f" Estimated, since {'; '.join(color.estimated)}."
    yield reports.ReportRow(entries.name_of(color.target), told)
    for seen in color.check.lights:
        if seen.holding is not Holding.HOLDS:
            yield reports.ReportRow("", _told(seen, found), _pair(seen))
    if color.steadiest:
        yield reports.ReportRow("", _instead(color))


def look_words(seen: UnderLight) -> str:
    """Say how the color wanted looks under a light, to an eye used to it."""
    return f"{naming.color_name(seen.wanted)}, value {float(value.value_from_lab(seen.wanted)):.1f}"


def off_words(seen: UnderLight, tolerance: str) -> str:
    """Say all that is off under a light, the index, and how likely the match is accepted there."""
    index = "" if seen.light.cie == DAY else f" index {index_words(seen)};"
    return (
        f"{seen.difference.words} ({seen.difference.delta_e:.1f});{index}"
        f" {acceptance_words(seen.acceptance, tolerance)}"
    )


def _told(seen: UnderLight, found: LightChecked) -> str:
    return (
        f"Under the {seen.light.short} ({seen.light.cie}) the color wanted looks"
        f" {look_words(seen)}; the match {change_words(seen)}. Off there:"
        f" {off_words(seen, found.tolerance)}."
    )


def _instead(color: ColorUnderLights) -> str:
    said = instead_words(color.steadiest) if color.steadiest else ""
    if not (color.instead and color.instead_check):
        return said
    return (
        f"Instead: {recipe_words(color.instead.prediction.recipe)}."
        f" {verdict_sentence(color.instead_check)}. {said}"
    )


def light_csv(found: LightChecked) -> str:
    """Return a check as CSV (RFC 4180), one line for each color and light, daylight first."""
    rows = (
        _cells(color, seen, found)
        for color in found.colors
        for seen in (color.check.by_day, *color.check.lights)
    )
    return write_csv(COLUMNS, ([row[column] for column in COLUMNS] for row in rows))


def _cells(color: ColorUnderLights, seen: UnderLight, found: LightChecked) -> dict[str, str]:
    low, high = seen.index_range
    instead = format_recipe(color.instead.prediction.recipe) if color.instead else ""
    by_day = seen is color.check.by_day
    return {
        "passage": color.target.passage,
        "role": color.target.role,
        "name": color.target.name,
        "recipe": format_recipe(color.check.recipe),
        "light": seen.light.name,
        "cie": seen.light.cie,
        "verdict": "by day" if by_day else str(seen.holding),
        "off": f"{seen.difference.delta_e:.1f}",
        "what_is_off": seen.difference.words,
        "apart": "" if by_day else seen.apart,
        "index": "" if by_day else f"{seen.index:.1f}",
        "index_low": "" if by_day else f"{low:.1f}",
        "index_high": "" if by_day else f"{high:.1f}",
        "acceptance": f"{seen.acceptance:.2f}",
        **_numbers("wanted", seen.wanted),
        **_numbers("match", seen.lab),
        "instead": instead,
        "estimated": "; ".join(color.estimated),
        "kit": found.kit,
        "paper": found.paper,
        "tolerance": found.tolerance,
    }


def _numbers(which: str, lab: FloatArray) -> dict[str, str]:
    cells = {f"{which}_{axis}": f"{number:z.1f}" for axis, number in zip("Lab", lab, strict=True)}
    return {**cells, f"{which}_value": f"{float(value.value_from_lab(lab)):.1f}"}
