"""Fit the marker model to swatches: the most probable effects, and how sure they are.

Every one-coat swatch is taken as it is, up to the hand noise of its amount. The effects and those
amounts are then what makes the layered swatches most probable (maximum a posteriori), compared in
CIELAB. Effects and noise are fitted in turn, for how far the hand scatters says how much a swatch
tells of an effect.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.errors import NotMeasuredError
from laydown.media.inference import fitting
from laydown.media.inference.forward import variants
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
FLUORESCENT = "Some reflectance lies above 1 (fluorescence): layers there are less sure."


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

    `swatches`: on this paper. One even coat of each colorant says what it adds; several coats say
    where its dye lies; layers in both orders say what a later coat takes and what is lifted.
    `paper`: what they lie on. `colorants`: those of the kit, which sets the order; colorless
    blenders need no swatch. One that was not swatched is left out and noted. `priors`: what is
    taken for granted until swatches tell; the usual ones where None. Less than the minimum design
    still gives a fit, with wider covariance: before any swatch of several coats the scale is what
    `belief` has of the paper and the darkest coat. Raises NotMeasuredError where no colorant is
    known, or two are known only over each other, and ValueError for a swatch of another paper.

    The covariance is that of the model made straight at the fit, too narrow where an effect is
    badly known and the model is bent; predictions try effects a standard deviation to each side.

    >>> from laydown.media.recipe import Recipe, Step
    >>> paper = Paper("Gannet smooth", np.full(36, 0.9))
    >>> kelp = Colorant("Kelp", "Estuary")
    >>> fit = fit_markers([Swatch(paper.name, Recipe((Step(kelp),)), np.full(36, 0.4))], paper)
    >>> fit.one_coat.round(9)[0, 0].item(), sorted(fit.assumed)[:2]
    (0.4, ['later coat', 'lift'])
    """
    known = _MarkerSwatches(swatches, paper, colorants, priors or usual_priors())
    usual, noise = known.priors.mean, known.priors.noise
    scales = STARTS if known.free[SCALE] else (float(usual[SCALE]),)
    starts = [np.concatenate([[scale], usual[SCALE + 1 :]]) for scale in scales]
    for _ in range(ROUNDS):
        references, fitted = known.fit_once(starts, noise)
        starts = [fitted.x]
        likelihood = partial(known.log_likelihood, references, fitted)
        made_with, noise = noise, likeliest_noise(likelihood, known.priors, noise)
    noise = replace(made_with, misfit=expected_misfit(likelihood, known.priors, noise))
    return with_residuals(known.assembled(references, fitted, noise), known.swatches)


