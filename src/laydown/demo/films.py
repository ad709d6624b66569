"""Pencils and washes on the simulated bench: scattering films on an uneven paper.

Light is radiative transfer by adding and doubling (iadpython's thin layer, its quadrature and its
equations for adding); there is no covered share and no Kubelka–Munk constant in here. The tooth of
the paper is a handful of heights: a pencil rides on the high ones and reaches further down the
harder it is pressed and the more lies there already; a wash settles in the low ones. All pigments
and rules are invented.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache, cached_property, partial

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.demo.oracle import Quadrature, SimulatedBench, Slab, SolvedSlab, pile
from laydown.errors import NotMeasuredError
from laydown.media.laydown import Pressure
from laydown.media.recipe import Medium, Part, Recipe, Step, Treatment, TreatmentStep

ANGLES = 4
FINEST = 1.0 / 64.0
"""Thinnest film that is told apart [even coats]."""
RUNGS = 11
"""Doublings of it: up to 32 coats' thickness in one place."""
HEIGHTS = (np.arange(6) + 0.5) / 6.0
"""Heights of the tooth, from valley to peak; equal shares of the paper."""
DEPTH = {Pressure.LIGHT: 0.55, Pressure.MEDIUM: 0.36, Pressure.HEAVY: 0.12}
"""Height down to which a pencil reaches, about."""
LOAD = {Pressure.LIGHT: 0.55, Pressure.MEDIUM: 1.0, Pressure.HEAVY: 1.7}
"""Pigment left by a coat, where it touches."""
FULL = 6.0
"""Coats' thickness at which a place takes half of what it took when bare."""
SETTLING = 0.25
"""How much more of a wash lies in the valleys than on the peaks, as a share, either way."""
WATER = 1.15
"""Power of the undiluted share: water also makes a wash run thinner."""
REWETTED = 0.05
"""Share of a dry wash that the next one carries off."""


@cache
def _light() -> Quadrature:
    return Quadrature(ANGLES)


class Pigment:
    """What an even coat of a pencil, or a wash straight from the pan, holds; and films of it.

    How much it absorbs and scatters is of shape (36,) [optical depth].
    """

    def __init__(self, absorbing: FloatArray, scattering: FloatArray) -> None:
        self.absorbing, self.scattering = absorbing, scattering

    @cached_property
    def rungs(self) -> list[tuple[FloatArray, FloatArray]]:
        """What films of 1, 2, 4 … times `FINEST` coats reflect and pass, (36, angles, angles)."""
        light = _light()
        reflected, passed = light.layers(FINEST * self.absorbing, FINEST * self.scattering)
        rungs = [(reflected, passed)]
        for _ in range(RUNGS):
            inner = light.between(reflected, reflected, passed)
            reflected, passed = light.put_on(reflected, reflected, passed), inner @ passed
            rungs.append((reflected, passed))
        return rungs

    def put_on(self, ground: FloatArray, thickness: FloatArray) -> FloatArray:
        """Lay a film of so many coats (heights,) on grounds (heights, 36, angles, angles)."""
        counts = np.rint(np.clip(thickness, 0.0, None) / FINEST).astype(int)
        seen = np.array(ground)
        for rung, (reflected, passed) in enumerate(self.rungs):
            here = np.flatnonzero(counts >> rung & 1)
            if len(here):
                seen[here] = _light().put_on(seen[here], reflected, passed)
        return seen


class FilmBench:
    """A paper and the pigments at hand, by a colorant's label; solves what it needs and keeps it.

    The paper is of `laydown.demo.oracle`.
    """

    def __init__(self, slab: Slab, pigments: Mapping[str, Pigment]) -> None:
        self.slab, self.pigments = slab, pigments
        self._mixtures: dict[tuple[Part, ...], Pigment] = {}

    @cached_property
    def _ground(self) -> FloatArray:
        """The sheet's reflection matrices over black, shape (36, angles, angles)."""
        return _light().layers(self.slab.absorption, np.array(self.slab.scattering))[0]

    def truth(
        self,
        recipe: Recipe,
        factors: Sequence[float] | FloatArray = (),
        *,
        ground: FloatArray | None = None,
        clear: FloatArray | float = 0.0,
    ) -> FloatArray:
        """Return a recipe's reflectance, shape (36,), each coat times its factor (1 where none).

        `ground` is what it lies on, alike at all heights, shape (36, angles, angles); the sheet
        where None. `clear` is what a film on top absorbs and doesn't scatter [optical depth], shape
        (36,).
        """
        ground = self._ground if ground is None else ground
        seen = np.broadcast_to(ground, (len(HEIGHTS), *ground.shape))
        for pigment, thickness in self._piles(recipe, list(factors)):
            seen = pigment.put_on(seen, thickness)
        light = _light()
        out = np.exp(-np.multiply.outer(clear, 1.0 / light.sample.nu))
        shown = light.twonuw * out * seen[..., -1] * out[..., -1:]
        return np.asarray(shown.sum(axis=-1).mean(axis=0))

    def _piles(self, recipe: Recipe, factors: list[float]) -> list[tuple[Pigment, FloatArray]]:
        piles: list[tuple[Pigment, FloatArray]] = []
        for step in recipe.steps:
            if isinstance(step, TreatmentStep):
                piles = BLENDINGS[step.treatment](piles)
                continue
            pigment = self._pigment(step)
            for _ in range(step.laydown.coats):
                factor = factors.pop(0) if factors else 1.0
                if step.colorant.medium is Medium.WASH:
                    piles = [(p, (1.0 - REWETTED) * x) for p, x in piles]
                    strength = (1.0 - step.laydown.dilution) ** WATER
                    laid = strength * (1.0 + SETTLING * (1.0 - 2.0 * HEIGHTS))
                else:
                    below = np.sum([np.zeros(len(HEIGHTS)), *(x for _, x in piles)], axis=0)
                    reach = DEPTH[step.laydown.pressure] - 0.05 * below.mean()
                    touched = 1.0 / (1.0 + np.exp(-(HEIGHTS - reach) / 0.13))
                    laid = LOAD[step.laydown.pressure] * touched / (1.0 + below / FULL)
                piles.append((pigment, factor * np.asarray(laid)))
        return piles

    def _pigment(self, step: Step) -> Pigment:
        """Return what is laid: of a palette mixture its parts together, as often as it is asked."""
        pigments = [self.pigments[part.colorant.label] for part in step.parts]
        if len(pigments) == 1:
            return pigments[0]
        parts = np.array([[part.parts] for part in step.parts]) / sum(p.parts for p in step.parts)
        sums = (
            (parts * k).sum(axis=0)
            for k in zip(*((p.absorbing, p.scattering) for p in pigments), strict=True)
        )
        return self._mixtures.setdefault(step.parts, Pigment(*sums))


