"""What to buy so that lessons can be made, and what it costs."""

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache, partial

from laydown import errors
from laydown.app.crew import Worker, each
from laydown.app.fits import SuppliesAtHand, kit_fit_for, paper_named, taught_fit
from laydown.app.lessons.lessons import TargetRow, new_lesson, read_lesson
from laydown.app.matches import colors
from laydown.app.matches.targets import targets_of_lesson
from laydown.app.runs import label_of, measured_shades
from laydown.app.tasks import GivenFile
from laydown.color.arrays import FloatArray
from laydown.documents.files.lists import PRICE_COLUMNS, PriceRow, read_prices
from laydown.match.outcome import Match, Target, Verdict
from laydown.match.question import Question, Way
from laydown.match.ranking import NOTHING, Watch
from laydown.media.kit.fit import AnyFit, predict_lab
from laydown.media.legible import name_key
from laydown.media.recipe import Colorant, Recipe, Step, Stock
from laydown.plan.kit import branch, problem
from laydown.plan.kit.choice import SIDE_SHARE, ColorMade, KitChoice, Wishes, color_made, ways_to
from laydown.plan.kit.choice import choose_kit as choose
from laydown.plan.lesson.lesson import Lesson
from laydown.store.library import Library, Work

__all__ = ["PRICE_COLUMNS", "PriceRow", "read_prices"]


def offers_of(
    work: Work,
    ranges: Sequence[str],
    colorants: Sequence[Colorant],
    rows: Sequence[PriceRow],
    *,
    source: str,
    priced_only: bool,
) -> tuple[problem.Offer, ...]:
    """Return what can be bought of ranges.

    Raises `DuplicateNameError` when a colorant has two prices; `BadFileError` when none has one
    that needs one.

    `colorants`: in the order in which offers count them; those of other ranges are owned. `rows`,
    `source`: the price list and its name; none and empty where nothing has a price. `priced_only`:
    whether a colorant without a price is left out, since the answer turns on prices.
    """
    spelled = {name_key(text) for c in colorants for text in (c.label, c.name, c.code)}

    @cache  # looking one up goes through all
    def named(name: str) -> Colorant | None:
        """Return the colorant that a price list means, or None for one of another range."""
        return work.find_colorant(name, among=colorants) if name_key(name) in spelled else None

    places = {colorant.label: place for place, colorant in enumerate(colorants)}
    singles = [(row, named(row.name)) for row in rows if row.kind == "single"]
    prices, sets = _prices(singles, ranges, colorants, source), []
    for row in rows:
        found = map(named, row.contents)
        held = {places[c.label] for c in found if c and c.range in ranges}
        if held:
            sets.append(problem.Offer(row.name, tuple(sorted(held)), row.price))
    if priced_only and not prices and not sets:
        raise errors.BadFileError(
            f"{f'{source} has' if source else 'There is'} no price for any colorant of"
            f" {' and '.join(ranges)}.",
            hint="List colorants as Range/Name, or a range by its name for all of it.",
        )
    one_by_one = [
        problem.Offer(c.label, (places[c.label],), prices.get(c.label, 0))
        for c in colorants
        if c.range in ranges and (c.label in prices or not priced_only)
    ]
    return (*one_by_one, *sets)


def _prices(
    singles: Sequence[tuple[PriceRow, Colorant | None]],
    ranges: Sequence[str],
    colorants: Sequence[Colorant],
    source: str,
) -> dict[str, int]:
    """Return the prices of single colorants by label; what a range costs each, where listed."""
    own: dict[str, int] = {}
    each: dict[str, int] = {}
    for row, found in singles:
        if found is None:
            each |= {r: row.price for r in ranges if name_key(r) == name_key(row.name)}
        elif found.label in own:
            raise errors.DuplicateNameError(
                f"{source}, line {row.line}: {found.label} has two prices."
            )
        elif found.range in ranges:
            own[found.label] = row.price
    return {c.label: each[c.range] for c in colorants if c.range in each} | own


