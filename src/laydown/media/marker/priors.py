"""What the marker model takes for granted until swatches say otherwise, with a reason for each."""

from functools import cache

import numpy as np

from laydown.media.inference.priors import Priors
from laydown.reference.tables import load_table

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

    Examples
    --------
    >>> usual_priors().mean[LATER_COAT].item()
    0.78
    >>> usual_priors().held({"later coat": 1.0}).mean[LATER_COAT].item()
    1.0
    """
    table = load_table("marker_priors")
    numbers = table.numbers("mean", "sd", "lowest", "highest")
    rows = dict(zip(table.words("name"), numbers, strict=True))
    mean, sd, lowest, highest = np.array([rows[effect] for effect in EFFECTS]).T
    return Priors(
        names=EFFECTS,
        mean=mean,
        sd=sd,
        lowest=lowest,
        highest=highest,
        backward=np.full(len(EFFECTS), BACKWARD),
        own_sd=np.ones(1),
        hand=float(rows["hand"][0]),
        hand_sd=float(rows["hand"][1]),
        misfit=float(rows["misfit"][0]),
        misfit_sd=float(rows["misfit"][1]),
        cover=float(rows["cover"][0]),
        cover_sd=float(rows["cover"][1]),
        measuring=float(rows["measuring"][0]),
        crowding_sd=float(rows["crowding"][1]),
    )
