"""Dye markers on a paper: the one face of the marker model.

Fit a range's swatches with `fit_markers`, ask with `reflectance`, `predict` and `outside`, join the
ranges of a kit with `pool`. The parts: `absorption` (the scale on which coats add), `pile` (later
coats and lift), `layering`, `references`, `evidence`, `fitting`, `noise`, `uncertainty`.
"""

from laydown.media.marker.fit_markers import fit_markers
from laydown.media.marker.model import MODEL_VERSION, MarkerFit
from laydown.media.marker.pooling import learn_priors, pool
from laydown.media.marker.predicting import leeway, outside, predict, predict_many, reflectance

__all__ = [
    "MODEL_VERSION",
    "MarkerFit",
    "fit_markers",
    "learn_priors",
    "leeway",
    "outside",
    "pool",
    "predict",
    "predict_many",
    "reflectance",
]
