"""What recipes may be made from, on one paper, and its fit: kept while swatches stay the same."""

import hashlib
import json
from collections.abc import Collection, Sequence
from dataclasses import astuple, dataclass
from functools import lru_cache
from types import GenericAlias
from typing import Any, cast

import numpy as np

from laydown.app.encoding import MOST_VALUES, from_text, to_text
from laydown.color.lab import lab_from_reflectance
from laydown.color.spectra import WAVELENGTHS
from laydown.errors import LaydownError, NotMeasuredError, TooLargeError, UnknownNameError
from laydown.media.film import drying, fitting, model
from laydown.media.film.priors import film_priors
from laydown.media.inference.fit import Fit, OneFit
from laydown.media.inference.learning import Learned, learn
from laydown.media.kit.carrying import carry
from laydown.media.kit.fit import AnyFit, KitFit, MediumFit, segments
from laydown.media.legible import name_key
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MODEL_VERSION, MarkerFit, pool
from laydown.media.marker.priors import DEVIATES, usual_priors
from laydown.media.recipe import Colorant, Medium, Paper, Recipe, Step, parse_recipe
from laydown.media.swatch import Fill, Swatch, Trial
from laydown.store.library import Library, Work, remembered
from laydown.store.records import FitKey, TrialEntry


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


@remembered(16)
def set_up(
    library: Library, supplies: Supplies, *, by_trials: bool = True, whole_box: bool = False
) -> SuppliesAtHand:
    """Look up the supplies and fit them.

    `by_trials` says whether what trials of this kit on this paper taught is to count. `whole_box`
    says whether what of the kit is used up or on loan is to count, too. Raises `NotMeasuredError`
    when nothing of them was swatched on this paper. Raises `BadRecipeError` when what lies there
    was laid in an order that ruins tools or work.
    """
    named = look_up(library, supplies, whole_box=whole_box)
    below = tuple(sorted({c.range for c in named.over.colorants}))
    owned = tuple(sorted({c.range for c in named.owned}))
    both = tuple(sorted({*below, *owned}))
    fit = (
        carried_fit_for(library, both, named.paper, supplies.swatched_on)
        if supplies.swatched_on
        else kit_fit_for(library, below, named.paper, also=owned)
    )
    usable = {c.label for c in named.owned} - named.without
    without = frozenset(c.label for c in fit.colorants if c.label not in usable)
    notes = _left_out(named, fit)
    if by_trials:
        taught, told = taught_fit(library, fit, supplies.kit)
        return SuppliesAtHand(named.label, taught, fit, without, named.over, told + notes)
    return SuppliesAtHand(named.label, fit, fit, without, named.over, notes)


@remembered(16)
def look_up(library: Library, supplies: Supplies, *, whole_box: bool = False) -> NamedSupplies:
    """Look up all that a door names of supplies; nothing is fitted yet.

    A task looks up all that it was given before it sets up and searches: a name that is mistyped is
    told at once. Raises `UnknownNameError`, `AmbiguousNameError`, `NotMeasuredError` and
    `BadRecipeError` as `set_up` does, but for what was never swatched.
    """
    with library.look() as work:
        owned, label = _owned(work, supplies)
        without = [work.find_colorant(name, among=owned).label for name in supplies.without]
        stock = work.stock(supplies.kit) if supplies.kit and not whole_box else {}
        over = parse_recipe(supplies.over, lambda text: own_first(work, text, owned))
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
    names = [work.find_range(name).name for name in supplies.ranges]
    if not names:
        ranges = [r.name for r in work.ranges()]
        ask = "Name a kit or a range"
        names = [_only(ranges, "range", ask, command="--kit or --range")]
    return tuple(c for name in names for c in work.colorants(name)), " and ".join(names)


def ranges_named(library: Library, names: Sequence[str]) -> tuple[str, ...]:
    """Return the names of ranges as the library writes them."""
    with library.look() as work:
        return tuple(work.find_range(name).name for name in names)


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


def own_first(work: Work, text: str, owned: tuple[Colorant, ...]) -> Colorant:
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


