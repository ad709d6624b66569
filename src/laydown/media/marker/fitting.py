"""Fit the marker model to swatches: the most probable effects, and how sure they are.

Every one-coat swatch is taken as it is, up to the hand noise of its amount. The effects and those
amounts are then what makes the layered swatches most probable (maximum a posteriori), compared in
CIELAB. Effects and noise are fitted in turn, for how far the hand scatters says how much a swatch
tells of an effect.
"""

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.errors import NotMeasuredError
from laydown.media.inference import fitting
from laydown.media.inference.forward import LaidStep, Variants
from laydown.media.inference.posterior import GaussianPrior, expected_misfit, likeliest_noise
from laydown.media.inference.prediction import with_residuals
from laydown.media.inference.priors import Noise, Priors
from laydown.media.marker.design import bears_on, free_effects, words_laid
from laydown.media.marker.model import MODEL_VERSION, MarkerFit, marker_forward, one_coat_shapes
from laydown.media.marker.pile import (
    DARKEST,
    absorption,
    inverse,
    laid_steps,
    pile_of,
    strength_of,
    unchanged,
)
from laydown.media.marker.priors import BLENDER, EFFECTS, SCALE, STRAIGHT, belief, usual_priors
from laydown.media.recipe import Colorant, Key, Medium, Paper, Recipe, key_of
from laydown.media.swatch import Basis, Swatch, reading_noise

# Which swatches show one coat of a colorant, and what that coat is where none does.

UNSURE_MULTIPLE = 0.15
"""Added scatter of the log amount where one coat is inferred from several; common practice, no
source: about what the prior of a later coat leaves open."""
UNSURE_LAYERED = 0.3
"""The same where it is inferred from a layered swatch alone; chosen, no source."""


def is_one_coat(recipe: Recipe) -> bool:
    """Whether the recipe is one even coat on bare dry paper, which all else is told from."""
    return len(recipe.steps) == 1 and recipe.coats == 1 and not words_laid(recipe)


def direct_references(
    swatches: Sequence[Swatch], paper: FloatArray, ceiling: FloatArray
) -> dict[Key, fitting.Reference]:
    """Average the one-coat swatches of each colorant.

    `swatches`: all of them. `paper`, `ceiling`: shape (36,), the bare paper relative to the
    ceiling, and the ceiling. Returns reference by (range, name).
    """
    found: dict[Key, list[Swatch]] = {}
    for swatch in swatches:
        if is_one_coat(swatch.recipe) and not swatch.recipe.colorants[0].blender:
            found.setdefault(key_of(swatch.recipe.colorants[0]), []).append(swatch)
    return {key: _mean(listed, paper, ceiling) for key, listed in sorted(found.items())}


def _mean(listed: list[Swatch], paper: FloatArray, ceiling: FloatArray) -> fitting.Reference:
    spectra = [s for s in listed if s.basis is Basis.SPECTRUM] or listed
    logs = np.log(np.clip([s.reflectance / ceiling for s in spectra], DARKEST, 1.0))
    mean = logs.mean(axis=0)
    depth, depths = np.log(paper) - mean, np.log(paper) - logs
    total = max(float(depth @ depth), 1e-12)
    amounts = np.log(np.maximum(depths @ depth / total, 0.1))
    return fitting.Reference(
        reflectance=np.exp(mean),
        replicates=len(spectra),
        xyz_only=spectra[0].basis is Basis.XYZ,
        scatter=float(((amounts - amounts.mean()) ** 2).sum()),
    )


def inferred_references(
    swatches: Sequence[Swatch],
    known: dict[Key, fitting.Reference],
    *,
    paper: FloatArray,
    ceiling: FloatArray,
    effects: FloatArray,
) -> dict[Key, fitting.Reference]:
    """Infer one coat of colorants that were swatched in several coats, or in layers, only.

    First from swatches of the colorant alone, then from layered swatches in which it is the only
    one unknown, with the effects as they are believed to be.

    `swatches`: all of them. `known`: what `direct_references` found. `paper`, `ceiling`: as there.
    `effects`: shape (7,). Returns `known` and the inferred ones. Raises NotMeasuredError where two
    unknown colorants lie in one swatch and nothing tells them apart.
    """
    found = dict(known)
    waiting = [s for s in swatches if s.recipe.steps]
    while True:
        ready = [(s, _unknown(s.recipe, found)) for s in waiting]
        single = [(s, u) for s, u in ready if len(u) == 1]
        if not single:
            break
        swatch, unknown = min(single, key=lambda pair: _trouble(pair[0].recipe))
        found[key_of(unknown[0])] = _solve(
            swatch, unknown[0], found, paper=paper, ceiling=ceiling, effects=effects
        )
    stuck = [u for _, u in ready if u]
    if stuck:
        names = " and ".join(c.label for c in stuck[0])
        raise NotMeasuredError(
            f"{names} were swatched only over each other, so neither is known alone.",
            hint=f"Lay one coat of {stuck[0][0].name} on bare paper, measure and import it.",
        )
    return found


