"""A kit of several media on one paper, behind the one face that the fit of each medium has.

A recipe falls into segments of one medium each. A segment acts on the reflectance that lies below
it as on its paper. The fit of one medium is a kit of that medium.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import groupby
from types import MappingProxyType
from typing import Any, TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.errors import NotMeasuredError
from laydown.media.film import design as film_design
from laydown.media.film.model import FilmFit
from laydown.media.inference import prediction
from laydown.media.inference.leeway import Leeway, Name
from laydown.media.marker import design as marker_design
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import (
    AnyStep,
    Colorant,
    Medium,
    Paper,
    Recipe,
    Step,
    Treatment,
    TreatmentStep,
    check_order,
)
from laydown.reference.tables import load_table, numbers_of

MediumFit: TypeAlias = MarkerFit | FilmFit


@dataclass(frozen=True, slots=True, eq=False)
class KitFit:
    """What is known of a kit's media on one paper."""

    markers: MarkerFit | None = None
    pencils: FilmFit | None = None
    washes: FilmFit | None = None
    """The fit of each medium; None for one that the kit lacks. At least one, all on one paper."""

    def __post_init__(self) -> None:
        if len({fit.paper.name for fit in self.fits}) != 1:
            raise ValueError("a kit's fits lie on one paper, and there is at least one")

    @property
    def fits(self) -> tuple[MediumFit, ...]:
        """The fits that are there."""
        return tuple(f for f in (self.markers, self.pencils, self.washes) if f is not None)

    @property
    def paper(self) -> Paper:
        """The paper of all of them."""
        return self.fits[0].paper

    @property
    def colorants(self) -> tuple[Colorant, ...]:
        """All colorants, markers first."""
        return tuple(c for fit in self.fits for c in fit.colorants)

    @property
    def assumed(self) -> frozenset[str]:
        """What no swatch tells, by medium."""
        return frozenset(f"{fit.medium} {name}" for fit in self.fits for name in fit.assumed)

    @property
    def notes(self) -> tuple[str, ...]:
        """Sentences on the fits as a whole."""
        return tuple(dict.fromkeys(note for fit in self.fits for note in fit.notes))

    def of(self, medium: Medium) -> MediumFit:
        """Return the fit of a medium.

        Raises NotMeasuredError where the kit has none.
        """
        found = next((fit for fit in self.fits if fit.medium is medium), None)
        if found is None:
            raise NotMeasuredError(
                f"No {medium} of this kit has been swatched on {self.paper.name}.",
                hint="Lay one coat of a few of them there, measure and import them.",
            )
        return found

    def mapped(self, change: Callable[[Any], Any]) -> "KitFit":
        """Return the kit with the fit of each medium changed."""
        there = (self.markers, self.pencils, self.washes)
        return KitFit(*(None if fit is None else change(fit) for fit in there))

    def parts(self, recipe: Recipe) -> tuple[tuple[Medium, Recipe], ...]:
        """Take a recipe apart into its media; see `segments`."""
        return segments(recipe)

    def assumed_for(self, recipe: Recipe) -> frozenset[str]:
        """Return what a recipe's color depends on and no swatch tells, named as in `assumed`."""
        told = frozenset(
            f"{medium} {name}"
            for medium, part in segments(recipe)
            if part.colorants
            for name in self.of(medium).assumed_for(part)
        )
        told |= {"marker over wash"} if over_wash(recipe)[0].steps else frozenset()
        return told | {f"{medium} under solvent" for medium in soaking(recipe)}


AnyFit: TypeAlias = MarkerFit | KitFit
"""What is asked of: markers alone, or a kit of any media."""
Axes: TypeAlias = Mapping[Medium, FloatArray]
"""By medium, along which parameters are tried: shape (m, parameters of the recipe's part)."""
NO_AXES: Axes = MappingProxyType({})
FROM_BELOW = (Medium.MARKER, Medium.WASH, Medium.PENCIL)
"""How media lie on each other in the end, whatever order they were laid in."""
STAYS = 0.5
"""Standard deviation of the share of a marker's dye that stays on a dry wash below it (chosen)."""