def fit_shapes(medium: Medium, colorants: int) -> dict[str, tuple[int, ...]]:
    """Return the shape of each array of a fit of so many colorants, by its name."""
    priors = usual_priors() if medium is Medium.MARKER else film_priors(medium)
    effects, own, each = len(priors.names), len(priors.own_sd), (colorants,)
    all_of_them = effects + own * colorants
    shapes = {
        "effects": (effects,),
        "own": (colorants, own),
        "covariance": (all_of_them, all_of_them),
        "xyz_only": each,
        "most_coats": each,
    }
    if medium is not Medium.MARKER:
        spectra = colorants, len(WAVELENGTHS)
        return {**shapes, "references": spectra, "deep": spectra, "believed": each}
    return {
        **shapes,
        "ceiling": (len(WAVELENGTHS),),
        "paper_absorption": (len(WAVELENGTHS),),
        "absorption": (colorants, len(WAVELENGTHS)),
        "strength": each,
        "blender": each,
        "bend": DEVIATES.shape,
    }


# Fits read back from a library, which may have come from anybody: sound ones, or none.
#
# A fit is worked out from swatches, so one that can't be what it says is passed over and made
# anew.

PARAMETERS, KEPT_EFFECTS = 5, 40
"""Of each colorant, and of all together, at most: their square is how many numbers a fit has."""
AT_HAND_FIT_TEXT = 32
"""Fits that stay at hand once they are read, so that a color is answered live."""
read_again = lru_cache(AT_HAND_FIT_TEXT)(from_text)
"""No fit is ever changed, so one that was read stays what it is."""


def sound(
    text: str | None, kind: type[OneFit], colorants: Collection[Colorant], paper: Paper
) -> tuple[OneFit, tuple[str, ...]] | None:
    """Read a fit with notes on it, of some of these colorants on this paper; None for none.

    `text` is what `to_text` wrote of both, as the library has it; None where it has none. `kind`,
    `colorants` and `paper` are what it may be of. Far longer texts than such a fit has are
    not even read.
    """
    if text is None:
        return None
    most = max(MOST_VALUES, 2 * (KEPT_EFFECTS + PARAMETERS * len(colorants)) ** 2)
    try:
        fit, notes = read_again(text, GenericAlias(tuple, (kind, tuple[str, ...])), most=most)
        _check(fit, colorants, paper)
    except (ValueError, LaydownError):
        return None
    return fit, notes


def _check(fit: Fit, colorants: Collection[Colorant], paper: Paper) -> None:
    """Refuse a fit that can't be one of these: its fields are of their types by now."""
    shapes = fit_shapes(fit.medium, len(fit.colorants))
    for name, shape in shapes.items():
        numbers = getattr(fit, name)
        if numbers.shape != shape or not np.isfinite(numbers).all():
            raise ValueError(name)
    if isinstance(fit, model.FilmFit):
        _check_laydowns(fit)
    if fit.residuals.shape != (len(fit.measured), 36) or not np.isfinite(fit.residuals).all():
        raise ValueError("residuals")
    if not np.isfinite([*astuple(fit.noise), fit.measuring]).all():
        raise ValueError("a number is none")
    if not set(fit.colorants) <= set(colorants):
        raise ValueError("other colorants")
    if _said_of(fit.paper) != _said_of(paper) or not np.allclose(
        fit.paper.reflectance, paper.reflectance
    ):
        raise ValueError("another paper")


def _check_laydowns(fit: model.FilmFit) -> None:
    plain, deep = fit.reference_laydowns, fit.deep_laydowns
    if not len(plain) == len(deep) == len(fit.colorants):
        raise ValueError("laydowns")
    believed = (fit.believed > 0.0).tolist()
    if any(b and d.coats <= p.coats for p, d, b in zip(plain, deep, believed, strict=True)):
        raise ValueError("a deep swatch that isn't")


def _said_of(paper: Paper) -> tuple[object, ...]:
    return paper.name, paper.coats_limit, paper.measured, paper.surface


# The fit for ranges on a paper: the one kept in the library where it still holds, else a new one.
#
# A kept fit holds while the model's version, the swatches, the paper's limit of coats and the
# range's list of colorants are what they were. Fits are made range by range, since ranges lie
# differently deep in the paper, and joined for a kit of several.