def _unknown(recipe: Recipe, found: dict[Key, fitting.Reference]) -> list[Colorant]:
    return [c for c in recipe.colorants if not c.blender and key_of(c) not in found]


def _trouble(recipe: Recipe) -> tuple[int, int, tuple[tuple[str, ...], ...]]:
    """Rank swatches by how much must be believed to infer one coat from them."""
    return len(recipe.colorants), recipe.coats, recipe.key


def _solve(
    swatch: Swatch,
    unknown: Colorant,
    found: dict[Key, fitting.Reference],
    *,
    paper: FloatArray,
    ceiling: FloatArray,
    effects: FloatArray,
) -> fitting.Reference:
    """Find the one coat that makes the recipe come out as the swatch, by repeated division."""
    steps, used = laid_steps(swatch.recipe), swatch.recipe.colorants
    scale, place = effects[SCALE], used.index(unknown)
    ground = absorption(paper, scale=scale)
    wanted = absorption(swatch.reflectance / ceiling, scale=scale) - ground
    added = np.array([_added(c, found, wanted, ground, scale) for c in used])
    variant = unchanged(effects, steps=len(steps), colorants=len(used))
    for _ in range(30):
        others, share = _others(steps, added, variant, place)
        added[place] = (wanted - others) / max(share, 1e-3)
    return fitting.Reference(
        reflectance=inverse(ground + added[place], scale=scale),
        replicates=1,
        unsure=UNSURE_MULTIPLE if len(used) == 1 else UNSURE_LAYERED,
        xyz_only=swatch.basis is Basis.XYZ,
        told_by=swatch.recipe,
    )


def _added(
    colorant: Colorant,
    found: dict[Key, fitting.Reference],
    guess: FloatArray,
    ground: FloatArray,
    scale: float,
) -> FloatArray:
    if colorant.blender:
        return np.zeros(ground.shape)
    if key_of(colorant) not in found:
        return guess / 2.0
    return absorption(found[key_of(colorant)].reflectance, scale=scale) - ground


def _others(
    steps: tuple[LaidStep, ...], added: FloatArray, variant: Variants, place: int
) -> tuple[FloatArray, float]:
    pile, shares = pile_of(steps, added[None], variant)
    share = float(shares[0, place])
    return pile[0][0] - share * added[place], share


ROUNDS = 3
"""Effects and noise are fitted in turn so many times; a fourth changes nothing that shows."""
STARTS = (0.05, 0.5, 0.95)
"""Scales to start from, for the cost may have more than one valley."""
ODD = 4.0
"""A swatch farther out than this many standard deviations is named."""
HUBER = 2.8
"""Root of the 95 % point of chi-square, 3 degrees of freedom: a swatch beyond it weighs less."""
DESCENTS = 40
"""Gauss–Newton knows nothing of how the scatter goes with the parameters, so that its last steps
raise the cost however short they are: few are tried, each a tenth of the one before."""
FARTHEST = 2.0
"""No log amount is farther than this from that of its reference."""


@dataclass(frozen=True, slots=True, eq=False)
class Setting:
    """What a fit starts from: swatches, paper (relative to the ceiling), priors, free effects."""

    swatches: tuple[Swatch, ...]
    paper: Paper
    ground: FloatArray
    ceiling: FloatArray
    priors: Priors
    free: FloatArray
    bend: FloatArray


