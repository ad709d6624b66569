"""What recipes may be made from: a kit or whole ranges, on one paper."""

from collections.abc import Sequence
from dataclasses import dataclass

from laydown.app.fits import kept
from laydown.errors import NotMeasuredError, UnknownNameError
from laydown.media.kit.fit import AnyFit, segments
from laydown.media.recipe import Colorant, Recipe, parse_recipe
from laydown.store.library import Library, Work


@dataclass(frozen=True, slots=True)
class Supplies:
    """What a door says of the supplies."""

    kit: str = ""
    """Name of a kit; empty where ranges are named."""
    ranges: tuple[str, ...] = ()
    """Names of ranges that are at hand as a whole."""
    paper: str = ""
    """Name of the paper; empty where the library has only one."""
    without: tuple[str, ...] = ()
    over: str = ""
    """What lies on the paper already, as a recipe in its text form."""
    swatched_on: str = ""
    """Name of another paper to carry the colorants over from; empty where they were swatched on
    this one."""


@dataclass(frozen=True, slots=True, eq=False)
class SuppliesAtHand:
    """Supplies, looked up and fitted."""

    label: str
    whole: AnyFit
    """The fit of all ranges that they and what lies there come from; as trials have moved it."""
    swatched: AnyFit
    """The same as swatches alone tell it."""
    without: frozenset[str]
    """Labels of colorants of the fit that are not to be used."""
    over: Recipe
    """What lies on the paper already."""
    notes: tuple[str, ...]
    """Sentences on what trials taught, and on supplies that could not be considered."""


@dataclass(frozen=True, slots=True)
class NamedSupplies:
    """Supplies, looked up."""

    label: str
    paper: str
    """Name of the paper as the library writes it."""
    owned: tuple[Colorant, ...]
    without: frozenset[str]
    """Labels of what is not to be used."""
    over: Recipe
    """What lies on the paper already."""
    gone: tuple[str, ...] = ()
    """Names of what is used up or on loan, with that word."""


def set_up(
    library: Library, supplies: Supplies, *, by_trials: bool = True, whole_box: bool = False
) -> SuppliesAtHand:
    """Look up the supplies and fit them.

    Parameters
    ----------
    by_trials
        Whether what trials of this kit on this paper taught is to count.
    whole_box
        Whether what of the kit is used up or on loan is to count, too.

    Raises
    ------
    NotMeasuredError
        When nothing of them was swatched on this paper.
    BadRecipeError
        When what lies there was laid in an order that ruins tools or work.
    """
    named = look_up(library, supplies, whole_box=whole_box)
    below = sorted({c.range for c in named.over.colorants})
    owned = sorted({c.range for c in named.owned})
    fit = (
        kept.carried_fit_for(library, sorted({*below, *owned}), named.paper, supplies.swatched_on)
        if supplies.swatched_on
        else kept.kit_fit_for(library, below, named.paper, also=owned)
    )
    usable = {c.label for c in named.owned} - named.without
    without = frozenset(c.label for c in fit.colorants if c.label not in usable)
    notes = _left_out(named, fit)
    if by_trials:
        taught, told = kept.taught_fit(library, fit, supplies.kit)
        return SuppliesAtHand(named.label, taught, fit, without, named.over, told + notes)
    return SuppliesAtHand(named.label, fit, fit, without, named.over, notes)


def look_up(library: Library, supplies: Supplies, *, whole_box: bool = False) -> NamedSupplies:
    """Look up all that a door names of supplies; nothing is fitted yet.

    A task looks up all that it was given before it sets up and searches: a name that is mistyped
    is told at once.

    Raises
    ------
    UnknownNameError, AmbiguousNameError, NotMeasuredError, BadRecipeError
        As `set_up` does, but for what was never swatched.
    """
    with library.look() as work:
        owned, label = _owned(work, supplies)
        without = [work.find_colorant(name, among=owned).label for name in supplies.without]
        stock = work.stock(supplies.kit) if supplies.kit and not whole_box else {}
        over = parse_recipe(supplies.over, lambda text: _find(work, text, owned))
        paper = paper_named(work, supplies.paper)
        if supplies.swatched_on:
            work.paper_name(supplies.swatched_on)
    segments(over)
    away = [c for c in owned if c.label in stock and not stock[c.label].at_hand]
    if len(away) == len(owned):
        raise NotMeasuredError(
            f"All that is in {label} is used up or on loan.",
            hint="Mark what is there again, or take another box.",
            command=f'laydown kit mark "{label}" NAME --as there',
        )
    without += [c.label for c in away]
    gone = tuple(f"{c.name} ({stock[c.label]})" for c in away)
    return NamedSupplies(label, paper, owned, frozenset(without), over, gone)


def _owned(work: Work, supplies: Supplies) -> tuple[tuple[Colorant, ...], str]:
    if supplies.kit:
        owned = work.kit(supplies.kit)
        if not owned:
            raise NotMeasuredError(
                f"The kit {supplies.kit} is empty.",
                hint="Put colorants into it.",
                command=f'laydown kit own "{supplies.kit}" NAME…',
            )
        return owned, supplies.kit
    names = [work.find_range(name).name for name in supplies.ranges] or [_only_range(work)]
    return tuple(c for name in names for c in work.colorants(name)), " and ".join(names)


def ranges_named(library: Library, names: Sequence[str]) -> tuple[str, ...]:
    """Return the names of ranges as the library writes them."""
    with library.look() as work:
        return tuple(work.find_range(name).name for name in names)


def _only_range(work: Work) -> str:
    names = [r.name for r in work.ranges()]
    return _only(names, "range", "Name a kit or a range", command="--kit or --range")


def paper_named(work: Work, name: str) -> str:
    """Return the name of a paper as the library writes it; the only one for an empty text."""
    if name:
        return work.paper_name(name)
    return _only(list(work.paper_names()), "paper", "Say which paper", command="--paper")


def _only(names: list[str], kind: str, ask: str, *, command: str) -> str:
    if len(names) == 1:
        return names[0]
    if not names:
        raise UnknownNameError(
            f"The library holds no {kind} yet.",
            hint="Bring in swatches first.",
            command="laydown swatches import",
        )
    raise UnknownNameError(
        f"There are {len(names)} {kind}s here.", hint=f"{ask}: {', '.join(names)}.", command=command
    )


def _find(work: Work, text: str, owned: tuple[Colorant, ...]) -> Colorant:
    """Find a colorant among one's own first, then in the whole library."""
    try:
        return work.find_colorant(text, among=owned)
    except UnknownNameError:
        return work.find_colorant(text)


def _left_out(named: NamedSupplies, fit: AnyFit) -> tuple[str, ...]:
    known = {c.label for c in fit.colorants}
    missing = [c.name for c in named.owned if c.label not in known]
    notes = [f"Left out: {_few(list(named.gone))}."] if named.gone else []
    if missing:
        notes.append(f"Not considered, since not swatched on {named.paper}: {_few(missing)}.")
    return tuple(notes)


def _few(names: list[str], most: int = 6) -> str:
    shown = ", ".join(names[:most])
    return shown if len(names) <= most else f"{shown} and {len(names) - most} more"