MOST_FITTED = 1000
"""Colorants of a range on a paper: a fit's covariance grows by the square of them."""
AT_HAND_FITS = 8
"""Kits whose fits stay at hand, so that a color is answered live."""
pooled = lru_cache(AT_HAND_FITS)(pool)
"""While fits are the same objects, so is the whole of them, and what is known of it."""


def fit_for(library: Library, ranges: Sequence[str], paper: str) -> MarkerFit:
    """Return the fit for these ranges on this paper.

    Raises `NotMeasuredError` for a range without a single swatch on this paper.
    """
    fits = [_medium_fit(library, [n], paper, Medium.MARKER, MarkerFit) for n in sorted(set(ranges))]
    return pooled(tuple(fits))


def _check_size(work: Work, ranges: Collection[str], paper: str) -> None:
    """Refuse a range whose fit would not end, before anything of it is read."""
    for one in work.coverage():
        if one.range in ranges and one.paper == paper and one.colorants > MOST_FITTED:
            raise TooLargeError(
                f"{one.range} has {one.colorants:,} colorants on {paper}; at most "
                f"{MOST_FITTED:,} of a range are fitted together.",
                hint="Bring in the swatches of those you use under a range name of their own.",
            )


def not_swatched(work: Work, range_name: str, paper: str) -> NotMeasuredError:
    """Return the error for a range of which nothing was swatched on a paper."""
    most = max(work.coverage(range_name), key=lambda one: one.swatches, default=None)
    told = f"No swatch of {range_name} on {paper} has been measured."
    lay = f"ay one coat of a few of its colorants on {paper}, measure and import them"
    if most is None:
        return NotMeasuredError(told, hint=f"L{lay}.")
    return NotMeasuredError(
        told,
        hint=f"Choose the paper {most.paper}: most of {range_name} is swatched there. Or l{lay}.",
        command=f'--paper "{most.paper}"',
    )


# The fit for a kit of any media on a paper.
#
# Markers are fitted range by range, as ever; pencils and washes a medium at a time, since the
# ranges of one share the paper's tooth and layers of two tell of both. A kept fit holds while
# what it rests on is what it was.

FILMS = tuple(medium for medium in Medium if medium is not Medium.MARKER)


@remembered(16)
def kit_fit_for(
    library: Library, ranges: tuple[str, ...], paper: str, *, also: tuple[str, ...] = ()
) -> AnyFit:
    """Return the fit for ranges, of whatever media, on this paper; a `MarkerFit` for markers alone.

    Those of `ranges` must be there; of those of `also` one of pencils or washes without a swatch on
    this paper is left out. Raises `NotMeasuredError` for a range of markers, or one that must be
    there, without a swatch on this paper, and `TooLargeError` for one of more than `MOST_FITTED`
    colorants.
    """
    with library.look() as work:
        name = work.paper_name(paper)
        _check_size(work, {*ranges, *also}, name)
        by_medium = _by_medium(work, sorted({*ranges, *also}))
        films = {m: _seen(work, by_medium.get(m, []), name, ranges) for m in FILMS}
    markers = by_medium.get(Medium.MARKER, [])
    if not any(films.values()):
        return fit_for(library, markers or [*ranges, *also], paper)
    return KitFit(
        fit_for(library, markers, paper) if markers else None,
        *(
            _medium_fit(library, films[m], name, m, model.FilmFit) if films[m] else None
            for m in FILMS
        ),
    )


def carried_fit_for(library: Library, ranges: tuple[str, ...], paper: str, source: str) -> AnyFit:
    """Return the fit for ranges carried over to a paper from another they are known on.

    `library` is where swatches are. One coat of some colorants on the new paper are its anchors;
    none will do, with less to go by. `paper` and `source` are names of the new paper and of the one
    they are known on.
    """
    known = kit_fit_for(library, ranges, source)
    with library.look() as work:
        new = work.paper(paper)
        anchors = _own_kit_fits(work, sorted(set(ranges)), new.name)
    return carry(known, new, anchors)


def _seen(work: Work, names: list[str], paper: str, needed: Sequence[str]) -> list[str]:
    """Return the ranges that have a swatch on a paper; one that is needed must have."""
    seen = [name for name in names if work.swatches(range=name, paper=paper)]
    for name in names:
        if name in needed and name not in seen:
            raise not_swatched(work, name, paper)
    return seen


