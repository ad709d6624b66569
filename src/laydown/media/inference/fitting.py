"""Compare observations with a model made straight, find the most probable parameters, the noise."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.errors import NotMeasuredError
from laydown.media.inference import posterior
from laydown.media.inference.forward import Forward, Linear, linearize
from laydown.media.inference.leeway import See
from laydown.media.inference.priors import BoolArray, Noise, Priors
from laydown.media.laydown import ONE_COAT, Laydown
from laydown.media.recipe import Colorant, Key, Paper, Recipe, Step, format_recipe, key_of
from laydown.media.swatch import Swatch


@dataclass(frozen=True, slots=True, eq=False)
class Reference:
    """How a colorant looks alone, which its absorption is taken from."""

    reflectance: FloatArray
    """Shape (36,), the mean of its replicates."""
    replicates: int
    """How many swatches it is the mean of."""
    xyz_only: bool
    """Whether its spectrum is a guess from XYZ."""
    laydown: Laydown = ONE_COAT
    """How it was laid, one step on bare paper."""
    deep: tuple[Laydown, FloatArray] | None = None
    """The deepest plain swatch of a wash that is as wet as this one, and how it was laid; None
    where there is none with more coats."""
    unsure: float = 0.0
    """Standard deviation of its log amount beyond hand noise: 0 where it was swatched."""
    scatter: float = 0.0
    """Sum of squares of the replicates' log amounts about their mean."""
    told_by: Recipe | None = None
    """The recipe it was inferred from; None where it was swatched."""


@dataclass(frozen=True, slots=True, eq=False)
class Observation:
    """A patch that was measured."""

    model: Forward
    """Its recipe, as the model sees it."""
    features: FloatArray
    """Shape (f,), what was measured."""
    measuring: float
    """Noise of the measurement [CIELAB units per axis]."""
    see: See = lab_from_reflectance
    """From reflectance to what is compared: CIELAB, or more."""
    fill: float = 0.0
    """Added standard deviation of the log amounts, for what was running dry."""


@dataclass(frozen=True, slots=True, eq=False)
class Residuals:
    """What a model made straight at some parameters leaves of observations.

    One with fewer features than others is filled up by such as say nothing: no residual, no slope,
    a variance of 1.
    """

    observations: tuple[Observation, ...]
    straight: Linear
    """The observations, and the model of each."""
    residual: FloatArray
    """Shape (t, f), measured minus modeled."""
    jacobian: FloatArray
    """Shape (t, f, p)."""

    def covariance(self, noise: Noise) -> FloatArray:
        """Return what each observation scatters by itself, shape (t, f, f)."""
        noises = np.array([(o.measuring, o.fill) for o in self.observations])
        measuring, fill = noises.reshape(-1, 2).T
        return self.straight.covariance(noise, measuring=measuring, fill=fill)


def compare(
    observations: Sequence[Observation],
    effects: FloatArray,
    own: FloatArray,
    priors: Priors,
    *,
    units: FloatArray | float = 1.0,
    crowding: float = 0.0,
) -> Residuals:
    """Compare observations with the model at some parameters; these are as for `linearize`."""
    straight = linearize(
        [one.model for one in observations],
        effects,
        own,
        priors,
        units=units,
        sees=[one.see for one in observations],
        crowding=crowding,
    )
    residual = -straight.features
    for row, one in zip(residual, observations, strict=True):
        row[: len(one.features)] += one.features
    jacobian = straight.jacobian(len(effects) + own.size)
    return Residuals(tuple(observations), straight, residual, jacobian)


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """What observations make of a model's p parameters."""

    x: FloatArray
    """Shape (p,), the most probable ones."""
    precision: FloatArray
    """Shape (p, p), of the posterior; what was kept at its prior counts as unknown, too."""
    compared: Residuals
    """What the observations leave there."""
    distances: FloatArray
    trust: FloatArray
    """Shapes (t,), how many standard deviations each is off, and what it counted for."""
    cost: float
    """Minus twice the log posterior."""
    prior: posterior.GaussianPrior

    def log_likelihood(
        self, noise: Noise, precision: FloatArray, which: BoolArray | slice = slice(None)
    ) -> float:
        """Return the log probability of observations under another noise, parameters out.

        `noise`: of hand, model and cover. `precision`: shape (p,), of the prior under it. `which`:
        of the observations; those far out count as little as in the fit.
        """
        straight = self.compared.straight
        places, slopes = straight.places[which], straight.slopes[which]
        scatter = self.compared.covariance(noise)[which] / self.trust[which, None, None]
        moved = np.append(self.x - self.prior.mean, 0.0)[places]
        from_mean = self.compared.residual[which] + np.einsum("tfk,tk->tf", slopes, moved)
        jacobian, scatter, rest = posterior.without_lone(places, slopes, scatter, precision)
        return posterior.log_evidence(from_mean, jacobian, scatter, np.diag(rest))


def gaussian_prior(
    priors: Priors, precision: FloatArray, *, limit: FloatArray | float, free: BoolArray
) -> posterior.GaussianPrior:
    """Return the prior of effects, then of what colorants have of their own: q numbers about 0.

    `precision`, `limit`: shape (q,), of those, and how far each may be from 0. `free`: shape (E,),
    which effects may move.
    """
    nothing = np.zeros(len(precision))
    return posterior.GaussianPrior(
        np.concatenate([priors.mean, nothing]),
        np.concatenate([priors.sd**-2.0, precision]),
        np.concatenate([priors.lowest, nothing - limit]),
        np.concatenate([priors.highest, nothing + limit]),
        np.concatenate([free, nothing == 0.0]),
    )


