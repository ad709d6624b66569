"""What film models take for granted until swatches say otherwise, with a reason for each."""

from dataclasses import replace
from functools import cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.inference.forward import STEP
from laydown.media.inference.priors import Priors
from laydown.media.laydown import Medium
from laydown.media.recipe import Tool, Treatment
from laydown.reference.tables import load_table

TREATMENTS = tuple(f"{t} by {tool}" for t in Treatment for tool in Tool)
TURNS = ("cover", "removed", "stronger", "tilt")
"""What a treatment does: see `laydown.media.film.laying`."""
OWN = ("amount", "level", "slope", "bend", "wave")
"""What each colorant has of its own: log amount, and four shapes of its log scattering; a wash has
one number more (`FURTHER`)."""
SCATTERING = slice(1, 5)
"""Where among these the shapes of log scattering stand."""
FURTHER = 5
"""Where that of a wash stands: log of a further coat's thickness against that of the others."""


GUESSED = 1.5
"""How much more the spectrum of a film guessed from XYZ may hide than that of a dye
(`laydown.media.inference.leeway.HIDDEN`); calibrated on simulated pigments, see
docs/decisions/doubt.md."""


@cache
def film_priors(medium: Medium) -> Priors:
    """Return the priors of ``film_priors.csv``, which gives the reason for each.

    Examples
    --------
    >>> film_priors(Medium.WASH).names
    ('scatter', 'water', 'lift', 'second', 'settle')
    """
    table = load_table("film_priors")
    kinds, names = table.words("medium"), table.words("name")
    numbers = table.numbers("mean", "sd", "lowest", "highest")
    listed = [i for i, kind in enumerate(kinds) if kind == medium]
    if medium is Medium.PENCIL:
        listed += [i for i, kind in enumerate(kinds) if kind in TREATMENTS]
    listed_own = {names[i]: i for i, kind in enumerate(kinds) if kind == "colorant"}
    listed_own |= {names[i]: i for i, kind in enumerate(kinds) if kind == f"{medium} colorant"}
    own = list(listed_own.values())
    told = ("noise", f"{medium} noise")
    noise = {names[i]: numbers[i] for i, kind in enumerate(kinds) if kind in told}
    mean, sd, lowest, highest = numbers[listed].T
    return Priors(
        names=tuple(names[i] if kinds[i] == medium else f"{kinds[i]} {names[i]}" for i in listed),
        mean=mean,
        sd=sd,
        lowest=lowest,
        highest=highest,
        backward=highest - STEP,
        own_sd=numbers[own, 1],
        hand=float(noise["hand"][0]),
        misfit=float(noise["misfit"][0]),
        measuring=float(noise["measuring"][0]),
        hand_sd=float(noise["hand"][1]),
        misfit_sd=float(noise["misfit"][1]),
        misfit_lowest=float(noise["misfit"][2]),
    )


@cache
def on_top_priors() -> Priors:
    """Return the priors of washes that lie on the paper as films do, `sunk` and `glare` held."""
    usual, table = film_priors(Medium.WASH), load_table("film_priors")
    kinds, names = table.words("medium"), table.words("name")
    listed = [i for i, kind in enumerate(kinds) if kind == "wash on top"]
    numbers = dict(zip((names[i] for i in listed), table.numbers("mean", "sd", "lowest")[listed], strict=True))
    mean, sd, own = usual.mean.copy(), usual.sd.copy(), usual.own_sd.copy()
    for name, (m, s, _) in numbers.items():
        if name in usual.names:
            mean[usual.at(name)], sd[usual.at(name)] = m, s
    own[0], own[FURTHER] = numbers["amount"][1], numbers["further"][1]
    misfit, misfit_sd, lowest = numbers["misfit"].tolist()
    made = replace(usual, mean=mean, sd=sd, own_sd=own, misfit=misfit, misfit_sd=misfit_sd, misfit_lowest=lowest)
    return made.held({"sunk": usual.lowest[usual.at("sunk")], "glare": usual.lowest[usual.at("glare")], "crowd": 1.0})


def scattering_shapes(bands: int = 36) -> FloatArray:
    """Return the four shapes of log scattering over the bands, shape (4, bands), mean square 1."""
    place = (np.arange(bands) + 0.5) / bands
    order = np.arange(4)[:, None]
    return np.asarray(np.cos(np.pi * order * place) * np.where(order > 0, np.sqrt(2.0), 1.0))
