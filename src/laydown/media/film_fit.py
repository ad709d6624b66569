"""Fit pencils or washes to swatches: the most probable numbers, and how sure they are.

Each colorant has one reference swatch, a step of its own on bare paper, from which its absorption
is taken whatever its scattering. The effects that all share, and each colorant's scattering and
amount, are then what makes the other swatches most probable (maximum a posteriori), by damped
Gauss–Newton. White paper tells scattering from absorption by how deep a heavy laydown goes; a dark
ground tells it outright.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.colorant import Colorant
from laydown.media.film_constants import film_reflectance
from laydown.media.film_laying import FilmVariants, film_unchanged, matters, own_units
from laydown.media.film_model import (
    FILM_VERSION,
    OWN,
    TREATMENTS,
    FilmFit,
    FilmPriors,
    film_priors,
)
from laydown.media.film_noise import FilmLeft, likeliest_film_noise, likeliest_spreads
from laydown.media.film_setting import FilmSetting, film_setting
from laydown.media.film_swatches import (
    FilmSwatch,
    features,
    is_wet,
    key_of,
)
from laydown.media.laydown import Medium
from laydown.media.paper import Paper
from laydown.media.recipe import Step, format_recipe
from laydown.media.swatch import Swatch

STEP = 1e-4
HUBER = 5.0
"""A swatch farther out than this many standard deviations weighs less."""
ODD = 7.0
"""A swatch farther out than this is named."""
MOST_ROUNDS = 20
NOISE_ROUNDS = 2
"""How often noise and spreads are found anew; more change them by less than a tenth."""


@dataclass(frozen=True, slots=True, eq=False)
class _State:
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


def _normal(setting: FilmSetting, x: FloatArray, misfit: float) -> _State:
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
    return _State(weight, pull, cost, distances)


def _climb(setting: FilmSetting, start: FloatArray, misfit: float) -> tuple[FloatArray, _State]:
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
    setting: FilmSetting, x: FloatArray, state: _State, misfit: float
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
    setting: FilmSetting, x: FloatArray, state: _State, misfit: float, notes: tuple[str, ...]
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


def _odd(setting: FilmSetting, state: _State) -> tuple[str, ...]:
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
