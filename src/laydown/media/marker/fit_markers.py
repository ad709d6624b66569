"""From swatches to a fit: the order in which the parts of the fitting are called."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.errors import NotMeasuredError
from laydown.media.colorant import Colorant, Paper
from laydown.media.marker.absorption import DARKEST, absorption
from laydown.media.marker.fitting import Layered, Noise, Posterior, fit_parameters
from laydown.media.marker.model import MODEL_VERSION, MarkerFit
from laydown.media.marker.noise import amount_variances, effects_only, free_effects, likeliest_noise
from laydown.media.marker.pile import Ground, laid_steps, strength_of
from laydown.media.marker.priors import BLENDER, EFFECTS, SCALE, Priors, usual_priors
from laydown.media.marker.references import (
    Reference,
    direct_references,
    inferred_references,
    is_one_coat,
    key_of,
    words_laid,
)
from laydown.media.marker.shapes import reference_shapes
from laydown.media.recipe import Recipe, format_recipe
from laydown.media.swatch import Basis, Swatch

ROUNDS = 3
"""Effects and noise are fitted in turn so many times; a fourth changes nothing that shows."""
STARTS = (0.05, 0.5, 0.95)
"""Scales to start from, for the cost may have more than one valley."""
ODD = 4.0
"""A swatch farther out than this many standard deviations is named."""
READINGS = 4.0
"""A patch's spread counts as that of so many readings of it (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class Setting:
    """What a fit starts from: swatches, paper (relative to the ceiling), priors, free effects."""

    swatches: tuple[Swatch, ...]
    paper: Paper
    ground: FloatArray
    ceiling: FloatArray
    priors: Priors
    free: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class FitOutcome:
    """What a fit ends with: colorants in order, their references, layered swatches, posterior."""

    order: tuple[Colorant, ...]
    references: tuple[Reference, ...]
    layered: tuple[Layered, ...]
    posterior: Posterior


def fit_markers(
    swatches: Sequence[Swatch],
    paper: Paper,
    *,
    colorants: Sequence[Colorant] = (),
    priors: Priors | None = None,
) -> MarkerFit:
    """Fit the marker model to the swatches of a range or kit on one paper.

    Parameters
    ----------
    swatches
        On this paper. One even coat of each colorant says what it adds; several coats say where
        its dye lies; layers in both orders say what a later coat takes and what is lifted.
    paper
        What they lie on.
    colorants
        Those of the kit, which sets the order; colorless blenders need no swatch. One that was not
        swatched is left out and noted.
    priors
        What is taken for granted until swatches tell; the usual ones where None.

    Returns
    -------
    MarkerFit
        Less than the minimum design still gives one, with wider covariance.

    Raises
    ------
    NotMeasuredError
        Where no colorant is known, or two are known only over each other.
    ValueError
        For a swatch of another paper.

    Notes
    -----
    The covariance is that of the model made straight at the fit, too narrow where an effect is
    badly known and the model is bent; predictions try effects a standard deviation to each side.

    Examples
    --------
    >>> from laydown.media.recipe import Step
    >>> paper = Paper("Gannet smooth", np.full(36, 0.9))
    >>> kelp = Colorant("Kelp", "Estuary")
    >>> fit = fit_markers([Swatch(paper.name, Recipe((Step(kelp),)), np.full(36, 0.4))], paper)
    >>> fit.one_coat.round(9)[0, 0].item(), sorted(fit.assumed)[:2]
    (0.4, ['later coat', 'lift'])
    """
    setting = _setting(swatches, paper, usual_priors() if priors is None else priors)
    known = setting.priors
    effects, noise = known.mean, Noise(known.hand, known.misfit, known.cover)
    scales = STARTS if setting.free[SCALE] else (float(effects[SCALE]),)
    for _ in range(ROUNDS):
        outcome = _fit_once(setting, colorants, effects, noise, scales)
        effects = effects_only(outcome.posterior)
        scales = (float(effects[SCALE]),)
        noise = likeliest_noise(
            outcome.layered,
            outcome.references,
            outcome.posterior,
            ceiling=setting.ceiling,
            priors=setting.priors,
        )
    return _assemble(setting, outcome, colorants)