def segments(recipe: Recipe) -> tuple[tuple[Medium, Recipe], ...]:
    """Take a recipe apart into its media from below; treatments belong to the pencil.

    A marker over a dry wash comes first: its dye is taken to go through the wash into the paper.

    Raises BadRecipeError for an order that ruins tools or work.
    """
    check_order(recipe)
    by_medium: dict[Medium, list[AnyStep]] = {medium: [] for medium in FROM_BELOW}
    for step in recipe.steps:
        medium = step.colorant.medium if isinstance(step, Step) else Medium.PENCIL
        by_medium[medium].append(step)
    return tuple((medium, Recipe(tuple(steps))) for medium, steps in by_medium.items() if steps)


# What soaks through: solvent over pencil loosens dye and wash below, dye goes through a dry wash.
#
# Burnishing is dry: it moves nothing below the pencil. What solvent carries off is a share of all
# that lies below, the same at every band; where the loosened dye goes, and a hue that it may lend
# to the pencil, are left to the uncertainty.


@cache
def soaking_priors() -> dict[tuple[str, str], tuple[float, float]]:
    """Return the share that a treatment carries off and its deviation, by medium and treatment.

    From ``soaking.csv``, which gives the reason for each: common practice, no source.
    """
    table = load_table("soaking")
    keys = zip(table["below"], table["treatment"], strict=True)
    numbers = numbers_of(table, "carried", "sd")
    return {key: (float(mean), float(sd)) for key, (mean, sd) in zip(keys, numbers, strict=True)}


def solvents(recipe: Recipe) -> tuple[TreatmentStep, ...]:
    """Return the steps of a recipe that wet what lies below, in their order."""
    return tuple(
        step
        for step in recipe.steps
        if isinstance(step, TreatmentStep) and step.treatment is Treatment.SOLVENT
    )


def soaking(recipe: Recipe) -> frozenset[Medium]:
    """Return the media below the pencil that solvent reaches.

    >>> sorted(soaking(Recipe()))
    []
    """
    if not solvents(recipe):
        return frozenset()
    media = {step.colorant.medium for step in recipe.steps if isinstance(step, Step)}
    return frozenset(media - {Medium.PENCIL})


def over_wash(recipe: Recipe) -> tuple[Recipe, Recipe]:
    """Return the markers of a recipe that lie over a wash, and the recipe without them.

    >>> loam, kelp = Colorant("Loam", "Pond", Medium.WASH), Colorant("Kelp", "Estuary")
    >>> orders = (loam, kelp), (kelp, loam)
    >>> [over_wash(Recipe((Step(a), Step(b))))[0].coats for a, b in orders]
    [1, 0]
    """
    late: list[AnyStep] = []
    rest: list[AnyStep] = []
    washed = False
    for step in recipe.steps:
        medium = step.colorant.medium if isinstance(step, Step) else None
        washed = washed or medium is Medium.WASH
        (late if washed and medium is Medium.MARKER else rest).append(step)
    return Recipe(tuple(late)), Recipe(tuple(rest))


def soaked(medium: Medium, above: Recipe) -> tuple[float, float]:
    """Return the share left of a run of marker or wash below pencil, and its standard deviation.

    `medium`: of what lies below. `above`: pencil, with its treatments; nothing is left open where
    none of them soaks through.

    Each solvent step leaves 1 − r of what it finds; relative deviations add as squares. A stated
    prior, tested against nothing.

    >>> from laydown.media.recipe import Tool
    >>> swab = TreatmentStep(Treatment.SOLVENT, Tool.SWAB)
    >>> round(soaked(Medium.MARKER, Recipe((swab, swab)))[0], 4)
    0.6724
    >>> soaked(Medium.MARKER, Recipe())
    (1.0, 0.0)
    """
    share, relative = 1.0, 0.0
    for step in solvents(above):
        carried, sd = soaking_priors()[medium, step.words]
        share *= 1.0 - carried
        relative += (sd / (1.0 - carried)) ** 2
    return share, share * float(np.sqrt(relative))


