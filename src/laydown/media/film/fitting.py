"""How much the hand scatters, the model misses and pigments differ, as film swatches tell it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.errors import NotMeasuredError
from laydown.media.colorant import Colorant, Paper
from laydown.media.film.constants import film_reflectance
from laydown.media.film.laying import (
    FilmGround,
    FilmStep,
    FilmVariants,
    film_steps,
    film_unchanged,
    matters,
    own_units,
)
from laydown.media.film.model import (
    FILM_VERSION,
    GUESSED,
    OWN,
    TREATMENTS,
    FilmFit,
    FilmPriors,
    film_priors,
)
from laydown.media.laydown import Laydown, Medium, Pressure, Wait
from laydown.media.marker.shapes import SEEN_SHAPES, reference_shapes
from laydown.media.recipe import Recipe, Step, format_recipe
from laydown.media.swatch import Basis, Swatch

FACTORS = np.geomspace(0.25, 4.0, 17)
"""What the prior noise is multiplied by, to try."""
USUAL_COLORANTS = 6.0
"""As firmly as so many colorants would tell it, the usual spread of scattering is believed
(chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class FilmLeft:
    """What a fit leaves of one swatch.

    Parameters
    ----------
    away
        Shape (f,), its features less those that the prior's middle leads to, the model made
        straight at the fit.
    turned
        Shape (f, p), slopes by parameter; amounts in units of the hand's scatter.
    by_hand
        Shape (f, s), slopes by what each step lays.
    noise
        Of its measurement.
    steps
        How many the model may miss.
    trust
        1, or less for one far out.
    """

    away: FloatArray
    turned: FloatArray
    by_hand: FloatArray
    noise: float
    steps: int
    trust: float

    def own(self, hand: float, misfit: float) -> FloatArray:
        """Return what it scatters by itself, shape (f, f)."""
        plain = self.noise**2 + misfit**2 * self.steps
        own = hand**2 * self.by_hand @ self.by_hand.T + plain * np.eye(len(self.away))
        return np.asarray(own / self.trust)


def likeliest_film_noise(
    left: Sequence[FilmLeft],
    spread: FloatArray,
    amounts: Sequence[int],
    *,
    priors: FilmPriors,
    now: tuple[float, float],
) -> tuple[float, float]:
    """Return the hand and the misfit that make the swatches most probable, one after the other.

    All parameters are integrated out, so that noise isn't mistaken for what they could explain.

    Parameters
    ----------
    left
        The swatches, references aside.
    spread
        Shape (p,), prior standard deviations.
    amounts
        Places of the colorants' amounts among the parameters.
    priors
        Of the medium; the misfit is never below its lowest, for layers that no swatch shows miss
        by more than those that do.
    now
        The hand that the amounts are in units of, and the misfit to start from.
    """
    if not left:
        return now

    def score(hand: float, misfit: float) -> float:
        precision = spread**-2.0
        precision[amounts] *= (now[0] / hand) ** 2
        odds = (np.log(hand / priors.hand) / priors.hand_sd) ** 2
        odds += (np.log(misfit / priors.misfit) / priors.misfit_sd) ** 2
        return _evidence(left, precision, hand, misfit) - 0.5 * float(odds)

    hands = (priors.hand * FACTORS).tolist()
    hand = max(hands, key=lambda tried: score(tried, now[1]))
    misfits = np.maximum(priors.misfit * FACTORS, priors.misfit_lowest).tolist()
    return hand, max(misfits, key=lambda tried: score(hand, tried))


def _evidence(left: Sequence[FilmLeft], precision: FloatArray, hand: float, misfit: float) -> float:
    """Return the log probability of what is away from the prior's middle, parameters out."""
    weight, pull, total = np.diag(precision), np.zeros(len(precision)), 0.0
    for one in left:
        own = one.own(hand, misfit)
        places = np.flatnonzero(one.turned.any(axis=0))
        solved = np.linalg.solve(own, np.column_stack([one.turned[:, places], one.away]))
        weight[np.ix_(places, places)] += one.turned[:, places].T @ solved[:, :-1]
        pull[places] += one.turned[:, places].T @ solved[:, -1]
        total += float(one.away @ solved[:, -1]) + float(np.linalg.slogdet(own)[1])
    total -= float(pull @ np.linalg.solve(weight, pull))
    total += float(np.linalg.slogdet(weight)[1]) - float(np.log(precision).sum())
    return -0.5 * total


def likeliest_spreads(own: FloatArray, unsure: FloatArray, usual: FloatArray) -> FloatArray:
    """Return how far colorants differ in scattering, as those of the range do.

    One round of expectation and maximization: the mean square of what each has of its own, what
    is unsure of it included, the usual spreads counting as `USUAL_COLORANTS` more.

    Parameters
    ----------
    own
        Shape (n, 5), see `laydown.media.film.model.OWN`.
    unsure
        Shape (n, 5), its variance.
    usual
        Shape (5,); the amount's stays what it is.

    Examples
    --------
    Six colorants all alike halve the usual variance.

    >>> alike = likeliest_spreads(np.zeros((6, 5)), np.zeros((6, 5)), np.full(5, 0.4))
    >>> alike.round(3).tolist()
    [0.4, 0.283, 0.283, 0.283, 0.283]
    """
    squares = (own**2 + unsure).sum(axis=0)
    found = np.sqrt((USUAL_COLORANTS * usual**2 + squares) / (USUAL_COLORANTS + len(own)))
    return np.where(np.arange(len(OWN)) == 0, usual, found)


BIN_NOISE = 1.5
"""Noise of a bin of four bands [its lightness], against that of a CIELAB axis; chosen."""
READINGS = 4.0
"""A patch's spread counts as that of so many readings of it (common practice, no source)."""
Key = tuple[str, str]


@dataclass(frozen=True, slots=True, eq=False)
class FilmReference:
    """The swatch that a colorant's absorption is taken from.

    Parameters
    ----------
    reflectance
        Shape (36,), the mean of its replicates.
    laydown
        How it was laid, one step on bare paper.
    xyz_only
        Whether its spectrum is a guess from XYZ.
    replicates
        How many swatches it is the mean of.
    """

    reflectance: FloatArray
    laydown: Laydown
    xyz_only: bool
    replicates: int


@dataclass(frozen=True, slots=True, eq=False)
class FilmSwatch:
    """A swatch ready for the fit.

    Parameters
    ----------
    recipe, steps
        What was laid, and the same in numbers.
    used
        Places of its colorants among all.
    ground
        Paper and references.
    wanted
        Shape (f,), its features.
    noise
        Of its measurement [CIELAB units per axis].
    spectral
        Whether its features are those of a spectrum.
    is_reference
        Whether it is one of the references: it then tells only whether it can be reached at all.
    """

    recipe: Recipe
    steps: tuple[FilmStep, ...]
    used: tuple[int, ...]
    ground: FilmGround
    wanted: FloatArray
    noise: float
    spectral: bool
    is_reference: bool


def features(reflectance: FloatArray, *, spectral: bool) -> FloatArray:
    """Return what the fit compares: CIELAB, and for spectra nine bins of four bands besides.

    Parameters
    ----------
    reflectance
        Shape (…, 36).
    spectral
        Whether the spectrum was measured.

    Examples
    --------
    >>> features(np.ones(36), spectral=True).shape
    (12,)
    """
    lab = lab_from_reflectance(reflectance)
    if not spectral:
        return lab
    light = 116.0 * np.cbrt(np.maximum(reflectance, 0.0))
    bins = light.reshape(*light.shape[:-1], 9, -1).mean(axis=-1) / BIN_NOISE
    return np.concatenate([lab, bins], axis=-1)


def key_of(colorant: Colorant) -> Key:
    """Return what a colorant is known by."""
    return colorant.range, colorant.name


def is_wet(recipe: Recipe) -> bool:
    """Whether something is laid on what is still wet, which no film model covers."""
    steps = [step for step in recipe.steps if isinstance(step, Step)]
    return any(s.laydown.wait is Wait.WET for s in steps[1:])


def is_plain(recipe: Recipe) -> bool:
    """Whether it is one step of one colorant on bare paper."""
    if len(recipe.steps) != 1:
        return False
    (step,) = recipe.steps
    return isinstance(step, Step) and not step.mixed


def film_references(swatches: Sequence[Swatch]) -> dict[Key, FilmReference]:
    """Choose the reference of each colorant: the plainest laydown it was swatched in alone.

    Parameters
    ----------
    swatches
        All of them.

    Returns
    -------
    dict
        By range and name; colorants that were only ever laid over others are missing.
    """
    alone: dict[Key, list[Swatch]] = {}
    for swatch in swatches:
        if is_plain(swatch.recipe):
            alone.setdefault(key_of(swatch.recipe.colorants[0]), []).append(swatch)
    return {key: _reference(listed) for key, listed in alone.items()}


def laydown_of(recipe: Recipe) -> Laydown:
    """Return how the first step of a recipe is laid."""
    step = recipe.steps[0]
    return step.laydown if isinstance(step, Step) else Laydown()


def _reference(listed: list[Swatch]) -> FilmReference:
    laydown = min((laydown_of(s.recipe) for s in listed), key=_oddity)
    chosen = [s for s in listed if laydown_of(s.recipe) == laydown]
    chosen = [s for s in chosen if s.basis is Basis.SPECTRUM] or chosen
    logs = np.log(np.maximum([s.reflectance for s in chosen], 1e-4))
    return FilmReference(
        np.exp(logs.mean(axis=0)), laydown, chosen[0].basis is Basis.XYZ, len(chosen)
    )


def _oddity(laid: Laydown) -> tuple[float, int, bool, bool]:
    return laid.dilution, laid.coats, laid.pressure is not Pressure.MEDIUM, laid.wait is Wait.WET


def film_order(
    swatches: Sequence[Swatch],
    colorants: Sequence[Colorant],
    references: dict[Key, FilmReference],
    paper: Paper,
) -> tuple[Colorant, ...]:
    """Return the colorants that are known: as the kit lists them, then as swatches name them.

    Raises
    ------
    NotMeasuredError
        Where there is none, or a swatch holds one that was never laid alone.
    """
    first: dict[Key, Colorant] = {}
    for colorant in (*colorants, *(c for s in swatches for c in s.recipe.colorants)):
        if key_of(colorant) in references:
            first.setdefault(key_of(colorant), colorant)
    if not first:
        raise NotMeasuredError(
            f"No colorant has been swatched on {paper.name}.",
            hint="Lay one coat of a few colorants on it, measure and import them.",
        )
    for swatch in swatches:
        for colorant in swatch.recipe.colorants:
            if key_of(colorant) not in references:
                raise NotMeasuredError(
                    f"{colorant.label} was never swatched alone on {paper.name}.",
                    hint=f"Lay one coat of {colorant.name} on bare paper, measure and import it.",
                )
    return tuple(first.values())


def film_swatch(
    swatch: Swatch,
    paper: Paper,
    references: dict[Key, FilmReference],
    *,
    medium: Medium,
    order: Sequence[Colorant],
    measuring: float,
) -> FilmSwatch:
    """Make a swatch ready for the fit; `order` is that of the colorants in its arrays."""
    places = {key_of(c): i for i, c in enumerate(order)}
    used = [key_of(c) for c in swatch.recipe.colorants]
    told_by = [references[key] for key in used]
    spectral = swatch.basis is Basis.SPECTRUM and not any(r.xyz_only for r in told_by)
    plain = is_plain(swatch.recipe) and laydown_of(swatch.recipe) == told_by[0].laydown
    seen = told_by[0].reflectance if plain else swatch.reflectance
    return FilmSwatch(
        recipe=swatch.recipe,
        steps=film_steps(swatch.recipe, medium),
        used=tuple(places[key] for key in used),
        ground=FilmGround(
            below=paper.reflectance,
            paper=paper.reflectance,
            references=np.array([r.reflectance for r in told_by]),
            laydowns=tuple(r.laydown for r in told_by),
        ),
        wanted=features(seen, spectral=spectral),
        noise=float(np.hypot(measuring, swatch.spread / np.sqrt(READINGS))),
        spectral=spectral,
        is_reference=plain,
    )


@dataclass(frozen=True, slots=True, eq=False)
class FilmSetting:
    """What a fit starts from.

    Parameters
    ----------
    medium, paper, order
        Which, where, and the colorants in the order of the arrays.
    references
        By range and name.
    rows
        The swatches, each reference once.
    usual, priors
        What is taken for granted before any swatch, and with what the swatches tell of noise.
    told
        Names of the effects that swatches tell.
    hidden
        Shape (n, h, 36), what spectra guessed from XYZ may hide.
    """

    medium: Medium
    paper: Paper
    order: tuple[Colorant, ...]
    references: dict[tuple[str, str], FilmReference]
    rows: tuple[FilmSwatch, ...]
    usual: FilmPriors
    priors: FilmPriors
    told: frozenset[str]
    hidden: FloatArray

    @property
    def spread(self) -> FloatArray:
        """Shape (p,), the prior standard deviation of every parameter."""
        own = np.tile(self.priors.own_sd, len(self.order))
        return np.concatenate([self.priors.sd, own, np.ones(self.hidden[..., 0].size)])

    @property
    def movable(self) -> FloatArray:
        """Shape (p,), 1 for what may move."""
        free = [float(name in self.told) for name in self.priors.names]
        return np.concatenate([free, np.ones(len(self.spread) - len(free))])

    @property
    def middle(self) -> FloatArray:
        """Shape (p,), the prior mean."""
        return np.concatenate(
            [self.priors.mean, np.zeros(len(self.spread) - len(self.priors.mean))]
        )


def film_setting(
    swatches: Sequence[Swatch],
    paper: Paper,
    medium: Medium,
    colorants: Sequence[Colorant],
    priors: FilmPriors,
) -> FilmSetting:
    """Make swatches ready for `laydown.media.film.fitting.fit_films`, which says what is given."""
    fitted = [s for s in swatches if s.recipe.steps and not is_wet(s.recipe)]
    references = film_references(fitted)
    order = film_order(fitted, colorants, references, paper)
    rows = [
        film_swatch(s, paper, references, medium=medium, order=order, measuring=priors.measuring)
        for s in fitted
    ]
    once: dict[Recipe, FilmSwatch] = {r.recipe: r for r in rows if r.is_reference}
    kept = (*once.values(), *(r for r in rows if not r.is_reference))
    hidden = np.array([_hidden(references[key_of(c)], priors) for c in order])
    told = _told(kept, priors, medium)
    return FilmSetting(medium, paper, order, references, kept, priors, priors, told, hidden)


def _hidden(reference: FilmReference, priors: FilmPriors) -> FloatArray:
    """Return what a spectrum guessed from XYZ may hide, shape (h, 36); none where it was measured.

    A deep laydown and layers show some of it: what XYZ doesn't see of one coat it sees of three.
    """
    shapes = reference_shapes(
        np.clip(reference.reflectance, 1e-4, None),
        ceiling=np.ones(len(reference.reflectance)),
        measuring=priors.measuring,
        xyz_only=True,
    )[SEEN_SHAPES:]
    return GUESSED * shapes * float(reference.xyz_only)


def _told(rows: Sequence[FilmSwatch], priors: FilmPriors, medium: Medium) -> frozenset[str]:
    asked = [matters(priors, row.steps, medium) for row in rows if not row.is_reference]
    return frozenset().union(*asked)


# Fit pencils or washes to swatches: the most probable numbers, and how sure they are.
#
# Each colorant has one reference swatch, a step of its own on bare paper, from which its
# absorption is taken whatever its scattering. The effects that all share, and each colorant's
# scattering and amount, are then what makes the other swatches most probable (maximum a
# posteriori), by damped Gauss–Newton. White paper tells scattering from absorption by how deep a
# heavy laydown goes; a dark ground tells it outright.

STEP = 1e-4
HUBER = 5.0
"""A swatch farther out than this many standard deviations weighs less."""
ODD = 7.0
"""A swatch farther out than this is named."""
MOST_ROUNDS = 20
NOISE_ROUNDS = 2
"""How often noise and spreads are found anew; more change them by less than a tenth."""


@dataclass(frozen=True, slots=True, eq=False)
class _NormalState:
    """Normal equations at one set of parameters."""

    weight: FloatArray
    pull: FloatArray
    cost: float
    distances: FloatArray


def fit_films(
    swatches: Sequence[Swatch],
    paper: Paper,
    medium: Medium,
    *,
    colorants: Sequence[Colorant] = (),
    priors: FilmPriors | None = None,
) -> FilmFit:
    """Fit the swatches of one medium on one paper; the faces are `fit_pencils`, `fit_washes`.

    Parameters
    ----------
    swatches
        On this paper, of this medium only. Those laid wet in wet are left out and noted.
    paper
        What they lie on.
    medium
        Pencil or wash.
    colorants
        Those of the range, which sets the order.
    priors
        What is taken for granted until swatches tell; the usual ones where None.

    Raises
    ------
    NotMeasuredError
        Where no colorant is known, or one was never laid alone.
    BadRecipeError
        For a swatch of another medium.
    ValueError
        For a swatch of another paper.
    """
    for swatch in swatches:
        if swatch.paper != paper.name:
            raise ValueError(f"a swatch on {swatch.paper!r} in a fit for {paper.name!r}")
    setting = film_setting(swatches, paper, medium, colorants, priors or film_priors(medium))
    x, misfit = setting.middle, setting.priors.misfit
    for _ in range(NOISE_ROUNDS):
        x, state = _climb(setting, x, misfit)
        setting, x, misfit = _with_noise(setting, x, state, misfit)
    x, state = _climb(setting, x, misfit)
    return _assemble(setting, x, state, misfit, _notes(setting, swatches, colorants))


def _variants(
    setting: FilmSetting, row: FilmSwatch, x: FloatArray
) -> tuple[FilmVariants, FloatArray]:
    """Return the middle and a step of each parameter that bears on a swatch, and of its hand.

    The second array (v − 1, 2) says which parameter a row steps, or −1, and how far.
    """
    e, m = len(setting.priors.names), len(OWN)
    asked = matters(setting.priors, row.steps, setting.medium)
    effects = [i for i, name in enumerate(setting.priors.names) if name in asked]
    n, h = setting.hidden.shape[:2]
    shapes = setting.hidden[list(row.used)]
    h = h if shapes.any() else 0
    own = own_units(x[e : e + n * m].reshape(-1, m)[list(row.used)], setting.priors.hand)
    u, s = len(row.used), len(row.steps)
    count = len(effects) + u * (m + h) + s
    tried = film_unchanged(x[:e], own, steps=s, count=1 + count)
    if h:
        bent = x[e + n * m :].reshape(n, h)[list(row.used)]
        tried.shapes[:] = np.einsum("uh,uhb->ub", bent, shapes)
    moved = np.column_stack([np.full(count, -1.0), np.full(count, STEP)])
    line = _step_effects(tried, moved, effects, setting.priors)
    units = own_units(np.ones(m), setting.priors.hand)
    for place, index in enumerate(row.used):
        for j in range(m):
            tried.own[1 + line, place, j] += STEP * units[j]
            moved[line, 0] = e + index * m + j
            line += 1
        for j in range(h):
            tried.shapes[1 + line, place] += STEP * shapes[place, j]
            moved[line, 0] = e + n * m + index * h + j
            line += 1
    tried.fresh[1 + line + np.arange(s), np.arange(s)] += STEP
    if row.is_reference:
        tried.own[:, :, 0] = 0.0
        tried.fresh[:] = 0.0
    return tried, moved


def _step_effects(
    tried: FilmVariants, moved: FloatArray, effects: Sequence[int], priors: FilmPriors
) -> int:
    """Step each effect in a row of its own, away from its limit; return the next free row."""
    for line, i in enumerate(effects):
        sign = -STEP if tried.effects[0, i] + STEP > priors.highest[i] else STEP
        tried.effects[1 + line, i] += sign
        moved[line] = i, sign
    return len(effects)


def _compare(
    setting: FilmSetting, row: FilmSwatch, x: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return what is left (f,), slopes by parameter (f, p) and by hand (f, s)."""
    tried, moved = _variants(setting, row, x)
    seen = features(
        film_reflectance(row.steps, setting.medium, row.ground, tried, alike=1),
        spectral=row.spectral,
    )
    turned = (seen[1:] - seen[0]) / moved[:, 1:]
    by_parameter = np.zeros((seen.shape[1], len(x)))
    for line, (index, _) in enumerate(moved):
        if index >= 0:
            by_parameter[:, int(index)] = turned[line]
    return row.wanted - seen[0], by_parameter, turned[moved[:, 0] < 0].T


def _own(row: FilmSwatch, by_hand: FloatArray, hand: float, misfit: float) -> FloatArray:
    """Return what a swatch scatters by itself, shape (f, f)."""
    further = 0 if row.is_reference else len(row.steps)
    plain = row.noise**2 + misfit**2 * further
    return np.asarray(hand**2 * by_hand @ by_hand.T + plain * np.eye(len(row.wanted)))


def _normal(setting: FilmSetting, x: FloatArray, misfit: float) -> _NormalState:
    weight, pull, cost = np.zeros((len(x), len(x))), np.zeros(len(x)), 0.0
    distances = np.zeros(len(setting.rows))
    for number, row in enumerate(setting.rows):
        left, by_parameter, by_hand = _compare(setting, row, x)
        own = _own(row, by_hand, setting.priors.hand, misfit)
        places = np.flatnonzero(by_parameter.any(axis=0))
        slopes = by_parameter[:, places]
        solved = np.linalg.solve(own, np.column_stack([slopes, left]))
        distance = float(np.sqrt(max(float(left @ solved[:, -1]), 0.0)))
        trust = min(1.0, HUBER / distance) if distance > 0 else 1.0
        weight[np.ix_(places, places)] += trust * slopes.T @ solved[:, :-1]
        pull[places] += trust * slopes.T @ solved[:, -1]
        cost += distance**2 if distance <= HUBER else 2.0 * HUBER * distance - HUBER**2
        distances[number] = distance
    return _NormalState(weight, pull, cost, distances)


def _climb(
    setting: FilmSetting, start: FloatArray, misfit: float
) -> tuple[FloatArray, _NormalState]:
    """Find the most probable parameters for a given misfit."""
    precision = setting.spread**-2.0
    low, high = _limits(setting)
    x, damping = np.clip(start, low, high), 1e-3
    state = _normal(setting, x, misfit)
    cost = state.cost + float(precision @ (x - setting.middle) ** 2)
    for _ in range(MOST_ROUNDS):
        slope = state.pull - precision * (x - setting.middle)
        stuck = ((x <= low) & (slope < 0)) | ((x >= high) & (slope > 0))
        places = np.flatnonzero((setting.movable > 0) & ~stuck)
        block = (state.weight + np.diag(precision))[np.ix_(places, places)]
        step = np.zeros(len(x))
        step[places] = np.linalg.solve(block + damping * np.diag(np.diag(block)), slope[places])
        tried = np.clip(x + np.clip(step, -1.0, 1.0), low, high)
        after = _normal(setting, tried, misfit)
        next_cost = after.cost + float(precision @ (tried - setting.middle) ** 2)
        if next_cost < cost:
            done = cost - next_cost < 1e-3 * len(setting.rows)
            x, state, cost, damping = tried, after, next_cost, damping / 10.0
            if done:
                break
        else:
            damping = max(damping, 1e-5) * 10.0
            if damping > 1e3:
                break
    return x, state


def _limits(setting: FilmSetting) -> tuple[FloatArray, FloatArray]:
    own = np.tile([2.5, 4.0, 3.0, 3.0, 3.0], len(setting.order))
    own = np.concatenate([own, np.full(setting.hidden[..., 0].size, 3.0)])
    return (
        np.concatenate([setting.priors.lowest, -own]),
        np.concatenate([setting.priors.highest, own]),
    )


def _with_noise(
    setting: FilmSetting, x: FloatArray, state: _NormalState, misfit: float
) -> tuple[FilmSetting, FloatArray, float]:
    """Return setting, parameters and misfit with the noise and spreads that the swatches tell."""
    e, n, m = len(setting.priors.names), len(setting.order), len(OWN)
    own = slice(e, e + n * m)
    unsure = np.diag(np.linalg.inv(state.weight + np.diag(setting.spread**-2.0)))
    spreads = likeliest_spreads(
        x[own].reshape(n, m), unsure[own].reshape(n, m), setting.usual.own_sd
    )
    left = [
        _left(setting, row, x, min(1.0, HUBER / max(distance, 1e-9)))
        for row, distance in zip(setting.rows, state.distances, strict=True)
        if not row.is_reference
    ]
    amounts = [e + m * place for place in range(n)]
    hand, misfit = likeliest_film_noise(
        left,
        setting.spread,
        amounts,
        priors=setting.usual,
        now=(setting.priors.hand, misfit),
    )
    x = x.copy()
    x[amounts] *= setting.priors.hand / hand
    priors = replace(setting.priors, own_sd=spreads, hand=hand)
    return replace(setting, priors=priors), x, misfit


def _left(setting: FilmSetting, row: FilmSwatch, x: FloatArray, trust: float) -> FilmLeft:
    left, turned, by_hand = _compare(setting, row, x)
    away = left + turned @ (x - setting.middle)
    return FilmLeft(away, turned, by_hand, row.noise, len(row.steps), trust)


def _assemble(
    setting: FilmSetting, x: FloatArray, state: _NormalState, misfit: float, notes: tuple[str, ...]
) -> FilmFit:
    e = len(setting.priors.names)
    n, h = setting.hidden.shape[:2]
    last = e + n * len(OWN)
    own = own_units(x[e:last].reshape(-1, len(OWN)), setting.priors.hand)
    bent = np.einsum("nh,nhb->nb", x[last:].reshape(n, h), setting.hidden)
    units = np.concatenate(
        [np.ones(e), np.tile(own_units(np.ones(len(OWN)), setting.priors.hand), len(own))]
    )
    precision = state.weight + np.diag(setting.spread**-2.0)
    covariance = np.linalg.inv(precision)
    hidden = np.sqrt(np.diag(np.linalg.inv(precision[last:, last:])).reshape(n, h).mean(axis=1))
    references = [setting.references[key_of(c)] for c in setting.order]
    plain = [n for n in setting.priors.names if not n.startswith(TREATMENTS)]
    return FilmFit(
        model_version=FILM_VERSION,
        medium=setting.medium,
        paper=setting.paper,
        colorants=setting.order,
        references=np.array([r.reflectance for r in references]) * np.exp(bent),
        reference_laydowns=tuple(r.laydown for r in references),
        effects=x[:e],
        own=own,
        covariance=np.asarray(covariance[:last, :last] * np.outer(units, units), dtype=np.float64),
        hand=setting.priors.hand,
        misfit=misfit,
        measuring=setting.priors.measuring,
        xyz_only=hidden * [r.xyz_only for r in references],
        most_coats=np.array([_most_coats(c, setting.rows) for c in setting.order]),
        told=setting.told,
        assumed=frozenset(plain) - setting.told,
        odd=_odd(setting, state),
        notes=notes,
        swatched=tuple(row.recipe for row in setting.rows),
    )


def _most_coats(colorant: Colorant, rows: Sequence[FilmSwatch]) -> float:
    counts = [
        sum(
            step.laydown.coats
            for step in row.recipe.steps
            if isinstance(step, Step) and colorant in [p.colorant for p in step.parts]
        )
        for row in rows
    ]
    return float(max(counts, default=0))


def _odd(setting: FilmSetting, state: _NormalState) -> tuple[str, ...]:
    return tuple(
        f"{format_recipe(row.recipe)}: {d:.1f} standard deviations from the rest; check it."
        for row, d in zip(setting.rows, state.distances, strict=True)
        if d > ODD
    )


def _notes(
    setting: FilmSetting, swatches: Sequence[Swatch], colorants: Sequence[Colorant]
) -> tuple[str, ...]:
    known = {key_of(c) for c in setting.order}
    missing = [c.name for c in colorants if key_of(c) not in known]
    wet = [format_recipe(s.recipe) for s in swatches if is_wet(s.recipe)]
    notes = []
    if missing:
        notes.append(f"Not swatched on {setting.paper.name}: {', '.join(missing)}.")
    if not setting.paper.measured:
        notes.append(f"Bare {setting.paper.name} was not measured: a usual white is assumed.")
    if wet:
        notes.append(f"Left out, since wet in wet is outside the model: {', '.join(wet)}.")
    if any(r.xyz_only for r in setting.references.values()):
        notes.append("Spectra were guessed from XYZ: layers are less sure than from spectra.")
    return tuple(notes)