@dataclass(frozen=True, slots=True)
class ChooseKit:
    """What is to be made, from what, and by what rules."""

    lessons: tuple[GivenFile, ...]
    ranges: tuple[str, ...] = ()
    """What could be bought, of any media; empty for all ranges swatched on the paper."""
    apart: bool = False
    """Whether each range is chosen from by itself, to stand side by side."""
    paper: str = ""
    """Name of the paper; empty for the library's only one."""
    kit: str = ""
    """Name of a kit that is owned already; empty for none."""
    out_of: str = ""
    """Name of a kit to choose out of, as for a journey, in place of what is sold; without a lesson
    all of its own colors are wanted. Empty for none."""
    must: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    """Names of colorants that are bought in any case, and that are not to be used."""
    aim: str = "fewest"
    """Fewest, cheapest or best."""
    most: int | None = None
    budget: int | None = None
    """How many purchases, and what they may cost in minor units; None for no limit."""
    tolerance: str = "class"
    """Sketch, class or close."""
    steps: int = 2
    coats: int = 2
    """The most of a recipe."""
    prices: GivenFile | None = None
    """A price list; None where nothing has a price."""
    seconds: float = 60.0
    """How long to try to prove the choice."""
    k_L: float = colors.USUAL_K_L  # noqa: N815  the symbol of the standard
    """How lightness weighs in what recipes are ranked by; below 1 it weighs more."""
    step: float | None = None
    coat: float | None = None
    """How much nearer each step and coat must bring a recipe; None for what is usual."""
    sense: bool = True
    """Whether the sense of the trade counts, of recipes that are near enough."""


@dataclass(frozen=True, slots=True, eq=False)
class KitGroup:
    """The choice within one range, or among all."""

    label: str
    choice: KitChoice
    """Its `unreachable` are those colors that a lesson converted to all of it calls out of
    reach."""
    longer: tuple[ColorMade, ...]
    """What none of the recipes that were counted makes, with the longer recipe that comes nearest
    from all that could be owned, where that isn't out of reach."""
    labs: tuple[FloatArray, ...]
    """CIELAB of one coat of each colorant of the choice."""


@dataclass(frozen=True, slots=True)
class KitsChosen:
    """The answer."""

    lessons: tuple[str, ...]
    paper: str
    tolerance: str
    out_of: str
    """The kit that was chosen out of; empty where it was to be bought."""
    steps: int
    coats: int
    """The most of each recipe that was counted."""
    groups: tuple[KitGroup, ...]
    """One, or one for each range."""


def choose_kit(library: Library, request: ChooseKit, *, watch: Watch | None = None) -> KitsChosen:
    """Choose what to buy.

    Raises `UnknownNameError` for names that aren't there, and where no range is swatched on the
    paper; `BadRecipeError` when the best is asked for of no number; `NotMeasuredError` when what
    must be bought was not swatched, or has no price; `BadFileError` when prices count and there are
    none.
    """
    if request.aim == "best" and request.most is None:
        raise errors.BadRecipeError(
            "The best of how many purchases?", hint="Say how many may be bought at most."
        )
    lessons = [read_lesson(f.content, source=f.source) for f in request.lessons]
    if request.out_of and not lessons:
        lessons = [_all_of(library, request.out_of, request.paper)]
    prices = request.prices
    rows = read_prices(prices.content, source=prices.source) if prices else ()
    with library.look() as work:
        paper, names, wishes = _looked_up(work, request, rows)
    parts = [[name] for name in names] if request.apart else [names]
    group = partial(
        _group, library, request, paper=paper, lessons=lessons, wishes=wishes, rows=rows
    )
    groups = tuple(
        group(names=part, clock=_clock(watch, place, len(parts), seconds=request.seconds))
        for place, part in enumerate(parts)
    )
    return KitsChosen(
        lessons=tuple(lesson.title for lesson in lessons),
        paper=paper,
        tolerance=request.tolerance,
        out_of=request.out_of,
        steps=request.steps,
        coats=request.coats,
        groups=groups,
    )