@dataclass(frozen=True, slots=True, eq=False)
class Prediction:
    """A recipe's color as a model expects it, dry, under D50."""

    recipe: Recipe
    """What is laid, bottom first."""
    reflectance: FloatArray
    """Shape (36,)."""
    lab: FloatArray
    """Shape (3,), CIELAB for D50 and the 2° observer."""
    covariance: FloatArray
    """Shape (3, 3), of `lab`: swatch spread, fit and hand together."""
    warnings: tuple[str, ...] = ()
    """One sentence for each way in which the recipe lies outside what was fitted; empty inside."""


@dataclass(frozen=True, slots=True, eq=False)
class Segment:
    """A segment of a recipe: its fit, its steps, and what solvent above leaves of them."""

    fit: MediumFit
    recipe: Recipe
    share: float
    deviation: float
    """What is left of it, 0 to 1, and how unsure that is: 0 where nothing soaks through."""

    def over(self, below: FloatArray) -> FloatArray:
        """Lay it on grounds, shape (…, 36)."""
        return self.fit.lay(self.recipe, below, share=self.share)


def runs(fit: MediumFit | KitFit, recipe: Recipe) -> tuple[Segment, ...]:
    """Return the segments of a recipe, each with its fit and what solvent above leaves of it.

    Raises BadRecipeError or NotMeasuredError as `reflectance` does.
    """
    parts = fit.parts(recipe)
    above = [sum((part.steps for _, part in parts[n + 1 :]), ()) for n in range(len(parts))]
    return tuple(
        Segment(fit.of(medium), part, *soaked(medium, Recipe(steps)))
        for (medium, part), steps in zip(parts, above, strict=True)
    )


def reflectance(fit: MediumFit | KitFit, recipe: Recipe) -> FloatArray:
    """Predict the reflectance of a recipe of any media, shape (36,).

    Raises BadRecipeError for steps or an order that can't be done. Raises NotMeasuredError for a
    colorant that was not swatched on this paper.
    """
    parts = fit.parts(recipe)
    if len(parts) == 1:
        one = fit.of(parts[0][0])
        return one.as_measured(recipe, one.reflectance(recipe))
    return _through(runs(fit, recipe), np.array(fit.paper.reflectance))


def _through(laid: Sequence[Segment], seen: FloatArray) -> FloatArray:
    for run in laid:
        seen = run.over(seen)
    return seen


def outside(fit: MediumFit | KitFit, recipe: Recipe) -> tuple[str, ...]:
    """Say in what ways a recipe lies outside what the fits were made from; empty inside."""
    parts = fit.parts(recipe)
    said = [word for medium, part in parts for word in fit.of(medium).outside(part)]
    if len(parts) > 1:
        laid = [step.colorant.medium for step in recipe.steps if isinstance(step, Step)]
        named = " over ".join(medium for medium, _ in groupby(reversed(laid)))
        said.append(f"No swatch shows {named}: how they lie on each other is reckoned.")
    if over_wash(recipe)[0].steps:
        said.append("A marker's dye is taken to go through the wash below it: that is assumed.")
    said += [
        f"Solvent soaks through to the {medium} below; how much of it comes off is assumed."
        for medium in sorted(soaking(recipe))
    ]
    if len(parts) > 1 and recipe.coats > fit.paper.coats_limit:
        said.append(f"{recipe.coats} coats in all: {fit.paper.name} bears {fit.paper.coats_limit}.")
    return tuple(dict.fromkeys(said))