def _by_medium(work: Work, names: Sequence[str]) -> dict[Medium, list[str]]:
    found: dict[Medium, list[str]] = {}
    for name in names:
        for medium in {colorant.medium for colorant in work.colorants(name)}:
            found.setdefault(medium, []).append(name)
    return found


def _medium_fit(
    library: Library, names: list[str], paper_name: str, medium: Medium, kind: type[OneFit]
) -> OneFit:
    """Return the kept fit of these ranges where it still holds, else make and keep one."""
    with library.look() as work:
        paper = work.paper(paper_name)
        colorants = [c for name in names for c in work.colorants(name) if c.medium is medium]
        key = _key(work, names, paper, colorants)
        if kept := sound(work.fit(key), kind, colorants, paper):
            return kept[0]
        swatches = _own_kit_fits(work, names, paper.name)
        if not swatches:
            raise not_swatched(work, names[0], paper.name)
    made: Any = (
        fit_markers(drying.as_dry(swatches), paper, colorants=colorants)
        if medium is Medium.MARKER
        else fitting.fit_films(drying.as_dry(swatches), paper, medium, colorants=colorants)
    )
    library.keep_fit(key, to_text((made, ())))
    return cast("OneFit", made)


def _key(work: Work, names: list[str], paper: Paper, colorants: Sequence[Colorant]) -> FitKey:
    of_markers = all(c.medium is Medium.MARKER for c in colorants)
    version = MODEL_VERSION if of_markers else model.FILM_VERSION
    said = [str(paper.coats_limit), paper.surface, *map(str, colorants)]
    parts = "\n".join([work.swatch_hash(names, paper.name), *said])
    return tuple(names), paper.name, version, hashlib.sha256(parts.encode()).hexdigest()


def _own_kit_fits(work: Work, names: list[str], paper: str) -> list[Swatch]:
    """Return the swatches on a paper whose colorants all belong to these ranges."""
    stored = {s.id: s.swatch for name in names for s in work.swatches(range=name, paper=paper)}
    return [
        swatch
        for _, swatch in sorted(stored.items())
        if {c.range for c in swatch.recipe.colorants} <= set(names)
    ]


Notes = tuple[str, ...]
LEARNING_VERSION = "hand 5"
"""Changes whenever the same trials would teach something else."""
ENOUGH_TRIALS = 20
"""With fewer, regions of 80 in 100 can't be told from those of 60 or 95 (chosen, no source)."""
NOT_YET_YOURS = "How sure this is was tested on simulations, not yet on your work."


OwnTrials = tuple[tuple[TrialEntry, ...], dict[str, Fill]]
"""The trials of a kit that a fit can learn from, in their order, and changed fills by label."""


def as_trial(entry: TrialEntry) -> Trial:
    """Return a trial as the model takes it."""
    lab = lab_from_reflectance(entry.reflectance)
    return Trial(
        entry.number,
        entry.recipe,
        lab,
        noise=entry.spread,
        fill=entry.fill,
        picture=entry.picture,
        shared=entry.shared,
    )


def own_trials(library: Library, fit: Fit, kit: str) -> OwnTrials:
    """Return the trials that count for a kit (or, for an empty name, for whole ranges)."""
    with library.look() as work:
        stored = tuple(t for t in work.notebook.latest() if _counts(t, fit, kit))
        return stored, _fills(work, stored) if fit.medium is Medium.MARKER else {}


def _counts(entry: TrialEntry, fit: Fit, kit: str) -> bool:
    known = {c.label for c in fit.colorants}
    return (
        name_key(entry.kit) == name_key(kit)
        and not entry.made_by
        and name_key(entry.paper) == name_key(fit.paper.name)
        and bool(entry.recipe.colorants)
        and (
            fit.medium is not Medium.MARKER or all(isinstance(s, Step) for s in entry.recipe.steps)
        )
        and {c.label for c in entry.recipe.colorants} <= known
    )


