"""What the marker model takes for granted until swatches say otherwise, with a reason for each."""

from dataclasses import replace
from functools import cache
from math import erf

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.media.inference.priors import Priors, priors_of
from laydown.media.recipe import Surface
from laydown.reference.tables import load_table, numbers_of

EFFECTS = ("scale", "later coat", "lift", "quick", "soaked", "wet", "blender")
"""The effects that all colorants of a kit share on a paper, in the order of their array.

Scale w in [0, 1], the amount of a later coat, the lift, natural logs of the amounts of a quick and
a soaked stroke (against an even one) and of a coat over wet color (against one over dry), and the
share of what lies below that a coat of a colorless blender carries off.
"""
SCALE, LATER_COAT, LIFT, QUICK, SOAKED, WET, BLENDER = range(7)
BACKWARD = 0.5
"""Effects above this are differentiated by a step down, so that none steps over its bound."""


@cache
def usual_priors() -> Priors:
    """Return the priors of ``marker_priors.csv``, which gives the reason for each.

    >>> usual_priors().mean[LATER_COAT].item()
    0.78
    >>> usual_priors().held({"later coat": 1.0}).mean[LATER_COAT].item()
    1.0
    """
    table = load_table("marker_priors")
    numbers = numbers_of(table, "mean", "sd", "lowest", "highest")
    rows = dict(zip(table["name"], numbers, strict=True))
    read = priors_of({effect: rows[effect] for effect in EFFECTS}, rows, own_sd=np.ones(1))
    backward, crowding = np.full(len(EFFECTS), BACKWARD), float(rows["crowding"][1])
    return replace(read, backward=backward, crowding_sd=crowding)


# What is believed of the scale of absorption before two coats tell it: where dye lies in a paper.
#
# Dye lies as a film on a coated paper and goes into an uncoated one, so the belief has two humps.
# No Gaussian has that shape, and the model bends much between them: what a pile looks like is
# integrated over the belief, by its quantiles (the bend of `belief`).

DEVIATES = np.linspace(-2.5, 2.5, 11)
"""Standard normal deviates at which a belief's quantiles are kept."""
STRAIGHT = DEVIATES
"""The bend of a Gaussian belief."""
FINEST = 400
"""Steps of the grid on which the belief is summed."""
DARK = 25.0
"""L* below which a single coat tells of a film: fibres above the dye send light back, so black inks
stay at 29 or more on uncoated papers, while on coated ones they come down to 15 to 22."""
DARK_STEP = 2.0
"""By so much L* further down, a film is e times as likely (chosen on five of the nine ink sets)."""
STATED = {Surface.UNSAID: 1.0, Surface.COATED: 9.0, Surface.UNCOATED: 1.0 / 9.0}
"""By how much a film is likelier where the paper's owner says what it is; coatings differ."""


def belief(
    coats: FloatArray, *, surface: Surface = Surface.UNSAID
) -> tuple[float, float, FloatArray]:
    """Return what the kind of paper and the darkest coat let one believe of the scale.

    `coats`: shape (n, 36), reflectance of one coat of each colorant. `surface`: of the paper.
    Returns its mean, its standard deviation, and its bend, shape (11,): quantiles at `DEVIATES`
    less the mean, in units of the deviation; 0 in the middle.

    A dark coat is a film, rather; so is any on a coated paper.

    >>> dark, pale = np.full((1, 36), 0.02), np.full((1, 36), 0.3)
    >>> [round(belief(one)[0], 2) for one in (pale, dark)]
    [0.5, 0.12]
    >>> round(belief(pale, surface=Surface.COATED)[0], 2)
    0.24
    """
    lightness = float(lab_from_reflectance(coats)[..., 0].min(initial=100.0))
    return _belief(round(max(DARK - lightness, 0.0), 1), surface)


@cache
def _belief(darker: float, surface: Surface) -> tuple[float, float, FloatArray]:
    """Sum the belief over a grid that is even in the root of w, for films differ near 0."""
    root = (np.arange(FINEST) + 0.5) / FINEST
    w = root**2
    film, fibre, odds = _kinds(w, root)
    odds *= float(np.exp(darker / DARK_STEP)) * STATED[surface]
    density = (odds * film + fibre) / (odds + 1.0)
    below = np.cumsum(density) - 0.5 * density
    middle = float(density @ w)
    sd = float(np.sqrt(density @ (w - middle) ** 2))
    shares = [0.5 * (1.0 + erf(z / np.sqrt(2.0))) for z in DEVIATES]
    bend = (np.interp(shares, below, w) - middle) / sd
    bend[DEVIATES == 0.0] = 0.0
    return middle, sd, bend


def _kinds(w: FloatArray, root: FloatArray) -> tuple[FloatArray, FloatArray, float]:
    """Return how a film's and a fibre's scales lie over the grid, and the odds for a film."""
    table = load_table("marker_scales")
    rows = dict(zip(table["paper"], numbers_of(table, "middle", "spread", "share"), strict=True))
    (film, log_sd, share), (fibre, sd, other) = rows["coated"], rows["uncoated"]
    first = np.exp(-0.5 * (np.log(w / film) / log_sd) ** 2) / w * root
    second = np.exp(-0.5 * ((w - fibre) / sd) ** 2) * root
    return first / first.sum(), second / second.sum(), float(share / other)


def scale_at(deviates: FloatArray, *, middle: float, sd: float, bend: FloatArray) -> FloatArray:
    """Return the scales that lie so many standard normal deviates from the middle of a belief.

    >>> scale_at(np.array([-3.0, 1.0]), middle=0.5, sd=0.25, bend=STRAIGHT).tolist()
    [0.0, 0.75]
    """
    return np.clip(middle + sd * np.interp(deviates, DEVIATES, bend), 0.0, 1.0)
