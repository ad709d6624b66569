"""Choose what to buy so that lessons can be made: fewest, cheapest, or the best N."""

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

from laydown.app.kit_fits import kit_fit_for
from laydown.app.lesson_files import read_lesson
from laydown.app.supplies import paper_named
from laydown.documents.price_csv import PriceRow, read_prices
from laydown.errors import BadFileError, DuplicateNameError, UnknownNameError
from laydown.match.judge import TOLERANCES
from laydown.match.outcome import Target
from laydown.match.repertoire import repertoire
from laydown.match.search import Watch
from laydown.match.space import Limits
from laydown.media.colorant import Colorant
from laydown.plan.kit_choice import SIDE_SHARE, KitChoice, Wishes
from laydown.plan.kit_choice import choose_kit as choose
from laydown.plan.kit_model import Clock
from laydown.plan.kit_problem import Aim, Offer
from laydown.store.library import Library
from laydown.store.work import Work


@dataclass(frozen=True, slots=True)
class LessonFile:
    """A lesson file's content and name."""

    content: bytes
    source: str


@dataclass(frozen=True, slots=True)
class ChooseKit:
    """What is to be made, from what, and by what rules.

    Parameters
    ----------
    lessons
        Whose colors are to be made.
    ranges
        What could be bought, of any media; empty for all ranges swatched on the paper.
    apart
        Whether each range is chosen from by itself, to stand side by side.
    paper
        Name of the paper; empty for the library's only one.
    kit
        Name of a kit that is owned already; empty for none.
    must, never
        Names of colorants that are bought in any case, and that are not to be used.
    aim
        Fewest, cheapest or best.
    most, budget
        How many purchases, and what they may cost in minor units; None for no limit.
    tolerance
        Sketch, class or close.
    steps, coats
        The most of a recipe.
    prices
        A price list; None where nothing has a price.
    seconds
        How long to try to prove the choice.
    """

    lessons: tuple[LessonFile, ...]
    ranges: tuple[str, ...] = ()
    apart: bool = False
    paper: str = ""
    kit: str = ""
    must: tuple[str, ...] = ()
    never: tuple[str, ...] = ()
    aim: str = "fewest"
    most: int | None = None
    budget: int | None = None
    tolerance: str = "class"
    steps: int = 2
    coats: int = 2
    prices: LessonFile | None = None
    seconds: float = 60.0


@dataclass(frozen=True, slots=True)
class KitGroup:
    """The choice within one range, or among all."""

    label: str
    choice: KitChoice


@dataclass(frozen=True, slots=True)
class KitsChosen:
    """The answer.

    Parameters
    ----------
    lessons
        Titles.
    paper, tolerance
        What was asked of.
    groups
        One, or one for each range.
    """

    lessons: tuple[str, ...]
    paper: str
    tolerance: str
    groups: tuple[KitGroup, ...]


def choose_kit(library: Library, request: ChooseKit, *, watch: Watch | None = None) -> KitsChosen:
    """Choose what to buy.

    Parameters
    ----------
    library
        Where swatches and kits are.
    request
        What is to be made, and by what rules.
    watch
        Told again and again how much of the time is over; it may raise to stop the work.

    Raises
    ------
    UnknownNameError
        For names that aren't there, and where no range is swatched on the paper.
    """
    lessons = [read_lesson(f.content, source=f.source) for f in request.lessons]
    targets = [
        replace(t, name=f"{lesson.title}: {t.name}" if len(lessons) > 1 else t.name)
        for lesson in lessons
        for t in lesson.targets
    ]
    prices = request.prices
    rows = read_prices(prices.content, source=prices.source) if prices else ()
    with library.look() as work:
        paper = paper_named(work, request.paper)
        names = [work.find_range(n).name for n in request.ranges] or _swatched(work, paper)
        owned = work.kit(request.kit) if request.kit else ()
    if not names:
        raise UnknownNameError(
            f"No range is swatched on {paper}.",
            hint="Swatch one, or name another paper.",
        )
    parts = [[name] for name in names] if request.apart else [names]
    needs = _Needs(paper, tuple(targets), tuple(owned), rows)
    groups = tuple(
        _group(
            library, request, part, needs, _clock(watch, place, len(parts), seconds=request.seconds)
        )
        for place, part in enumerate(parts)
    )
    return KitsChosen(tuple(le.title for le in lessons), paper, request.tolerance, groups)