def predict(
    fit: MediumFit | KitFit, recipe: Recipe, *, covariance: FloatArray | None = None
) -> Prediction:
    """Predict a recipe's color, dry, and how sure it is.

    Its covariance, given where it is known, is that of one application by the same hand, measured
    once. Raises BadRecipeError for steps or an order that can't be done. Raises NotMeasuredError
    for a colorant that was not swatched on this paper.
    """
    spectrum = reflectance(fit, recipe)
    return Prediction(
        recipe=recipe,
        reflectance=spectrum,
        lab=lab_from_reflectance(spectrum),
        covariance=leeway(fit, recipe).covariance() if covariance is None else covariance,
        warnings=outside(fit, recipe),
    )


def color_of(fit: MediumFit | KitFit, recipe: Recipe) -> FloatArray:
    """Predict a recipe's Lab alone, shape (3,): how sure it is takes most of the time."""
    return lab_from_reflectance(reflectance(fit, recipe))


def predict_lab(fit: MediumFit | KitFit, recipes: Sequence[Recipe]) -> FloatArray:
    """Predict the Lab of several recipes, shape (recipes, 3)."""
    spectra = np.array([reflectance(fit, recipe) for recipe in recipes])
    return lab_from_reflectance(spectra.reshape(-1, len(fit.paper.reflectance)))


def leeway(fit: MediumFit | KitFit, recipe: Recipe) -> Leeway:
    """Return what is left open of a recipe's color, as spectra to be seen under any light.

    `fit`, `recipe`: as for `predict`. Raises BadRecipeError or NotMeasuredError as that does.
    """
    return leeways(fit, [recipe])[0]


def leeways(
    fit: MediumFit | KitFit,
    recipes: Sequence[Recipe],
    axes: Sequence[Axes] = (),
    *,
    named: bool = True,
) -> list[Leeway]:
    """Return what is left open of each of several recipes, as `leeway` does: the alike at once.

    `axes`: of each, along which parameters are tried; the principal ones of a medium without any.
    `named`: whether it is to be told what two of them share, which takes a tenth of the time.
    """
    along = axes or [NO_AXES] * len(recipes)
    found, alone = dict[int, Leeway](), dict[Medium, list[int]]()
    for place, recipe in enumerate(recipes):
        parts = fit.parts(recipe)
        if len(parts) > 1:
            found[place] = _leeway(fit, recipe, along[place])
        else:
            medium = parts[0][0] if parts else fit.fits[0].medium
            alone.setdefault(medium, []).append(place)
    for medium, places in alone.items():
        given = [along[place].get(medium) for place in places]
        some = [recipes[place] for place in places]
        open_ = prediction.leeways(fit.of(medium), some, given, named=named)
        found |= zip(places, open_, strict=True)
    return [found[place] for place in range(len(recipes))]


def expected_spectra(
    fit: MediumFit | KitFit, recipes: Sequence[Recipe], open_: Sequence[Leeway]
) -> FloatArray:
    """Return the reflectances of recipes of which it is known what they leave open, shape (n, 36).

    What is tried of a pile of one medium begins with the pile itself; of one step a swatch may know
    better.
    """
    return np.array([
        one.tried[0][0]
        if len(one.tried) == 1 and len(recipe.steps) > 1
        else reflectance(fit, recipe)
        for recipe, one in zip(recipes, open_, strict=True)
    ]).reshape(-1, 36)  # fmt: skip


def guessed_spectra(fit: MediumFit | KitFit, recipe: Recipe) -> tuple[Colorant, ...]:
    """Return the colorants of a recipe of which no spectrum was measured, XYZ alone."""
    guessed = {
        c for one in fit.fits for c, known in zip(one.colorants, one.xyz_only, strict=True) if known
    }
    return tuple(colorant for colorant in recipe.colorants if colorant in guessed)


