"""Let uncertainty decide between recipes whose costs are about the same, and say so."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from laydown.match.found import Found


def surer_first(
    found: Found, sure: Sequence[float], *, top: int, margin: float
) -> tuple[Found, str]:
    """Reorder the recipes around the k-th by their chance of acceptance.

    Only recipes whose cost lies within the margin of the k-th change places, so one that is clearly
    closer stays before them and one that is clearly farther never comes in.

    Parameters
    ----------
    found
        From a search with ``within=margin``, so that none is missing.
    sure
        The chance that each of its recipes is accepted, in the same order.
    top
        How many to keep, the k.
    margin
        In CIEDE2000 as ranked, 0 or above.

    Returns
    -------
    tuple
        The best k, and a sentence that says what was done; empty where nothing changed places.

    Examples
    --------
    With a margin of 0 only recipes of the very cost of the k-th could change places.
    """
    if not len(found.costs):
        return found, ""
    last = found.costs[min(top, len(found.costs)) - 1]
    near = np.flatnonzero(np.abs(found.costs - last) <= margin)
    moved = sorted(near.tolist(), key=lambda i: (-sure[i], i))
    order = [i for i in range(len(found.costs)) if found.costs[i] < last - margin] + moved
    kept = order[:top]
    result = replace(found, recipes=tuple(found.recipes[i] for i in kept), costs=found.costs[kept])
    if kept == list(range(len(kept))):
        return result, ""
    return result, (
        f"Recipes within {margin:g} of each other in cost are in the order of how sure they are."
    )