def _fills(work: Work, stored: Sequence[TrialEntry]) -> dict[str, Fill]:
    """Return the fill of each colorant that was noted since it was last swatched."""
    noted = {c: (t.fill, t.recorded, t.paper) for t in stored for c in t.recipe.colorants}
    changed = {c: told for c, told in noted.items() if told[0] is not Fill.USUAL}
    fills = {}
    for colorant, (fill, when, paper) in changed.items():
        swatches = work.swatches(colorant=colorant, paper=paper)
        if not any(s.when > when for s in swatches):
            fills[colorant.label] = fill
    return fills


def teach(fit: OneFit, own: OwnTrials) -> Learned[OneFit]:
    """Learn from a kit's trials of one medium."""
    stored, fills = own
    return learn(fit, tuple(map(as_trial, stored)), fills=fills)


def taught_fit(
    library: Library, fit: AnyFit, kit: str, *, without: int = 0
) -> tuple[AnyFit, Notes]:
    """Return the fit as the trials of a kit have moved it, and notes that say so.

    Each medium learns for itself, from trials of that medium alone. Without trials it is the fit
    itself. `kit` says whose trials; empty for those of whole ranges. `without` is the number of a
    trial that is not to count; 0 for none.
    """
    notes: list[str] = []

    def taught(part: MediumFit) -> Any:
        named = "" if part is fit else f" with {part.medium.plural}"
        moved, said = _taught(library, part, kit, named, without)
        notes.extend(said)
        return moved

    return fit.mapped(taught), tuple(dict.fromkeys(notes))


def _taught(
    library: Library, fit: OneFit, kit: str, with_what: str, without: int
) -> tuple[OneFit, Notes]:
    stored, fills = own_trials(library, fit, kit)
    own = tuple(t for t in stored if t.number != without), fills
    if not own[0]:
        return fit, ()
    key = _taught_key(fit, own, kit)
    with library.look() as work:
        text = work.fit(key)
    if kept := sound(text, type(fit), fit.colorants, fit.paper):
        return kept
    learned = teach(fit, own)
    notes = notes_on(learned, fit.paper.name + with_what, fills)
    if not without:
        library.keep_fit(key, to_text((learned.fit, notes)))
    return learned.fit, notes


def _taught_key(fit: Fit, own: OwnTrials, kit: str) -> FitKey:
    rests_on = [
        to_text(fit),
        sorted((label, str(fill)) for label, fill in own[1].items()),
        [[t.uid, t.version] for t in own[0]],
    ]
    digest = hashlib.sha256(json.dumps(rests_on).encode()).hexdigest()
    ranges = sorted({c.range for c in fit.colorants})
    version = f"{fit.model_version}, {LEARNING_VERSION}"
    return (f"trials of {kit}", *ranges), fit.paper.name, version, digest


def notes_on(learned: Learned[Any], paper: str, fills: dict[str, Fill]) -> Notes:
    """Say what trials taught: how many counted, the hand, what was set aside, how far to trust it.

    `paper`: its name, and where the kit has several media, with which of them. `fills` is of
    markers that have changed since they were swatched.
    """
    count = len(learned.numbers) - len(learned.flagged_numbers)
    trials = "1 trial" if count == 1 else f"{count} trials"
    notes = (
        [f"Learned from {trials} of yours on {paper}: {hand_in_words(learned)}."] if count else []
    )
    if learned.flagged_numbers:
        named = ", ".join(map(str, learned.flagged_numbers))
        notes.append(
            f"Set aside, since nothing else you did agrees with it: trial {named}. "
            "Ask why it came out so."
        )
    if fills:
        told = ", ".join(f"{label.partition('/')[2]} ({fill})" for label, fill in fills.items())
        notes.append(f"Less sure until swatched again: {told}.")
    if count < ENOUGH_TRIALS:
        notes.append(NOT_YET_YOURS)
    return tuple(notes)


def hand_in_words(learned: Learned[Any]) -> str:
    """Say how much a person lays against the swatches, with its uncertainty."""
    factor = float(np.exp(learned.amount))
    low, high = (np.exp(learned.amount + s * 1.28 * learned.amount_deviation) for s in (-1, 1))
    return f"you lay {factor:.2f} times what the swatches have ({low:.2f} to {high:.2f})"
