"""Questions to the notebook: why it came out so, what to try next, how two hands compare."""

from collections import Counter
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import cache
from math import exp

import numpy as np

from laydown.app import fits
from laydown.app.matches.colors import Asking, find_matches, paper_of_targets, wanted_colors
from laydown.app.matches.targets import FitAtHand, settle_targets
from laydown.app.notebook.trials import TrialShown, shown
from laydown.app.sheets.printing import PrintSheet, print_sheet
from laydown.app.swatches import swatches_in
from laydown.app.words import ColorInWords, in_words
from laydown.color.lab import lab_from_reflectance
from laydown.documents.files.lists import read_targets
from laydown.documents.print.reports import calibration_svg
from laydown.errors import BadRecipeError, NotMeasuredError, UnknownNameError
from laydown.match.diagnosis import Diagnosis, explain
from laydown.match.outcome import Difference, Target
from laydown.match.ranking import Watch
from laydown.match.words import difference
from laydown.media.film.fitting import fit_films
from laydown.media.inference.learning import by_own_hand
from laydown.media.kit.fit import AnyFit, MediumFit, Prediction, predict
from laydown.media.kit.hand import Hand, hand_between, with_borrowed
from laydown.media.legible import legible, name_key
from laydown.media.marker.fitting import fit_markers
from laydown.media.recipe import Colorant, Medium, Paper, Recipe, format_recipe, parse_recipe
from laydown.media.swatch import Swatch
from laydown.plan import notebook
from laydown.sheet.sheet import Sheet
from laydown.store.library import Library, Work
from laydown.store.records import TrialEntry

TrialExplained = tuple[TrialShown, ColorInWords, Difference, Diagnosis]
"""A trial, the color its recipe leads to expect, how far off it came, and likely causes."""


def explain_trial(library: Library, request: int) -> TrialExplained:
    """Rank the likely causes of what came of the trial of this number.

    What this kit's *other* trials on the paper taught counts in what is expected. Raises
    `NotMeasuredError` where a colorant of the recipe was not swatched on the paper.
    """
    with library.look() as work:
        stored = work.notebook.history(request)[-1]
        papers = work.papers()
    whole = fits.set_up(library, supplies_of(stored), by_trials=False).whole
    fit, _ = fits.taught_fit(library, whole, stored.kit, without=stored.number)
    lab = lab_from_reflectance(stored.reflectance)
    found = explain(
        fit, stored.recipe, lab, wanted=stored.intended, papers=papers, noise=stored.spread
    )
    off = difference(found.expected, lab)
    return shown(stored), in_words(found.expected), off, found


def supplies_of(trial: TrialEntry | TrialShown) -> fits.Supplies:
    """Return the supplies that a trial was made from."""
    ranges = () if trial.kit else tuple(sorted({c.range for c in trial.recipe.colorants}))
    return fits.Supplies(kit=trial.kit, ranges=ranges, paper=trial.paper)


@dataclass(frozen=True, slots=True)
class SuggestTrials:
    """The lesson, and what it is colored with."""

    recipes: tuple[str, ...] = ()
    """Recipes of the lesson, typed."""
    colors: tuple[str, ...] = ()
    """Wanted colors, typed; each stands for its best recipe."""
    file: bytes | None = None
    source: str = ""
    """Content and name of a list of colors; None for none."""
    most: int = 6
    asking: Asking = field(default_factory=Asking)
    """Supplies, and how recipes for wanted colors are looked for."""


@dataclass(frozen=True, slots=True, eq=False)
class TrialsSuggested:
    """The trials, for how many recipes they are, on which paper; no trials: none is worth it."""

    kit: str
    paper: str
    recipes: tuple[Recipe, ...]
    trials: tuple[notebook.NextTrial, ...]
    """In the order in which they help."""


def suggest_trials(
    library: Library, request: SuggestTrials, *, watch: Watch | None = None
) -> TrialsSuggested:
    """Choose the trials that would cut what is unsure of a lesson most.

    Raises `UnknownNameError`, `BadColorError` and `BadFileError` for recipes and colors that can't
    be read.
    """
    at_hand = cache(lambda: fits.set_up(library, request.asking.supplies))
    typed, targets = _asked(library, request, lambda: at_hand().swatched)
    bench = at_hand()
    matches = find_matches(targets, bench, request.asking, watch)
    matched = [match.best.prediction.recipe for match in matches]
    recipes = tuple(dict.fromkeys((*typed, *(one for one in matched if one.steps))))
    whole = fits.set_up(library, request.asking.supplies, by_trials=False).whole
    trials: list[notebook.NextTrial] = []
    for part in whole.fits:
        known = {c.label for c in part.colorants}  # layers of several media teach nothing
        of_part = [r for r in recipes if known.issuperset(c.label for c in r.colorants)]
        fit = _as_sure(library, part, request.asking.supplies.kit)
        trials += notebook.next_trials(fit, of_part, most=request.most)
    trials.sort(key=lambda trial: trial.after - trial.before)
    return TrialsSuggested(
        bench.label, bench.whole.paper.name, recipes, tuple(trials[: request.most])
    )