def _looked_up(
    work: Work, request: ChooseKit, rows: Sequence[PriceRow]
) -> tuple[str, list[str], Wishes]:
    """Return the paper, the ranges to choose from, and what the choice must keep to."""
    paper = paper_named(work, request.paper)
    names = [work.find_range(n).name for n in request.ranges] or [
        r.name for r in work.ranges() if work.swatches(range=r.name, paper=paper)
    ]
    taken = _at_hand(work, request.out_of) if request.out_of else ()
    names = sorted({c.range for c in taken}) or names
    if not names:
        raise errors.UnknownNameError(
            f"No range is swatched on {paper}.", hint="Swatch one, or name another paper."
        )
    stock = work.stock(request.kit) if request.kit else {}
    owned = work.kit(request.kit) if request.kit else ()
    owned = tuple(c for c in owned if stock[c.label] is not Stock.USED_UP)
    for_sale = (c for name in names for c in work.colorants(name))
    known = tuple(dict.fromkeys((*owned, *for_sale)))
    never = [work.find_colorant(n, among=known) for n in request.never]
    wishes = Wishes(
        aim=problem.Aim(request.aim),
        owned=frozenset(owned),
        never=frozenset((*never, *(c for c in known if taken and c not in taken))),
        must=frozenset(work.find_colorant(n, among=known).label for n in request.must),
        most=request.most,
        budget=request.budget,
        extras=tuple((r.name, r.price) for r in rows if r.kind == "extra"),
        currency=next((r.currency for r in rows if r.currency), ""),
    )
    return paper, names, wishes


def _at_hand(work: Work, kit: str) -> tuple[Colorant, ...]:
    stock = work.stock(kit)
    return tuple(c for c in work.kit(kit) if stock[c.label].at_hand)


def _all_of(library: Library, kit: str, paper: str) -> Lesson:
    """Return the colors of a kit as a lesson: one coat of each that is swatched on a paper."""
    with library.look() as work:
        on, own = paper_named(work, paper), {c.label for c in _at_hand(work, kit)}
    labels = [label for one in measured_shades(library, on) if (label := label_of(one)) in own]
    if not labels:
        raise errors.NotMeasuredError(
            f"Nothing of {kit} is swatched on {on}.", hint="Swatch it there, or name another paper."
        )
    rows = tuple(
        TargetRow(line, label, label.partition("/")[2]) for line, label in enumerate(labels, 1)
    )
    return new_lesson(library, None, kit, title=f"all of {kit}", paper=on, rows=rows)


def _clock(watch: Watch | None, place: int, parts: int, *, seconds: float) -> branch.Clock:
    """Return a clock that tells the watch how far the time of one of the parts is over."""
    begin, longest = time.monotonic(), (1.0 + 2.0 * SIDE_SHARE) * seconds

    def clock() -> float:
        now = time.monotonic()
        if watch:
            watch(round(100 * (place + min(0.99, (now - begin) / longest))), 100 * parts)
        return now

    return clock


def _targets(lessons: Sequence[Lesson], fit: AnyFit) -> list[Target]:
    """Return the colors of all lessons, by their own recipes where a fit knows these."""
    return [
        replace(target, name=f"{lesson.title}: {target.name}" if len(lessons) > 1 else target.name)
        for lesson in lessons
        for target in targets_of_lesson(lesson, fit)
    ]


