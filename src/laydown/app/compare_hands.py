"""Compare one's hand with another person's, and restate their recipes for it."""

from collections import Counter
from dataclasses import dataclass, field
from math import exp

from laydown.app.learned_fits import own_trials
from laydown.app.supplies import Bench, Supplies, look_up, set_up
from laydown.app.swatch_forms import READERS, form_of_content
from laydown.documents.swatch_rows import Usual, swatches_from_rows
from laydown.documents.target_csv import read_targets
from laydown.errors import NotMeasuredError
from laydown.media.colorant import Colorant
from laydown.media.film_fit import fit_films
from laydown.media.hand import Hand, hand_between, with_borrowed
from laydown.media.kit_fit import AnyFit, KitFit, MediumFit
from laydown.media.labels import name_key
from laydown.media.laydown import Medium
from laydown.media.marker import MarkerFit, fit_markers
from laydown.media.paper import Paper
from laydown.media.recipe import Recipe, parse_recipe
from laydown.media.swatch import Swatch
from laydown.plan.restating import Restated, restate_all
from laydown.store.library import Library
from laydown.store.work import Work


@dataclass(frozen=True, slots=True)
class CompareHands:
    """Whose swatches to compare with, and what to restate.

    Parameters
    ----------
    file, source
        Content and name of a file of the other person's swatches.
    supplies
        One's own kit or ranges, and the paper that both have used.
    recipes
        Recipes of theirs, typed.
    list_file, list_source
        A list whose colors are recipes of theirs; None for none.
    """

    file: bytes
    source: str
    supplies: Supplies = field(default_factory=Supplies)
    recipes: tuple[str, ...] = ()
    list_file: bytes | None = None
    list_source: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class HandsCompared:
    """A hand against another.

    Parameters
    ----------
    kit, paper
        One's own, and the paper of both.
    hand
        How much one lays against them.
    words
        The same in a sentence.
    by_trials
        Whether one's own trials have moved one's fit; then the hand is in it, and in it once.
    borrowed
        Colorants of the recipes that only they have swatched: taken from them, by one's own hand.
    restated
        Their recipes as one should lay them.
    """

    kit: str
    paper: str
    hand: Hand
    words: str
    by_trials: bool
    borrowed: tuple[Colorant, ...]
    restated: tuple[Restated, ...]


def compare_hands(library: Library, request: CompareHands) -> HandsCompared:
    """Tell how much one lays against another person, and restate their recipes.

    The hand is told by *swatches* of both. One's own colors come from one's own fit, which needs
    no correction; only colorants that they alone have swatched are corrected, and once.

    Raises
    ------
    NotMeasuredError
        For fewer than three shared colorants, or no swatch of theirs on the paper.
    """
    named = look_up(library, request.supplies)
    with library.look() as work:
        lain = _swatches_of(work, request, work.paper(named.paper))
    swatched = set_up(library, request.supplies, by_trials=False)
    taught = set_up(library, request.supplies)
    medium = _medium(swatched.whole, lain)
    before, own = _part(swatched, medium), _part(taught, medium)
    theirs = _fit_of(lain, medium, before.paper)
    hand = hand_between(before, theirs)
    recipes = _recipes(library, request, theirs)
    known = {c.label for c in own.colorants}
    needed = dict.fromkeys(c for r in recipes for c in r.colorants if c.label not in known)
    borrowed = tuple(needed)
    return HandsCompared(
        kit=swatched.label,
        paper=before.paper.name,
        hand=hand,
        words=_words(hand),
        by_trials=bool(own_trials(library, before, request.supplies.kit).stored),
        borrowed=borrowed,
        restated=restate_all(
            recipes, theirs=theirs, mine=with_borrowed(own, theirs, borrowed, hand)
        ),
    )


def _swatches_of(work: Work, request: CompareHands, paper: Paper) -> list[Swatch]:
    usual = Usual("", paper.name, "")
    form = form_of_content(request.file)
    rows = READERS[form](request.file, source=request.source, usual=usual)
    swatches = swatches_from_rows(rows, source=request.source, find=work.find_colorant)
    there = [s for s in swatches if name_key(s.paper) == name_key(paper.name)]
    colored = [_on(s, paper) for s in there if s.recipe.steps]
    if not colored:
        raise NotMeasuredError(
            f"{request.source} has no swatch on {paper.name}.",
            hint="A hand can only be compared on one and the same paper.",
        )
    return colored


def _media(swatch: Swatch) -> set[Medium]:
    return {colorant.medium for colorant in swatch.recipe.colorants}


def _medium(mine: AnyFit, theirs: list[Swatch]) -> Medium:
    """Return the medium of which most colorants were swatched by both; a hand is told for one."""
    own = {c.label: c.medium for c in mine.colorants}
    shared = {c for swatch in theirs for c in swatch.recipe.colorants if c.label in own}
    counts = Counter(colorant.medium for colorant in shared)
    usual = next(m for m in Medium if any(m in _media(s) for s in theirs))
    return max(counts, key=lambda m: counts[m], default=usual)


def _part(bench: Bench, medium: Medium) -> MediumFit:
    return bench.fit if medium is Medium.MARKER else _kit(bench).of(medium)


def _kit(bench: Bench) -> KitFit:
    return KitFit(bench.whole) if isinstance(bench.whole, MarkerFit) else bench.whole


def _fit_of(swatches: list[Swatch], medium: Medium, paper: Paper) -> MediumFit:
    own = [swatch for swatch in swatches if _media(swatch) == {medium}]
    return fit_markers(own, paper) if medium is Medium.MARKER else fit_films(own, paper, medium)


def _on(swatch: Swatch, paper: Paper) -> Swatch:
    return Swatch(
        paper.name, swatch.recipe, swatch.reflectance, swatch.basis, swatch.spread, swatch.flags
    )


def _recipes(library: Library, request: CompareHands, theirs: MediumFit) -> tuple[Recipe, ...]:
    texts = list(request.recipes)
    if request.list_file is not None:
        rows = read_targets(request.list_file, source=request.list_source)
        texts += [row.color for row in rows]
    by_name = {c.name.casefold(): c for c in theirs.colorants}
    by_name |= {c.label.casefold(): c for c in theirs.colorants}
    with library.look() as work:
        return tuple(
            parse_recipe(t, lambda name: by_name.get(name.casefold()) or work.find_colorant(name))
            for t in texts
        )


def _words(hand: Hand) -> str:
    low, high = (hand.factor * exp(s * 1.28 * hand.deviation) for s in (-1.0, 1.0))
    told = f"{hand.factor:.2f} times what they lay ({low:.2f} to {high:.2f} in 80 of 100)"
    if low <= 1.0 <= high:
        return f"You lay {told}: as much as they do, as far as can be told."
    return f"You lay {told}."