def _as_sure(library: Library, part: MediumFit, kit: str) -> MediumFit:
    """Return the fit as sure as it is of this person's hand."""
    own = fits.own_trials(library, part, kit)
    if own[0]:
        return fits.teach(part, own).fit
    return by_own_hand(part)


def _asked(
    library: Library, request: SuggestTrials, fit: FitAtHand
) -> tuple[tuple[Recipe, ...], tuple[Target, ...]]:
    """Return the recipes and the colors that were named."""
    with library.look() as work:
        typed = [parse_recipe(text, work.find_colorant) for text in request.recipes]
    wanted = wanted_colors(request.colors, request.file, request.source)
    paper = paper_of_targets(library, request.asking)
    targets = settle_targets(library, wanted, paper=paper, source=request.source, fit=fit)
    return tuple(recipe for recipe in typed if recipe.steps), targets


def sheet_of(library: Library, suggested: TrialsSuggested, *, page: str) -> Sheet:
    """Print a sheet to color the suggested trials on, which can be read back from a photograph."""
    request = PrintSheet(
        kind="list",
        asking=Asking(fits.Supplies(paper=suggested.paper)),
        recipes=tuple(format_recipe(t.recipe, with_range=True) for t in suggested.trials),
        title="What to try next",
        page=page,
    )
    return print_sheet(library, request)


@dataclass(frozen=True, slots=True)
class CompareHands:
    """Whose swatches to compare with, and what to restate."""

    file: bytes
    source: str
    """Content and name of a file of the other person's swatches."""
    supplies: fits.Supplies = field(default_factory=fits.Supplies)
    """One's own kit or ranges, and the paper that both have used."""
    recipes: tuple[str, ...] = ()
    """Recipes of theirs, typed."""
    list_file: bytes | None = None
    list_source: str = ""
    """A list whose colors are recipes of theirs; None for none."""


@dataclass(frozen=True, slots=True, eq=False)
class HandsCompared:
    """A hand against another."""

    kit: str
    paper: str
    """One's own, and the paper of both."""
    hand: Hand
    words: str
    by_trials: bool
    """Whether one's own trials have moved one's fit; then the hand is in it, and in it once."""
    borrowed: tuple[Colorant, ...]
    """Colorants of the recipes that only they have swatched: taken from them, by one's own hand."""
    restated: tuple[notebook.Restated, ...]
    """Their recipes as one should lay them."""


def compare_hands(library: Library, request: CompareHands) -> HandsCompared:
    """Tell how much one lays against another person, and restate their recipes.

    The hand is told by *swatches* of both. One's own colors come from one's own fit, which needs no
    correction; only colorants that they alone have swatched are corrected, and once. Raises
    `NotMeasuredError` for fewer than three shared colorants, or no swatch of theirs on the paper.
    """
    named = fits.look_up(library, request.supplies)
    with library.look() as work:
        lain = _swatches_of(work, request, work.paper(named.paper))
    swatched = fits.set_up(library, request.supplies, by_trials=False)
    taught = fits.set_up(library, request.supplies)
    medium = _medium(swatched.whole, lain)
    before, own = _part(swatched, medium), _part(taught, medium)
    lain, paper = [swatch for swatch in lain if _media(swatch) == {medium}], before.paper
    theirs: MediumFit = (
        fit_markers(lain, paper) if medium is Medium.MARKER else fit_films(lain, paper, medium)
    )
    hand = hand_between(before, theirs)
    recipes = _recipes(library, request, theirs)
    known = {c.label for c in own.colorants}
    needed = dict.fromkeys(c for r in recipes for c in r.colorants if c.label not in known)
    borrowed = tuple(needed)
    mine = with_borrowed(own, theirs, borrowed, hand)
    return HandsCompared(
        kit=swatched.label,
        paper=before.paper.name,
        hand=hand,
        words=_words(hand),
        by_trials=bool(fits.own_trials(library, before, request.supplies.kit)[0]),
        borrowed=borrowed,
        restated=tuple(notebook.restate(r, theirs=theirs, mine=mine) for r in recipes),
    )