References = dict[Colorant, fitting.Reference]
"""One even coat of each colorant, relative to the ceiling, in the order of the arrays."""


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
        Less than the minimum design still gives one, with wider covariance: before any swatch of
        several coats the scale is what `scale.belief` has of the paper and the darkest coat.

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

    >>> from laydown.media.recipe import Recipe, Step
    >>> paper = Paper("Gannet smooth", np.full(36, 0.9))
    >>> kelp = Colorant("Kelp", "Estuary")
    >>> fit = fit_markers([Swatch(paper.name, Recipe((Step(kelp),)), np.full(36, 0.4))], paper)
    >>> fit.one_coat.round(9)[0, 0].item(), sorted(fit.assumed)[:2]
    (0.4, ['later coat', 'lift'])
    """
    setting = _setting(swatches, paper, usual_priors() if priors is None else priors)
    usual, noise = setting.priors.mean, setting.priors.noise
    scales = STARTS if setting.free[SCALE] else (float(usual[SCALE]),)
    starts = [np.concatenate([[scale], usual[SCALE + 1 :]]) for scale in scales]
    for _ in range(ROUNDS):
        references, fitted = _fit_once(setting, colorants, starts, noise)
        starts = [fitted.x]
        likelihood = _noise_likelihood(setting, references, fitted)
        made_with, noise = noise, likeliest_noise(likelihood, setting.priors, noise)
    noise = replace(made_with, misfit=expected_misfit(likelihood, setting.priors, noise))
    made = _assembled(setting, references, fitted, noise)
    notes = _notes(setting, references, made, colorants)
    return with_residuals(replace(made, notes=notes), setting.swatches)


def _setting(swatches: Sequence[Swatch], paper: Paper, priors: Priors) -> Setting:
    for swatch in swatches:
        if swatch.paper != paper.name:
            raise ValueError(f"a swatch on {swatch.paper!r} in a fit for {paper.name!r}")
    colored = tuple(s for s in swatches if any(not c.blender for c in s.recipe.colorants))
    ones = [s.reflectance for s in colored if is_one_coat(s.recipe)]
    ceiling = np.max([np.ones(36), paper.reflectance, *ones], axis=0)
    free = free_effects([s.recipe for s in colored], priors)
    ground = np.clip(paper.reflectance / ceiling, DARKEST, 1.0)
    bend = STRAIGHT
    middle, sd, bent = belief(np.array(ones).reshape(-1, 36), surface=paper.surface)
    if not free[SCALE] and sd < priors.sd[SCALE]:
        priors, bend = priors.believed({EFFECTS[SCALE]: (middle, sd)}), bent
    return Setting(colored, paper, ground, ceiling, priors, free, bend)


def _fit_once(
    setting: Setting, colorants: Sequence[Colorant], starts: Sequence[FloatArray], noise: Noise
) -> tuple[References, fitting.Fitted]:
    """Fit the effects for given noise, one coat of each colorant inferred where it must be.

    A start has the effects and, where these were fitted before, the amounts. Returns the
    parameters (7 + n,) by the swatches that show how coats pile up.
    """
    effects = setting.priors.mean if len(starts) > 1 else starts[0][: len(EFFECTS)]
    direct = direct_references(setting.swatches, setting.ground, setting.ceiling)
    found = inferred_references(
        setting.swatches, direct, paper=setting.ground, ceiling=setting.ceiling, effects=effects
    )
    order = fitting.known_colorants(colorants, setting.swatches, found, setting.paper)
    white = fitting.Reference(setting.ground, replicates=1, xyz_only=False)
    references = {c: found.get(key_of(c), white) for c in order}
    layers = _layers(setting, references)
    tried = [_fit_from(setting, layers, references, start, noise) for start in starts]
    return references, min(tried, key=lambda fitted: fitted.cost)


def _layers(setting: Setting, references: References) -> list[fitting.Observation]:
    """Return the swatches that aren't used up as references, ready for the fit."""
    used_up = {r.told_by for r in references.values() if r.told_by is not None}
    rows = [s for s in setting.swatches if not is_one_coat(s.recipe) and s.recipe not in used_up]
    coats = np.array([r.reflectance for r in references.values()])
    shapes = [
        one_coat_shapes(
            r.reflectance,
            setting.ceiling,
            setting.priors.measuring,
            blender=c.blender,
            xyz_only=r.xyz_only,
        )
        for c, r in references.items()
    ]
    places = {key_of(c): i for i, c in enumerate(references)}
    used = [tuple(places[key_of(c)] for c in s.recipe.colorants) for s in rows]
    return [
        fitting.Observation(
            replace(
                marker_forward(
                    swatch.recipe,
                    setting.ground,
                    coats[list(where)],
                    ceiling=setting.ceiling,
                    used=where,
                    shapes=tuple(shapes[place] for place in where),
                ),
                asked=tuple(EFFECTS.index(name) for name in sorted(bears_on(swatch.recipe))),
            ),
            lab_from_reflectance(swatch.reflectance),
            reading_noise(swatch, setting.priors.measuring),
        )
        for swatch, where in zip(rows, used, strict=True)
    ]


def amount_variances(references: Iterable[fitting.Reference], hand: float) -> FloatArray:
    """Return the variance of each reference swatch's log amount, shape (n,).

    >>> four = fitting.Reference(np.ones(36), replicates=4, xyz_only=False)
    >>> amount_variances([four], 0.1).round(6).tolist()
    [0.0025]
    """
    return np.array([hand**2 / r.replicates + r.unsure**2 for r in references])


def _precision(setting: Setting, references: References, hand: float) -> FloatArray:
    variances = amount_variances(references.values(), hand)
    return np.concatenate([setting.priors.sd**-2.0, 1.0 / variances])


