"""Dye markers on a paper: the one face of the marker model.

Fit a range's swatches with `fit_markers`, join the ranges of a kit with `pool`; what a fit says of
a recipe is asked of `laydown.media.kit.fit`. The parts: `absorption` (the scale on which coats
add), `pile` (later coats and lift), `references`, `telling`, `model`, `fitting`, `design`.
"""

from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MODEL_VERSION, MarkerFit
from laydown.media.marker.pooling import learn_priors, pool

__all__ = ["MODEL_VERSION", "MarkerFit", "fit_markers", "learn_priors", "pool"]