def _leeway(fit: MediumFit | KitFit, recipe: Recipe, axes: Axes) -> Leeway:
    """Return what each run leaves open, seen through those above it."""
    laid, tried, misfit = runs(fit, recipe), list[tuple[FloatArray, tuple[Name, ...]]](), 0.0
    below = np.array(fit.paper.reflectance)
    for number, run in enumerate(laid):
        model = run.fit.forward(run.recipe, below, share=run.share)
        open_ = prediction.tried_spectra(run.fit, [model], [axes.get(run.fit.medium)])
        if run.deviation:  # with as much left as is likely, then with more, then with less
            left = np.clip(run.share + run.deviation * np.array([0.0, 1.0, -1.0]), 0.0, None)
            seen = [run.fit.lay(run.recipe, below, share=share) for share in left.tolist()]
            open_.append((np.array(seen), (("soaks", run.fit.medium),)))
        tried += [(_through(laid[number + 1 :], seen), names) for seen, names in open_]
        misfit += run.fit.noise.misfit**2 * model.missed(run.fit.effects)
        below = run.over(below)
    tried += [(seen, (("stays",),)) for seen in _staying(fit, recipe)]
    return Leeway(
        tuple(seen for seen, _ in tried),
        (max(one.measuring for one in fit.fits) ** 2 + misfit) * np.eye(3),
        tuple(names for _, names in tried),
        {("misfit", recipe.key): misfit},
    )


def _staying(fit: MediumFit | KitFit, recipe: Recipe) -> tuple[FloatArray, ...]:
    """Return what dye that stays on a wash does, as spectra (3, 36); nothing without any.

    Were all of it a clear film on top of everything shows how far that may go.
    """
    late, rest = over_wash(recipe)
    if not late.steps:
        return ()
    seen = reflectance(fit, recipe)
    on_top = reflectance(fit, rest) * reflectance(fit, late) / fit.paper.reflectance
    moved = STAYS * (on_top - seen)
    return (np.clip([seen, seen + moved, seen - moved], 1e-4, None),)


# Designs over all media: which swatches a kit needs, what of them is missing, which helps most.

DESIGNS = MappingProxyType(
    {Medium.MARKER: marker_design, Medium.PENCIL: film_design, Medium.WASH: film_design}
)


def minimum_design(
    colorants: Sequence[Colorant], strengths: Sequence[float] | FloatArray | None = None
) -> tuple[Recipe, ...]:
    """Return the swatches that a kit on a paper needs, bare paper first and once.

    `colorants`: of any media. `strengths`: how strong each is, in the same order; otherwise from
    pale to dark as given.

    >>> pencils = [Colorant(f"Leaf {i}", "Meadow", Medium.PENCIL) for i in range(24)]
    >>> len(minimum_design(pencils)), minimum_design([]) == (Recipe(),)
    (59, True)
    """
    given = list(range(len(colorants))) if strengths is None else list(strengths)
    recipes: list[Recipe] = [Recipe()]
    for medium in Medium:
        own = [(c, s) for c, s in zip(colorants, given, strict=True) if c.medium is medium]
        if own:
            design = DESIGNS[medium].minimum_design([c for c, _ in own], [s for _, s in own])
            recipes += design[1:]
    return tuple(recipes)


def missing(fit: AnyFit) -> tuple[Recipe, ...]:
    """Return what of the minimum design hasn't been swatched, medium by medium."""
    left = (r for one in fit.fits for r in DESIGNS[one.medium].missing(one))
    return tuple(dict.fromkeys(left))


def swatched(fit: AnyFit) -> frozenset[Recipe]:
    """Return all recipes that the fits were made from."""
    return frozenset(recipe for one in fit.fits for recipe in one.swatched)


def next_swatch(fit: AnyFit, recipes: Sequence[Recipe]) -> tuple[Recipe, str]:
    """Return the one swatch that would make the given recipes' colors surest, and why."""
    parts = [part for recipe in recipes for part in fit.parts(recipe)]
    for medium in Medium:
        own = [part for kind, part in parts if kind is medium]
        next_of = DESIGNS[medium].next_swatch
        swatch, why = next_of(fit.of(medium), own) if own else (Recipe(), "")
        if why:
            return swatch, why
    return Recipe(), ""
