"""Recompute what nine measured sets of ink overprints teach of a later coat.

Usage: ``python tools/learn_priors.py [FOLDER]``, where FOLDER holds the sets (``*.ti3`` of the
Debian package icc-profiles-free, by default /usr/share/color/icc). Prints the effects of each set
and their mean and scatter, from which the row "later coat" of
``src/laydown/reference/marker_priors.csv`` is rounded, its standard deviation widened, since inks
on a press are not markers in a hand.
"""

import argparse
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from laydown.color.reconstruction import reflectance_from_xyz
from laydown.media.inference.priors import Priors
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.priors import EFFECTS, LATER_COAT, SCALE, usual_priors
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from laydown.media.swatch import Basis, Swatch

INKS = {letter: Colorant(letter, "Press") for letter in "CMYK"}
SOLID = ("C", "M", "Y", "K", "CM", "CY", "MY", "CMY")


def solids(path: Path) -> dict[str, np.ndarray]:
    """Return XYZ of the rows whose inks are each 0 or 100, by the letters of the inks."""
    words = path.read_text(encoding="latin-1").split()
    names = words[words.index("BEGIN_DATA_FORMAT") + 1 : words.index("END_DATA_FORMAT")]
    cells = words[words.index("BEGIN_DATA") + 1 : words.index("END_DATA")]
    found = {}
    for start in range(0, len(cells), len(names)):
        row = dict(zip(names, cells[start : start + len(names)], strict=True))
        amounts = {letter: float(row[f"CMYK_{letter}"]) for letter in INKS}
        if set(amounts.values()) <= {0.0, 100.0}:
            inks = "".join(letter for letter, amount in amounts.items() if amount)
            found[inks] = np.array([float(row[f"XYZ_{axis}"]) for axis in "XYZ"])
    return found


def fit_set(path: Path) -> MarkerFit:
    """Fit one set's solids and overprints."""
    known = {inks: reflectance_from_xyz(xyz) for inks, xyz in solids(path).items()}
    swatches = [
        Swatch(path.stem, Recipe(tuple(Step(INKS[i]) for i in inks)), known[inks], Basis.XYZ)
        for inks in SOLID
    ]
    return fit_markers(swatches, Paper(path.stem, known[""]))


def learn_priors(fits: Sequence[MarkerFit], *, priors: Priors | None = None) -> Priors:
    """Turn earlier fits into what is expected of the next range or paper.

    `fits`: those that tell an effect (don't assume it) count for it. `priors`: kept for what no fit
    tells; the usual ones where None. Returns mean over the fits; standard deviation from their
    scatter and their own variance.
    """
    known = usual_priors() if priors is None else priors
    mean, sd = known.mean.copy(), known.sd.copy()
    for place, name in enumerate(EFFECTS):
        telling = [f for f in fits if name not in f.assumed]
        if telling:
            values = np.array([f.effects[place] for f in telling])
            own = np.mean([f.covariance[place, place] for f in telling])
            mean[place] = values.mean()
            sd[place] = min(known.sd[place], float(np.sqrt(values.var() + own)))
    return replace(known, mean=mean, sd=sd) if fits else known


def main() -> None:
    """Print each set's effects and what they teach together."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", nargs="?", type=Path, default=Path("/usr/share/color/icc"))
    fits = []
    for path in sorted(parser.parse_args().folder.glob("*.ti3")):
        fits.append(fit_set(path))
        print(f"{path.stem:10} scale {fits[-1].scale:.2f}  later coat {fits[-1].later_coat:.2f}")
    taught = learn_priors(fits)
    for name, place in (("scale", SCALE), ("later coat", LATER_COAT)):
        print(f"{name}: mean {taught.mean[place]:.3f}, standard deviation {taught.sd[place]:.3f}")


if __name__ == "__main__":
    main()
