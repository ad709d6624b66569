"""Swatches of pencils or washes made ready for the fit: references, features, noise."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.errors import NotMeasuredError
from laydown.media.colorant import Colorant
from laydown.media.film_laying import FilmGround, FilmStep, film_steps
from laydown.media.laydown import Laydown, Medium, Pressure, Wait
from laydown.media.paper import Paper
from laydown.media.recipe import Recipe, Step
from laydown.media.swatch import Basis, Swatch

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