def _group(
    library: Library,
    request: ChooseKit,
    names: Sequence[str],
    clock: branch.Clock,
    *,
    paper: str,
    lessons: Sequence[Lesson],
    wishes: Wishes,
    rows: Sequence[PriceRow],
) -> KitGroup:
    prices = request.prices
    owned = tuple(sorted({c.range for c in wishes.owned}))
    swatched = kit_fit_for(library, tuple(names), paper, also=owned)
    fit, _ = taught_fit(library, swatched, request.kit)
    with library.look() as work:
        offers = offers_of(
            work,
            names,
            fit.colorants,
            rows,
            source=prices.source if prices else "",
            priced_only=request.aim == "cheapest" or request.budget is not None,
        )
    said = {name: getattr(request, name) for name in ("tolerance", "k_L", "step", "coat", "sense")}
    asking = colors.Asking(top=1, **said)
    label = " and ".join(names)
    without = _left_out(fit, wishes, offers)
    bench = SuppliesAtHand(label, fit, swatched, without, NOTHING, ())
    short = replace(asking, steps=request.steps, coats=request.coats)
    targets = _targets(lessons, swatched)

    def watch(done: int, total: int) -> None:
        clock()

    ways = each(partial(_ways_to, bench, short, len(targets)), targets, watch)
    questions = [colors.question_of(target, bench, short) for target in targets]
    doubtful = _converted(questions, ways, bench, asking, watch)
    out = tuple(n for n, match in doubtful.items() if match.best.verdict is Verdict.OUT_OF_REACH)
    found = choose(
        questions,
        ways,
        fit.colorants,
        offers,
        replace(wishes, must=_offered(wishes.must, names, offers)),
        seconds=request.seconds,
        clock=clock,
        out=frozenset(out),
    )
    longer = tuple(
        color_made(match.target, match.best)
        for name, match in doubtful.items()
        if name in found.unreachable and name not in out
    )
    labs = predict_lab(fit, [Recipe((Step(c),)) for c in found.colorants])
    return KitGroup(label, replace(found, unreachable=out), longer, tuple(labs))


def _ways_to(
    bench: SuppliesAtHand, asking: colors.Asking, many: int
) -> Worker[Target, tuple[Way, ...]]:
    """Return what finds what any purchase would give for a color, with tables that all share."""
    find = colors.Tables(many).find

    def answer(target: Target, watch: Watch | None = None) -> tuple[Way, ...]:
        return ways_to(colors.question_of(target, bench, asking, find))

    return answer


def _left_out(fit: AnyFit, wishes: Wishes, offers: Sequence[problem.Offer]) -> frozenset[str]:
    """Return the labels of a fit's colorants that are neither owned nor to be had, or unwanted."""
    usable = {colorant.label for colorant in wishes.owned}
    usable |= {fit.colorants[place].label for offer in offers for place in offer.colorants}
    usable -= {colorant.label for colorant in wishes.never}
    return frozenset(c.label for c in fit.colorants if c.label not in usable)


def _converted(
    questions: Sequence[Question],
    ways: Sequence[Sequence[Way]],
    bench: SuppliesAtHand,
    asking: colors.Asking,
    watch: Watch,
) -> dict[str, Match]:
    """Match what may be out of reach as the conversion of a lesson does, by its own recipes.

    A color out of reach costs more than two tolerances, one for being off and one for being missed.
    So what some recipe makes for less need not be asked.
    """
    doubtful = [
        question.target
        for question, (best, *_) in zip(questions, ways, strict=True)
        if best.cost > 2.0 * question.tolerance
    ]
    matches = colors.find_matches(doubtful, bench, asking, watch)
    return {target.name: match for target, match in zip(doubtful, matches, strict=True)}


def _offered(
    must: frozenset[str], names: Sequence[str], offers: Sequence[problem.Offer]
) -> frozenset[str]:
    """Return the names of the offers that are bought in any case, of those of these ranges."""
    wanted = {label for label in must if label.partition("/")[0] in names}
    missing = sorted(wanted - {offer.name for offer in offers})
    if missing:
        raise errors.NotMeasuredError(
            f"{', '.join(missing)} can't be bought here.",
            hint="It must be swatched on this paper, and have a price where prices count.",
        )
    return frozenset(wanted)