def _fit_from(
    setting: Setting,
    layers: Sequence[fitting.Observation],
    references: References,
    start: FloatArray,
    noise: Noise,
) -> fitting.Fitted:
    """Find the most probable parameters for given noise."""
    n, e, priors = len(references), len(EFFECTS), setting.priors
    limit = np.full(n, FARTHEST)
    prior = GaussianPrior(
        np.concatenate([priors.mean, np.zeros(n)]),
        _precision(setting, references, noise.hand),
        np.concatenate([priors.lowest, -limit]),
        np.concatenate([priors.highest, limit]),
        np.concatenate([setting.free, np.ones(n)]) > 0,
    )
    return fitting.fit_parameters(
        lambda x: fitting.compare(layers, x[:e], x[e:, None], priors),
        prior,
        noise,
        np.concatenate([start, np.zeros(n)])[: e + n],
        rounds=DESCENTS,
        gain=1e-6,
        move=1e-7,
        huber=HUBER,
        with_volume=True,
    )


def _noise_likelihood(
    setting: Setting, references: References, fitted: fitting.Fitted
) -> Callable[[Noise], float]:
    """Return how probable the swatches are by their noise, replicates of one coat included."""

    def log_likelihood(noise: Noise) -> float:
        told = _replicates(references.values(), noise.hand)
        if fitted.compared.observations:
            told += fitted.log_likelihood(noise, _precision(setting, references, noise.hand))
        return told

    return log_likelihood


def _replicates(references: Collection[fitting.Reference], hand: float) -> float:
    """Return the log likelihood of how the replicates of one coat scatter about their means."""
    count = sum(r.replicates - 1 for r in references)
    total = sum(r.scatter for r in references)
    return float(-count * np.log(hand) - 0.5 * total / hand**2)


def _assembled(
    setting: Setting, references: References, fitted: fitting.Fitted, noise: Noise
) -> MarkerFit:
    effects, amounts = np.split(fitted.x, [len(EFFECTS)])
    order, coats = tuple(references), np.array([r.reflectance for r in references.values()])
    paper = absorption(setting.ground, scale=effects[SCALE])
    added = absorption(coats, scale=effects[SCALE]) - paper
    added = added * np.exp(amounts)[:, None]
    blender = np.array([float(c.blender) for c in order])
    recipes = tuple(s.recipe for s in setting.swatches)
    return MarkerFit(
        model_version=MODEL_VERSION,
        medium=Medium.MARKER,
        paper=setting.paper,
        colorants=order,
        ceiling=setting.ceiling,
        paper_absorption=paper,
        absorption=added,
        strength=strength_of(added) * (1.0 - blender),
        blender=blender,
        effects=effects,
        own=np.zeros((len(order), 1)),
        covariance=np.asarray(np.linalg.inv(fitted.precision)),
        hand=noise.hand,
        misfit=noise.misfit,
        cover=noise.cover,
        measuring=setting.priors.measuring,
        xyz_only=np.array([float(r.xyz_only) for r in references.values()]),
        most_coats=fitting.most_coats(order, recipes),
        laid=frozenset().union(*(words_laid(r) for r in recipes)),
        assumed=_assumed(setting, blends=bool(np.any(blender))),
        odd=_odd(references, fitted, noise.hand),
        notes=(),
        swatched=recipes,
        bend=setting.bend,
    )


def _assumed(setting: Setting, *, blends: bool) -> frozenset[str]:
    """Return the effects that no swatch tells; a kit without a blender has no use for its own."""
    names = np.array(EFFECTS)[setting.free == 0].tolist()
    return frozenset(name for name in names if blends or name != EFFECTS[BLENDER])


def _odd(references: References, fitted: fitting.Fitted, hand: float) -> tuple[str, ...]:
    layers, distances = fitted.compared.observations, fitted.equations.distances
    sds = np.sqrt(amount_variances(references.values(), hand))
    strange = [
        f"{c.name}: its layers ask for {np.exp(a):.2f} times the amount of its one-coat swatch; "
        "check that swatch."
        for c, a, sd in zip(references, fitted.x[len(EFFECTS) :], sds, strict=True)
        if abs(a) > 2.5 * sd
    ]
    return (*fitting.odd_swatches(layers, distances, limit=ODD), *strange)


def _notes(
    setting: Setting, references: References, fit: MarkerFit, colorants: Sequence[Colorant]
) -> tuple[str, ...]:
    inferred = [c.name for c, r in references.items() if r.told_by is not None]
    notes = list(fitting.usual_notes(setting.paper, colorants, fit.colorants))
    notes += fitting.notes_on_ends(setting.priors, fit.effects, setting.free > 0, fit.noise)
    if inferred:
        notes.append(f"One coat was inferred, not swatched: {', '.join(inferred)}.")
    if np.any(setting.ceiling > 1.0):
        notes.append("Some reflectance lies above 1 (fluorescence): layers there are less sure.")
    if any(s.basis is Basis.XYZ for s in setting.swatches):
        notes.append(fitting.GUESSED_NOTE)
    return tuple(notes)
