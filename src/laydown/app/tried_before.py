"""A color that was made before is found, not made anew."""

from collections.abc import Sequence

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.media.labels import name_key
from laydown.media.recipe import format_recipe
from laydown.store.library import Library
from laydown.store.trial_records import StoredTrial

NEAR = 2.25
"""An earlier trial within this of what is wanted would do: half of observers accept it."""
MOST = 3


def near_trials(
    trials: Sequence[StoredTrial], lab: FloatArray, *, paper: str
) -> tuple[StoredTrial, ...]:
    """Return the trials on a paper that came out near a color, nearest first."""
    there = [t for t in trials if name_key(t.entry.paper) == name_key(paper)]
    if not there:
        return ()
    labs = lab_from_reflectance(np.array([t.entry.reflectance for t in there]))
    far = ciede2000(labs, lab)
    order = [int(i) for i in np.argsort(far, kind="stable") if far[i] <= NEAR]
    return tuple(there[i] for i in order[:MOST])


def tried_before(library: Library, lab: FloatArray, *, kit: str, paper: str) -> tuple[str, ...]:
    """Say which trial of a kit on a paper came out nearest to a color, if any came near."""
    with library.look() as work:
        own = [t for t in work.notebook.latest() if name_key(t.entry.kit) == name_key(kit)]
    near = near_trials(own, lab, paper=paper)
    if not near:
        return ()
    nearest = near[0]
    off = float(ciede2000(lab_from_reflectance(nearest.entry.reflectance), lab))
    recipe = format_recipe(nearest.entry.recipe)
    return (f"You made this before: trial {nearest.number}, “{recipe}”, came within {off:.1f}.",)
