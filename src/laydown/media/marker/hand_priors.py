"""What is expected of a person before any trial: an amount, strengths and effects of their own."""

import csv
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.marker.priors import EFFECTS, HELD


@dataclass(frozen=True, slots=True, eq=False)
class HandPriors:
    """How far a person's bench may be from the one that was swatched, as standard deviations.

    Parameters
    ----------
    effects
        Shape (7,), in the order of `priors.EFFECTS`, added to what the fit leaves open.
    amount
        Of the natural log of what the person lays in a coat.
    strength
        Of the natural log of one marker's own strength.
    """

    effects: FloatArray
    amount: float
    strength: float

    def amount_only(self) -> "HandPriors":
        """Return the same where nothing but the amount may differ."""
        return replace(self, effects=np.full(len(EFFECTS), HELD), strength=HELD)


@cache
def usual_hand_priors() -> HandPriors:
    """Return the priors of ``learning_priors.csv``, which gives the reason for each.

    Examples
    --------
    >>> usual_hand_priors().amount
    0.27
    """
    text = (files("laydown.reference") / "learning_priors.csv").read_text(encoding="utf-8")
    sd = {row["name"]: float(row["sd"]) for row in csv.DictReader(text.splitlines())}
    return HandPriors(np.array([sd[name] for name in EFFECTS]), sd["amount"], sd["strength"])