def _swatches_of(work: Work, request: CompareHands, paper: Paper) -> list[Swatch]:
    swatches = swatches_in(work, request.file, request.source, paper=paper.name)
    there = [s for s in swatches if name_key(s.paper) == name_key(paper.name)]
    colored = [replace(s, paper=paper.name) for s in there if s.recipe.steps]
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


def _part(bench: fits.SuppliesAtHand, medium: Medium) -> MediumFit:
    found = [fit for fit in bench.whole.fits if fit.medium is medium]
    return found[0] if found else bench.whole.of(medium)


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


PROMISED = 80
"""The region that is promised, in 100."""
UNFORETOLD = (UnknownNameError, NotMeasuredError, BadRecipeError)
"""What is wrong with a trial of which nothing can be foretold."""


Promise = tuple[ColorInWords, Difference, bool]
"""What swatches alone led to expect of a trial, how what was obtained differs from it, and whether
that lies in the region of which 80 in 100 was said."""


def promises_of(library: Library, trials: Iterable[TrialShown]) -> dict[int, Promise]:
    """Return what was promised of each trial, by its number.

    A trial is left out of which nothing can be foretold: its kit, its paper or a swatch is not
    there any more, or its steps are none that its medium knows.
    """
    found = {}
    for trial in trials:
        with suppress(*UNFORETOLD):
            whole = fits.set_up(library, supplies_of(trial), by_trials=False).whole
            if {c.label for c in trial.recipe.colorants} <= {c.label for c in whole.colorants}:
                found[trial.number] = _promise(predict(whole, trial.recipe), trial)
    return found


def _promise(seen: Prediction, trial: TrialShown) -> Promise:
    away = trial.color.lab - seen.lab
    square = away @ np.linalg.solve(seen.covariance + trial.noise**2 * np.eye(3), away)
    held = bool(square <= notebook.REGIONS[PROMISED])
    return in_words(seen.lab), difference(seen.lab, trial.color.lab), held


@dataclass(frozen=True, slots=True, eq=False)
class CalibrationShown:
    """How good predictions have been."""

    kit: str
    paper: str
    recipes: tuple[Recipe, ...]
    """Of the trials, in their order."""
    calibration: notebook.Calibration
    """Each trial compared, and the scores before and after learning."""
    hand: str
    """How much the person lays, in words."""
    trust: str
    """How far the figures say something of this person's own work, in words."""
    svg: str
    """Values predicted against values measured, drawn."""


def show_calibration(library: Library, request: fits.Supplies) -> CalibrationShown:
    """Compare every trial of these supplies with what was expected of it.

    Raises `NotMeasuredError` when there is no trial to compare.
    """
    bench = fits.set_up(library, request, by_trials=False)
    whole = bench.whole
    told = [(part, fits.own_trials(library, part, request.kit)) for part in whole.fits]
    told = [(part, own) for part, own in told if own[0]]
    if not told:
        raise NotMeasuredError(
            f"There is no trial of {bench.label} on {whole.paper.name} yet. {fits.NOT_YET_YOURS}",
            hint="Note one first.",
            command='laydown trial add "Kelp*2" lab:40,-24,26 --kit mine',
        )
    learned = [fits.teach(part, own) for part, own in told]
    stored = [trial for _, (own, _) in told for trial in own]
    found = notebook.calibrate(
        [predict(whole, trial.recipe) for trial in stored],
        [fits.as_trial(trial) for trial in stored],
        residuals=np.concatenate([one.residuals for one in learned]),
        spreads=np.concatenate([one.spreads for one in learned]),
        flagged=np.concatenate([one.flagged for one in learned]),
    )
    title = f"Values predicted and measured: {bench.label} on {whole.paper.name}"
    count = len(stored) - sum(len(one.flagged_numbers) for one in learned)
    return CalibrationShown(
        kit=bench.label,
        paper=whole.paper.name,
        recipes=tuple(trial.recipe for trial in stored),
        calibration=found,
        hand="; ".join(map(fits.hand_in_words, learned)),
        trust=(
            f"{fits.NOT_YET_YOURS} {fits.ENOUGH_TRIALS - count} more trials would tell."
            if count < fits.ENOUGH_TRIALS
            else f"Tested on {count} trials of your own."
        ),
        svg=legible(calibration_svg(found.trials, title=title)),
    )
