"""Which swatches show one coat of a colorant, and what that coat is where none does."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.errors import NotMeasuredError
from laydown.media.inference.forward import Variants
from laydown.media.marker.absorption import DARKEST, absorption, inverse
from laydown.media.marker.pile import LaidStep, laid_steps, pile_of, unchanged
from laydown.media.marker.priors import SCALE
from laydown.media.recipe import Colorant, Key, Recipe, key_of
from laydown.media.swatch import Basis, Swatch

UNSURE_MULTIPLE = 0.15
"""Added scatter of the log amount where one coat is inferred from several; common practice, no
source: about what the prior of a later coat leaves open."""
UNSURE_LAYERED = 0.3
"""The same where it is inferred from a layered swatch alone; chosen, no source."""


@dataclass(frozen=True, slots=True, eq=False)
class Reference:
    """One even coat of a colorant, relative to the ceiling."""

    reflectance: FloatArray
    """Shape (36,)."""
    replicates: int
    """How many swatches it is the mean of."""
    unsure: float
    """Standard deviation of its log amount beyond hand noise: 0 where one coat was swatched."""
    xyz_only: bool
    """Whether its spectrum is a guess from XYZ."""
    scatter: float = 0.0
    """Sum of squares of the replicates' log amounts about their mean."""
    told_by: Recipe | None = None
    """The recipe it was inferred from; None where one coat was swatched."""


def is_one_coat(recipe: Recipe) -> bool:
    """Whether the recipe is one even coat on bare dry paper, which all else is told from."""
    return len(recipe.steps) == 1 and recipe.coats == 1 and laid_steps(recipe)[0].stroke is None


def direct_references(
    swatches: Sequence[Swatch], paper: FloatArray, ceiling: FloatArray
) -> dict[Key, Reference]:
    """Average the one-coat swatches of each colorant.

    `swatches`: all of them. `paper`, `ceiling`: shape (36,), the bare paper relative to the
    ceiling, and the ceiling. Returns reference by (range, name).
    """
    found: dict[Key, list[Swatch]] = {}
    for swatch in swatches:
        if is_one_coat(swatch.recipe) and not swatch.recipe.colorants[0].blender:
            found.setdefault(key_of(swatch.recipe.colorants[0]), []).append(swatch)
    return {key: _mean(listed, paper, ceiling) for key, listed in sorted(found.items())}


def _mean(listed: list[Swatch], paper: FloatArray, ceiling: FloatArray) -> Reference:
    spectra = [s for s in listed if s.basis is Basis.SPECTRUM] or listed
    logs = np.log(np.clip([s.reflectance / ceiling for s in spectra], DARKEST, 1.0))
    mean = logs.mean(axis=0)
    depth, depths = np.log(paper) - mean, np.log(paper) - logs
    total = max(float(depth @ depth), 1e-12)
    amounts = np.log(np.maximum(depths @ depth / total, 0.1))
    return Reference(
        reflectance=np.exp(mean),
        replicates=len(spectra),
        unsure=0.0,
        xyz_only=spectra[0].basis is Basis.XYZ,
        scatter=float(((amounts - amounts.mean()) ** 2).sum()),
    )


def inferred_references(
    swatches: Sequence[Swatch],
    known: dict[Key, Reference],
    *,
    paper: FloatArray,
    ceiling: FloatArray,
    effects: FloatArray,
) -> dict[Key, Reference]:
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


def _unknown(recipe: Recipe, found: dict[Key, Reference]) -> list[Colorant]:
    return [c for c in recipe.colorants if not c.blender and key_of(c) not in found]


def _trouble(recipe: Recipe) -> tuple[int, int, tuple[tuple[str, ...], ...]]:
    """Rank swatches by how much must be believed to infer one coat from them."""
    return len(recipe.colorants), recipe.coats, recipe.key


def _solve(
    swatch: Swatch,
    unknown: Colorant,
    found: dict[Key, Reference],
    *,
    paper: FloatArray,
    ceiling: FloatArray,
    effects: FloatArray,
) -> Reference:
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
    return Reference(
        reflectance=inverse(ground + added[place], scale=scale),
        replicates=1,
        unsure=UNSURE_MULTIPLE if len(used) == 1 else UNSURE_LAYERED,
        xyz_only=swatch.basis is Basis.XYZ,
        told_by=swatch.recipe,
    )


def _added(
    colorant: Colorant,
    found: dict[Key, Reference],
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
    return pile.absorption[0] - share * added[place], share