def fit_parameters(
    look: Callable[[FloatArray], Residuals],
    prior: posterior.GaussianPrior,
    noise: Noise,
    start: FloatArray,
    *,
    rounds: int,
    gain: float,
    move: float = 0.0,
    longest: float = np.inf,
    huber: float,
    with_volume: bool,
) -> Fitted:
    """Find the most probable parameters for a given noise.

    `look`: compares the observations with the model at some parameters. `prior`: of the parameters.
    `noise`: what the observations scatter by. `start`: shape (p,). The rest is as for
    `most_probable` and `normal_equations`.
    """

    def equations(x: FloatArray) -> tuple[posterior.NormalEquations, tuple[Residuals, FloatArray]]:
        compared = look(x)
        scatter = compared.covariance(noise)
        told, distances = posterior.normal_equations(
            compared.residual, compared.jacobian, scatter, huber=huber, with_volume=with_volume
        )
        return told, (compared, distances)

    x, hessian, (compared, distances), cost = posterior.most_probable(
        equations, prior, start, rounds=rounds, gain=gain, move=move, longest=longest
    )
    precision, trust = hessian + np.diag(prior.precision), posterior.trust_within(distances, huber)
    return Fitted(x, precision, compared, distances, trust, cost, prior)


# What a fit says of itself: which colorants it knows, how far they were tried, what is odd.

MOST_NOISE = float(posterior.FACTORS[-2])
"""Noise is at the end of what is tried from so many times the usual on."""
ENDS = {
    "scale": "How deep your color goes into the paper",
    "sunk": "How deep your color goes into the paper",
    "later coat": "What a second coat adds",
    "second": "What a second coat adds",
    "quick": "What a quick stroke lays",
    "soaked": "What a soaked stroke lays",
    "wet": "What a coat over wet color adds",
    "scatter": "How much your colors cover",
    "depth": "How far a pencil reaches into the paper's tooth",
    "light": "What a light hand lays",
    "light depth": "How far a light hand reaches into the paper's tooth",
    "heavy": "What a heavy hand lays",
    "heavy depth": "How far a heavy hand reaches into the paper's tooth",
    "water": "What water does",
    "glare": "How much the dry paper shines",
}
"""Effects in words, to say of one that it lies on an end of what it can be."""
GUESSED_NOTE = "Spectra were guessed from XYZ: layers are less sure than from spectra."


def known_colorants(
    colorants: Sequence[Colorant], swatches: Sequence[Swatch], known: Collection[Key], paper: Paper
) -> tuple[Colorant, ...]:
    """Return the colorants that are known: as the kit lists them, then as swatches name them.

    Raises NotMeasuredError where there is none with a color.
    """
    listed = [*colorants, *(c for s in swatches for c in s.recipe.colorants)]
    first: dict[Key, Colorant] = {}
    for colorant in listed:
        if colorant.blender or key_of(colorant) in known:
            first.setdefault(key_of(colorant), colorant)
    if all(c.blender for c in first.values()):
        raise NotMeasuredError(
            f"No colorant has been swatched on {paper.name}.",
            hint="Lay one coat of a few colorants on it, measure and import them.",
        )
    return tuple(first.values())


def most_coats(colorants: Sequence[Colorant], recipes: Sequence[Recipe]) -> FloatArray:
    """Return the most coats of each colorant in one recipe, shape (n,)."""
    most: dict[Colorant, float] = {}
    for recipe in recipes:
        for colorant in recipe.colorants:
            steps = [step for step in recipe.steps if isinstance(step, Step)]
            laid = [step for step in steps if colorant in [part.colorant for part in step.parts]]
            coats = float(sum(step.laydown.coats for step in laid))
            most[colorant] = max(most.get(colorant, 0.0), coats)
    return np.array([most.get(colorant, 0.0) for colorant in colorants])


def odd_swatches(
    observations: Sequence[Observation], distances: FloatArray, *, limit: float
) -> tuple[str, ...]:
    """Return a sentence for each swatch farther from the rest than so many deviations."""
    return tuple(
        f"{format_recipe(seen.model.recipe)}: {d:.1f} standard deviations from the rest; "
        "check this swatch."
        for seen, d in zip(observations, distances, strict=True)
        if d > limit
    )


def usual_notes(
    paper: Paper, colorants: Sequence[Colorant], known: Sequence[Colorant]
) -> tuple[str, ...]:
    """Return what any fit has to say: which of the kit's colorants are missing, and the paper."""
    keys = {key_of(c) for c in known}
    missing = [c.name for c in colorants if key_of(c) not in keys]
    said = [f"Not swatched on {paper.name}: {', '.join(missing)}."] if missing else []
    if not paper.measured:
        said.append(f"Bare {paper.name} was not measured: a usual white is assumed.")
    return tuple(said)


def notes_on_ends(
    priors: Priors, effects: FloatArray, told: BoolArray, noise: Noise
) -> tuple[str, ...]:
    """Return a sentence for each number of a fit that lies on an end of what it can be.

    `priors`: with what effects can be; noise can be the last of `FACTORS` times what is usual.
    `effects`: shape (E,), as they were fitted. `told`: shape (E,), which of them swatches tell.
    `noise`: as it was found.
    """
    there = told & priors.capped & ((effects <= priors.lowest) | (effects >= priors.highest))
    ended = [name for name, at_end in zip(priors.names, there, strict=True) if at_end]
    # of a treatment, what that does
    words = dict.fromkeys(ENDS.get(n) or f"What {n.rpartition(' ')[0]} does" for n in ended)
    said = [
        f"{what} came out at the end of what I can tell: layers are less sure." for what in words
    ]
    if max(noise.hand / priors.noise.hand, noise.misfit / priors.noise.misfit) >= MOST_NOISE:
        said.append("Your swatches differ more than I allow for. Are two of them mixed up?")
    return tuple(said)
