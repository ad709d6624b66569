"""The color of the paper that patches are shown on."""

import numpy as np

from laydown.app.list_papers import list_papers
from laydown.app.opening import Library
from laydown.color.arrays import FloatArray

WHITE = np.array([100.0, 0.0, 0.0])


def color_of_paper(library: Library, name: str) -> FloatArray:
    """Return the CIELAB color of a paper; white for one that is no longer there."""
    found = (paper.color.lab for paper in list_papers(library).papers if paper.name == name)
    return next(found, WHITE)