def _clock(watch: Watch | None, place: int, parts: int, *, seconds: float) -> Clock:
    """Return a clock that tells the watch how far the time of one of the parts is over."""
    begin, longest = time.monotonic(), (1.0 + 2.0 * SIDE_SHARE) * seconds

    def clock() -> float:
        now = time.monotonic()
        if watch:
            watch(round(100 * (place + min(0.99, (now - begin) / longest))), 100 * parts)
        return now

    return clock


def _swatched(work: Work, paper: str) -> list[str]:
    return [r.name for r in work.ranges() if work.swatches(range=r.name, paper=paper)]


@dataclass(frozen=True, slots=True, eq=False)
class _Needs:
    """What every group shares: the paper, the colors, what is owned, the price list."""

    paper: str
    targets: tuple[Target, ...]
    owned: tuple[Colorant, ...]
    rows: tuple[PriceRow, ...]


def _group(
    library: Library, request: ChooseKit, names: Sequence[str], needs: _Needs, clock: Clock
) -> KitGroup:
    owned, rows = needs.owned, needs.rows
    fit = kit_fit_for(library, names, needs.paper, also=sorted({c.range for c in owned}))
    with library.look() as work:
        must = [work.find_colorant(n, among=fit.colorants) for n in request.must]
        never = [work.find_colorant(n, among=fit.colorants) for n in request.never]
        offers = _offers(work, fit.colorants, names, rows, request)
    wishes = Wishes(
        aim=Aim(request.aim),
        tolerance=TOLERANCES[request.tolerance],
        owned=frozenset(owned),
        never=frozenset(never),
        must=frozenset(c.label for c in must),
        most=request.most,
        budget=request.budget,
        extras=tuple((r.name, r.price) for r in rows if r.kind == "extra"),
        currency=next((r.currency for r in rows if r.currency), ""),
    )
    recipes = repertoire(fit, limits=Limits(steps=request.steps, coats=request.coats))
    found = choose(needs.targets, recipes, offers, wishes, seconds=request.seconds, clock=clock)
    return KitGroup(" and ".join(names), found)


def _offers(
    work: Work,
    colorants: Sequence[Colorant],
    names: Sequence[str],
    rows: Sequence[PriceRow],
    request: ChooseKit,
) -> tuple[Offer, ...]:
    """Return what can be bought: every colorant of these ranges singly, and the sets listed."""
    places = {c.label: i for i, c in enumerate(colorants)}
    for_sale = [c for c in colorants if c.range in names]
    singles = {c.label: Offer(c.label, (places[c.label],), 0) for c in for_sale}
    priced, sets = set(), []
    for row in rows:
        contents = row.contents if row.kind == "set" else (row.name,)
        if row.kind == "extra":
            continue
        found = [
            c for c in (_sold(work, n, colorants) for n in contents) if c and c.label in places
        ]
        held = tuple(sorted(places[c.label] for c in found if c.range in names))
        if row.kind == "set" and held:
            sets.append(Offer(row.name, held, row.price))
        elif held:
            label = found[0].label
            if label in priced:
                source = request.prices.source if request.prices else ""
                raise DuplicateNameError(f"{source}, line {row.line}: {label} has two prices.")
            priced.add(label)
            singles[label] = Offer(label, held, row.price)
    if rows and request.aim == "cheapest":
        singles = {label: offer for label, offer in singles.items() if label in priced}
        if not singles and not sets:
            source = request.prices.source if request.prices else ""
            raise BadFileError(
                f"{source} has no price for any colorant of {' and '.join(names)}.",
                hint="Name colorants as Range/Name.",
            )
    return (*singles.values(), *sets)


def _sold(work: Work, name: str, colorants: Sequence[Colorant]) -> Colorant | None:
    """Return the colorant that a price list means, or None for one of another range."""
    try:
        return work.find_colorant(name, among=colorants)
    except UnknownNameError:
        return None