def blended(
    piles: list[tuple[Pigment, FloatArray]],
    *,
    spread: float,
    removed: float,
    dissolved: bool,
    stronger: float = 1.0,
) -> list[tuple[Pigment, FloatArray]]:
    """Return what a treatment makes of the pencil below it.

    So far does thickness even out over the heights, 0 to 1; that share of the pigment is carried
    off. Where the layers are dissolved, they become one, whose absorption is so much stronger, for
    finer pigment colors more.
    """
    moved = [(p, (1 - removed) * (x + spread * (x.mean() - x))) for p, x in piles]
    if not dissolved or not moved:
        return moved
    total = np.sum([x for _, x in moved], axis=0)
    shares = [x.mean() / total.mean() for _, x in moved]
    absorbing = stronger * sum(s * p.absorbing for s, (p, _) in zip(shares, moved, strict=True))
    scattering = sum(s * p.scattering for s, (p, _) in zip(shares, moved, strict=True))
    return [(Pigment(np.asarray(absorbing), np.asarray(scattering)), total)]


BLENDINGS = {
    Treatment.SOLVENT: partial(blended, spread=0.75, removed=0.08, dissolved=True, stronger=1.12),
    Treatment.BURNISH: partial(blended, spread=0.35, removed=0.02, dissolved=False),
}


class MixedBench:
    """One paper with its dyes and its pigments: films over dyed paper, and markers over them.

    The dye lies in the paper as `laydown.demo.oracle` lays it, and light goes through both by
    adding and doubling. Nothing here takes a layer's reflectance for the paper of the next one, as
    `laydown.media.kit.fit` does. Of a marker laid over a wash the share `through` of its dye goes
    through it into the paper; the rest stays on top as a clear film. Nobody told us which, so it
    can be either.
    """

    def __init__(self, dyes: SimulatedBench, pigments: FilmBench, *, through: float = 1.0) -> None:
        if dyes.slab is not pigments.slab:
            raise ValueError("dyes and pigments lie on one slab")
        self.dyes, self.pigments, self.through = dyes, pigments, through

    @cached_property
    def _sheet(self) -> SolvedSlab:
        return SolvedSlab(self.dyes.slab, angles=ANGLES)

    def truth(self, recipe: Recipe, factors: Sequence[float] | FloatArray = ()) -> FloatArray:
        """Return the reflectance, shape (36,), of markers, then films, then markers again.

        Factors are each coat's, bottom first; 1 where none. Raises `NotMeasuredError` for a film
        over a marker that lies over a film.
        """
        under, films, over = _parted(recipe)
        given = np.ones(recipe.coats)
        given[: len(factors)] = factors
        first, last = under.coats, recipe.coats - over.coats
        dye = pile(self.dyes, under, given[:first])
        late = pile(self.dyes, over, given[last:])
        dye = dye + self.through * late
        ground = self._sheet.matrices(dye) if dye.any() else self._undyed
        clear = (1.0 - self.through) * late * self._clear_unit
        return self.pigments.truth(films, given[first:last], ground=ground, clear=clear)

    @cached_property
    def _undyed(self) -> FloatArray:
        return self._sheet.matrices(np.zeros(self.dyes.slab.absorption.shape))

    @cached_property
    def _clear_unit(self) -> float:
        """Optical depth of dye in a clear film [per halving]."""
        return SolvedSlab(replace(self.dyes.slab, share=0.0), angles=ANGLES).unit


def _parted(recipe: Recipe) -> tuple[Recipe, Recipe, Recipe]:
    """Take a recipe apart into markers, films and the markers over them."""
    kinds = [
        isinstance(step, Step) and step.colorant.medium is Medium.MARKER for step in recipe.steps
    ]
    first = kinds.index(False) if False in kinds else len(kinds)
    last = len(kinds) - kinds[::-1].index(False) if False in kinds else len(kinds)
    if any(kinds[first:last]):
        raise NotMeasuredError("The simulated bench lays no film over a marker over a film.")
    steps = recipe.steps
    return Recipe(steps[:first]), Recipe(steps[first:last]), Recipe(steps[last:])