def _setting(swatches: Sequence[Swatch], paper: Paper, priors: Priors) -> Setting:
    for swatch in swatches:
        if swatch.paper != paper.name:
            raise ValueError(f"a swatch on {swatch.paper!r} in a fit for {paper.name!r}")
    colored = tuple(s for s in swatches if any(not c.blender for c in s.recipe.colorants))
    ones = [s.reflectance for s in colored if is_one_coat(s.recipe)]
    ceiling = np.max([np.ones(36), paper.reflectance, *ones], axis=0)
    free = free_effects([s.recipe for s in colored], priors)
    ground = np.clip(paper.reflectance / ceiling, DARKEST, 1.0)
    return Setting(colored, paper, ground, ceiling, priors, free)


def _fit_once(
    setting: Setting,
    colorants: Sequence[Colorant],
    effects: FloatArray,
    noise: Noise,
    scales: Sequence[float],
) -> FitOutcome:
    """Fit the effects for given noise, one coat of each colorant inferred where it must be."""
    direct = direct_references(setting.swatches, setting.ground, setting.ceiling)
    found = inferred_references(
        setting.swatches,
        direct,
        paper=setting.ground,
        ceiling=setting.ceiling,
        effects=effects,
    )
    order = _order(setting, colorants, found)
    white = Reference(setting.ground, replicates=1, unsure=0.0, xyz_only=False)
    references = tuple(found.get(key_of(c), white) for c in order)
    layered = _layered(setting, order, references)
    posterior = min(
        (
            _fit_from(setting, references, layered, effects=_at(effects, scale), noise=noise)
            for scale in scales
        ),
        key=lambda fitted: fitted.cost,
    )
    return FitOutcome(order, references, layered, posterior)


def _order(
    setting: Setting, colorants: Sequence[Colorant], found: dict[tuple[str, str], Reference]
) -> tuple[Colorant, ...]:
    """Return the colorants that are known: as the kit lists them, then as swatches name them."""
    listed = [*colorants, *(c for s in setting.swatches for c in s.recipe.colorants)]
    first: dict[tuple[str, str], Colorant] = {}
    for colorant in listed:
        if colorant.blender or key_of(colorant) in found:
            first.setdefault(key_of(colorant), colorant)
    if not any(not c.blender for c in first.values()):
        raise NotMeasuredError(
            f"No colorant has been swatched on {setting.paper.name}.",
            hint="Lay one coat of a few colorants on it, measure and import them.",
        )
    return tuple(first.values())


def _layered(
    setting: Setting, order: tuple[Colorant, ...], references: tuple[Reference, ...]
) -> tuple[Layered, ...]:
    """Return the swatches that aren't used up as references."""
    places = {key_of(c): i for i, c in enumerate(order)}
    used_up = {r.told_by for r in references if r.told_by is not None}
    rows = [s for s in setting.swatches if not is_one_coat(s.recipe) and s.recipe not in used_up]
    coats = np.array([r.reflectance for r in references])
    shapes = [
        np.zeros((0, len(setting.ground)))
        if c.blender
        else reference_shapes(
            r.reflectance,
            ceiling=setting.ceiling,
            measuring=setting.priors.measuring,
            xyz_only=r.xyz_only,
        )
        for c, r in zip(order, references, strict=True)
    ]
    return tuple(_as_layered(setting, swatch, places, coats, shapes) for swatch in rows)


def _as_layered(
    setting: Setting,
    swatch: Swatch,
    places: dict[tuple[str, str], int],
    coats: FloatArray,
    shapes: Sequence[FloatArray],
) -> Layered:
    used = tuple(places[key_of(c)] for c in swatch.recipe.colorants)
    return Layered(
        recipe=swatch.recipe,
        steps=laid_steps(swatch.recipe),
        used=used,
        ground=Ground(setting.ground, coats[list(used)]),
        lab=lab_from_reflectance(swatch.reflectance),
        noise=float(np.hypot(setting.priors.measuring, swatch.spread / np.sqrt(READINGS))),
        shapes=tuple(shapes[place] for place in used),
    )


def _at(effects: FloatArray, scale: float) -> FloatArray:
    """Return the effects with another scale."""
    return np.concatenate([[scale], effects[SCALE + 1 :]])