class _MarkerSwatches:
    """What a fit starts from: swatches, paper (relative to the ceiling), priors, free effects."""

    def __init__(
        self,
        swatches: Sequence[Swatch],
        paper: Paper,
        colorants: Sequence[Colorant],
        priors: Priors,
    ) -> None:
        for swatch in swatches:
            if swatch.paper != paper.name:
                raise ValueError(f"a swatch on {swatch.paper!r} in a fit for {paper.name!r}")
        colored = [s for s in swatches if any(not c.blender for c in s.recipe.colorants)]
        self.swatches, self.recipes = colored, tuple(s.recipe for s in colored)
        self.paper, self.colorants, self.priors, self.bend = paper, colorants, priors, STRAIGHT
        ones = [s.reflectance for s in colored if is_one_coat(s.recipe)]
        self.ceiling = np.max([np.ones(36), paper.reflectance, *ones], axis=0)
        self.ground = np.clip(paper.reflectance / self.ceiling, DARKEST, 1.0)
        self.direct = direct_references(colored, self.ground, self.ceiling)
        self.free = free_effects(self.recipes, priors)
        middle, sd, bend = belief(np.array(ones).reshape(-1, 36), surface=paper.surface)
        if not self.free[SCALE] and sd < priors.sd[SCALE]:
            self.priors, self.bend = priors.believed({EFFECTS[SCALE]: (middle, sd)}), bend

    def references(self, effects: FloatArray) -> dict[Key, fitting.Reference]:
        """Return one coat of each colorant, inferred where it was swatched otherwise only.

        First from swatches of several coats of the colorant alone, then from layered swatches in
        which it is the only one unknown, with the effects, shape (7,), as they are believed to be.
        Raises NotMeasuredError where two unknown colorants lie in one swatch and nothing tells them
        apart.
        """
        found = dict(self.direct)
        while True:
            unknown = [
                [c for c in recipe.colorants if not c.blender and key_of(c) not in found]
                for recipe in self.recipes
            ]
            single = [s for s, u in zip(self.swatches, unknown, strict=True) if len(u) == 1]
            if not single:
                break
            # by how much must be believed to infer one coat from them
            swatch = min(
                single, key=lambda s: (len(s.recipe.colorants), s.recipe.coats, s.recipe.key)
            )
            colorant = unknown[self.swatches.index(swatch)][0]
            found[key_of(colorant)] = self._solve(swatch, colorant, found, effects)
        stuck = next(filter(None, unknown), None)
        if stuck:
            raise NotMeasuredError(
                f"{' and '.join(c.label for c in stuck)} were swatched only over each other, so "
                "neither is known alone.",
                hint=f"Lay one coat of {stuck[0].name} on bare paper, measure and import it.",
            )
        return found

    def _solve(
        self,
        swatch: Swatch,
        unknown: Colorant,
        found: dict[Key, fitting.Reference],
        effects: FloatArray,
    ) -> fitting.Reference:
        """Find the one coat that makes the recipe come out as the swatch, by repeated division."""
        steps, used, scale = laid_steps(swatch.recipe), swatch.recipe.colorants, effects[SCALE]
        ground = absorption(self.ground, scale=scale)
        wanted = absorption(swatch.reflectance / self.ceiling, scale=scale) - ground
        added, place = np.zeros((len(used), len(wanted))), used.index(unknown)
        for row, colorant in zip(added, used, strict=True):
            if key_of(colorant) in found:
                row[:] = absorption(found[key_of(colorant)].reflectance, scale=scale) - ground
        added[place] = wanted / 2.0
        usual = variants(effects, np.zeros((len(used), 1)), steps=len(steps))
        for _ in range(30):
            pile, shares = pile_of(steps, added[None], usual)
            share = float(shares[0, place])
            others = pile[0][0] - share * added[place]
            added[place] = (wanted - others) / max(share, 1e-3)
        return fitting.Reference(
            reflectance=inverse(ground + added[place], scale=scale),
            replicates=1,
            unsure=UNSURE_MULTIPLE if len(used) == 1 else UNSURE_LAYERED,
            xyz_only=swatch.basis is Basis.XYZ,
            told_by=swatch.recipe,
        )

    def fit_once(
        self, starts: Sequence[FloatArray], noise: Noise
    ) -> tuple[References, fitting.Fitted]:
        """Fit the effects for given noise, one coat of each colorant inferred where it must be.

        A start has the effects and, where these were fitted before, the amounts. Returns the
        parameters (7 + n,) by the swatches that show how coats pile up.
        """
        found = self.references(self.priors.mean if len(starts) > 1 else starts[0][: len(EFFECTS)])
        order = fitting.known_colorants(self.colorants, self.swatches, found, self.paper)
        white = fitting.Reference(self.ground, replicates=1, xyz_only=False)
        references = {c: found.get(key_of(c), white) for c in order}
        layers = self._layers(references)
        tried = [self._fit_from(layers, references, start, noise) for start in starts]
        return references, min(tried, key=lambda fitted: fitted.cost)

    def _layers(self, references: References) -> list[fitting.Observation]:
        """Return the swatches that aren't used up as references, ready for the fit."""
        used_up = {r.told_by for r in references.values()}
        coats = np.array([r.reflectance for r in references.values()])
        measuring, places = self.priors.measuring, {key_of(c): i for i, c in enumerate(references)}
        shapes = [
            one_coat_shapes(
                r.reflectance, self.ceiling, measuring, blender=c.blender, xyz_only=r.xyz_only
            )
            for c, r in references.items()
        ]
        layers = []
        for swatch in self.swatches:
            if is_one_coat(swatch.recipe) or swatch.recipe in used_up:
                continue
            used = tuple(places[key_of(c)] for c in swatch.recipe.colorants)
            model = marker_forward(
                swatch.recipe,
                self.ground,
                coats[list(used)],
                ceiling=self.ceiling,
                used=used,
                shapes=tuple(shapes[place] for place in used),
            )
            asked = tuple(EFFECTS.index(name) for name in sorted(bears_on(swatch.recipe)))
            seen = lab_from_reflectance(swatch.reflectance)
            layers.append(
                fitting.Observation(
                    replace(model, asked=asked), seen, reading_noise(swatch, measuring)
                )
            )
        return layers

    def _prior(self, references: References, hand: float) -> GaussianPrior:
        precision, limit = 1.0 / amount_variances(references.values(), hand), FARTHEST
        return fitting.gaussian_prior(self.priors, precision, limit=limit, free=self.free > 0)

    def _fit_from(
        self,
        layers: Sequence[fitting.Observation],
        references: References,
        start: FloatArray,
        noise: Noise,
    ) -> fitting.Fitted:
        """Find the most probable parameters for given noise."""
        n, e, priors = len(references), len(EFFECTS), self.priors
        return fitting.fit_parameters(
            lambda x: fitting.compare(layers, x[:e], x[e:, None], priors),
            self._prior(references, noise.hand),
            noise,
            np.concatenate([start, np.zeros(n)])[: e + n],
            rounds=DESCENTS,
            gain=1e-6,
            move=1e-7,
            huber=HUBER,
            with_volume=True,
        )

    def log_likelihood(self, references: References, fitted: fitting.Fitted, noise: Noise) -> float:
        """Return how probable the swatches are by their noise, replicates of one coat included.

        Those scatter about their means.
        """
        count = sum(r.replicates - 1 for r in references.values())
        total = sum(r.scatter for r in references.values())
        told = float(-count * np.log(noise.hand) - 0.5 * total / noise.hand**2)
        if fitted.compared.observations:
            precision = self._prior(references, noise.hand).precision
            told += fitted.log_likelihood(noise, precision)
        return told

    def assembled(self, references: References, fitted: fitting.Fitted, noise: Noise) -> MarkerFit:
        """Return the fit."""
        effects, amounts = np.split(fitted.x, [len(EFFECTS)])
        order, coats = tuple(references), np.array([r.reflectance for r in references.values()])
        paper = absorption(self.ground, scale=effects[SCALE])
        added = absorption(coats, scale=effects[SCALE]) - paper
        added = added * np.exp(amounts)[:, None]
        blender = np.array([float(c.blender) for c in order])
        # a kit without a blender has no use for what one does
        useless = {EFFECTS[BLENDER]} if not blender.any() else set()
        return MarkerFit(
            model_version=MODEL_VERSION,
            medium=Medium.MARKER,
            paper=self.paper,
            colorants=order,
            ceiling=self.ceiling,
            paper_absorption=paper,
            absorption=added,
            strength=strength_of(added) * (1.0 - blender),
            blender=blender,
            effects=effects,
            own=np.zeros((len(order), 1)),
            covariance=np.asarray(np.linalg.inv(fitted.precision)),
            noise=noise,
            measuring=self.priors.measuring,
            xyz_only=np.array([float(r.xyz_only) for r in references.values()]),
            most_coats=fitting.most_coats(order, self.recipes),
            laid=frozenset().union(*map(words_laid, self.recipes)),
            assumed=frozenset(np.array(EFFECTS)[self.free == 0].tolist()) - useless,
            odd=_odd(references, fitted, noise.hand),
            notes=self._notes(references, effects, noise),
            swatched=self.recipes,
            bend=self.bend,
        )

    def _notes(self, references: References, effects: FloatArray, noise: Noise) -> tuple[str, ...]:
        inferred = [c.name for c, r in references.items() if r.told_by is not None]
        notes = list(fitting.usual_notes(self.paper, self.colorants, tuple(references)))
        notes += fitting.notes_on_ends(self.priors, effects, self.free > 0, noise)
        if inferred:
            notes.append(f"One coat was inferred, not swatched: {', '.join(inferred)}.")
        if np.any(self.ceiling > 1.0):
            notes.append(FLUORESCENT)
        if any(s.basis is Basis.XYZ for s in self.swatches):
            notes.append(fitting.GUESSED_NOTE)
        return tuple(notes)


def amount_variances(references: Iterable[fitting.Reference], hand: float) -> FloatArray:
    """Return the variance of each reference swatch's log amount, shape (n,).

    >>> four = fitting.Reference(np.ones(36), replicates=4, xyz_only=False)
    >>> amount_variances([four], 0.1).round(6).tolist()
    [0.0025]
    """
    return np.array([hand**2 / r.replicates + r.unsure**2 for r in references])


def _odd(references: References, fitted: fitting.Fitted, hand: float) -> tuple[str, ...]:
    layers, distances = fitted.compared.observations, fitted.distances
    sds = np.sqrt(amount_variances(references.values(), hand))
    strange = [
        f"{c.name}: its layers ask for {np.exp(a):.2f} times the amount of its one-coat swatch; "
        "check that swatch."
        for c, a, sd in zip(references, fitted.x[len(EFFECTS) :], sds, strict=True)
        if abs(a) > 2.5 * sd
    ]
    return (*fitting.odd_swatches(layers, distances, limit=ODD), *strange)