def _fit_from(
    setting: Setting,
    references: tuple[Reference, ...],
    layered: tuple[Layered, ...],
    *,
    effects: FloatArray,
    noise: Noise,
) -> Posterior:
    """Fit from these effects on."""
    return fit_parameters(
        layered,
        ceiling=setting.ceiling,
        priors=setting.priors,
        amount_variance=amount_variances(references, noise.hand),
        free=setting.free,
        noise=noise,
        start=np.concatenate([effects, np.zeros(len(references))]),
    )


def _assemble(setting: Setting, outcome: FitOutcome, colorants: Sequence[Colorant]) -> MarkerFit:
    parameters = outcome.posterior.parameters
    effects, amounts = parameters[: len(EFFECTS)], parameters[len(EFFECTS) :]
    paper = absorption(setting.ground, scale=effects[SCALE])
    coats = np.array([r.reflectance for r in outcome.references])
    added = absorption(coats, scale=effects[SCALE]) - paper
    added = added * np.exp(amounts)[:, None]
    blender = np.array([float(c.blender) for c in outcome.order])
    recipes = tuple(s.recipe for s in setting.swatches)
    return MarkerFit(
        model_version=MODEL_VERSION,
        paper=setting.paper,
        colorants=outcome.order,
        ceiling=setting.ceiling,
        paper_absorption=paper,
        absorption=added,
        strength=strength_of(added) * (1.0 - blender),
        blender=blender,
        effects=effects,
        covariance=outcome.posterior.covariance,
        hand=outcome.posterior.noise.hand,
        misfit=outcome.posterior.noise.misfit,
        cover=outcome.posterior.noise.cover,
        measuring=setting.priors.measuring,
        xyz_only=np.array([float(r.xyz_only) for r in outcome.references]),
        most_coats=np.array([_most_coats(c, recipes) for c in outcome.order]),
        laid=frozenset().union(*(words_laid(r) for r in recipes)),
        assumed=_assumed(setting, blends=bool(np.any(blender))),
        odd=_odd(outcome),
        notes=_notes(setting, outcome, colorants),
        swatched=recipes,
    )


def _assumed(setting: Setting, *, blends: bool) -> frozenset[str]:
    """Return the effects that no swatch tells; a kit without a blender has no use for its own."""
    names = np.array(EFFECTS)[setting.free == 0].tolist()
    return frozenset(name for name in names if blends or name != EFFECTS[BLENDER])


def _most_coats(colorant: Colorant, recipes: Sequence[Recipe]) -> float:
    counts = [0.0]
    for recipe in recipes:
        steps = [s for s in laid_steps(recipe) if recipe.colorants[s.place] == colorant]
        counts.append(float(sum(step.coats for step in steps)))
    return max(counts)


def _odd(outcome: FitOutcome) -> tuple[str, ...]:
    told = [
        f"{format_recipe(s.recipe)}: {d:.1f} standard deviations from the rest; check this swatch."
        for s, d in zip(outcome.layered, outcome.posterior.distances, strict=True)
        if d > ODD
    ]
    amounts = outcome.posterior.parameters[len(EFFECTS) :]
    sds = np.sqrt(amount_variances(outcome.references, outcome.posterior.noise.hand))
    told += [
        f"{c.name}: its layers ask for {np.exp(a):.2f} times the amount of its one-coat swatch; "
        "check that swatch."
        for c, a, sd in zip(outcome.order, amounts, sds, strict=True)
        if abs(a) > 2.5 * sd
    ]
    return tuple(told)


def _notes(setting: Setting, outcome: FitOutcome, colorants: Sequence[Colorant]) -> tuple[str, ...]:
    known = {key_of(c) for c in outcome.order}
    missing = [c.name for c in colorants if key_of(c) not in known]
    notes = []
    if missing:
        notes.append(f"Not swatched on {setting.paper.name}: {', '.join(missing)}.")
    if not setting.paper.measured:
        notes.append(f"Bare {setting.paper.name} was not measured: a usual white is assumed.")
    inferred = [
        c.name
        for c, r in zip(outcome.order, outcome.references, strict=True)
        if r.told_by is not None
    ]
    if inferred:
        notes.append(f"One coat was inferred, not swatched: {', '.join(inferred)}.")
    if np.any(setting.ceiling > 1.0):
        notes.append("Some reflectance lies above 1 (fluorescence): layers there are less sure.")
    if any(s.basis is Basis.XYZ for s in setting.swatches):
        notes.append("Spectra were guessed from XYZ: layers are less sure than from spectra.")
    return tuple(notes)
