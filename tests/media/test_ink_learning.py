"""The later-layer factor of printed inks, learned from other sets by the notebook's own code.

The nine measured sets are those of ``test_ink_layers.py``, read in place from the Debian package
``icc-profiles-free``. A set's overprints are taken as trials against the fit of its single inks.
"""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_reflectance
from laydown.color.reconstruction import reflectance_from_xyz
from laydown.media.colorant import Colorant
from laydown.media.hand_priors import HandPriors
from laydown.media.learning import learn
from laydown.media.marker import MarkerFit, fit_markers, learn_priors, predict
from laydown.media.paper import Paper
from laydown.media.priors import EFFECTS, HELD, LATER_COAT, SCALE, Priors, usual_priors
from laydown.media.recipe import Recipe, Step
from laydown.media.swatch import Basis, Swatch
from laydown.media.trial import Trial

FOGRA = [f"FOGRA{number}L" for number in (28, 29, 30, 39, 40)]
SETS = [*FOGRA, "TR002", "TR003", "TR005", "TR006"]
INKS = {letter: Colorant(name, "Press") for letter, name in
        zip("CMYK", ("cyan", "magenta", "yellow", "black"), strict=True)}  # fmt: skip
SINGLES, OVERPRINTS = ("C", "M", "Y", "K"), ("CM", "CY", "MY", "CMY")


def read(path: Path) -> dict[str, np.ndarray]:
    """Return XYZ of the solids and overprints by their inks' letters."""
    words = path.read_text(encoding="latin-1").split()
    names = words[words.index("BEGIN_DATA_FORMAT") + 1 : words.index("END_DATA_FORMAT")]
    cells = words[words.index("BEGIN_DATA") + 1 : words.index("END_DATA")]
    found = {}
    for start in range(0, len(cells), len(names)):
        row = dict(zip(names, cells[start : start + len(names)], strict=True))
        amounts = [float(row[f"CMYK_{letter}"]) for letter in "CMYK"]
        if set(amounts) <= {0.0, 100.0}:
            inks = "".join(i for i, amount in zip("CMYK", amounts, strict=True) if amount)
            found[inks] = np.array([float(row[f"XYZ_{letter}"]) for letter in "XYZ"])
    return found


def untaught() -> Priors:
    """The usual priors, but of a later coat as if no ink had ever been printed over another."""
    usual = usual_priors()
    mean, sd = usual.mean.copy(), usual.sd.copy()
    mean[LATER_COAT], sd[LATER_COAT] = 1.0, 0.3
    return replace(usual, mean=mean, sd=sd)


def fit(swatches: dict[str, Swatch], priors: Priors) -> MarkerFit:
    """Fit the single inks of a set."""
    paper = Paper(swatches[""].paper, swatches[""].reflectance)
    return fit_markers([swatches[inks] for inks in SINGLES], paper, priors=priors)


@pytest.fixture(scope="module")
def sets(debian_data: Callable[[str, str], Path]) -> dict[str, dict[str, Swatch]]:
    """Swatches of every set by its inks' letters; the bare paper under no letter."""
    known = {}
    for name in SETS:
        xyz = read(debian_data("icc-profiles-free", f"usr/share/color/icc/{name}.ti3"))
        known[name] = {
            inks: Swatch(name, Recipe(tuple(Step(INKS[i]) for i in inks)),
                         reflectance_from_xyz(xyz[inks]), Basis.XYZ)
            for inks in ("", *SINGLES, *OVERPRINTS)
        }  # fmt: skip
    return known


def test_a_factor_learned_from_trials_on_other_sets(sets: dict[str, dict[str, Swatch]]) -> None:
    """Thirty-six overprints, each by what eight other sets taught: mean CIEDE2000 at most 3.2."""
    free = np.full(len(EFFECTS), HELD)
    free[[SCALE, LATER_COAT]] = 0.35, 0.3
    press = HandPriors(free, amount=HELD, strength=HELD)
    learned = {}
    for name, swatches in sets.items():
        alone = fit(swatches, untaught())
        trials = [
            Trial(n, swatches[i].recipe, lab_from_reflectance(swatches[i].reflectance))
            for n, i in enumerate(OVERPRINTS)
        ]
        learned[name] = learn(alone, trials, priors=press).fit
    off = []
    for name, swatches in sets.items():
        taught = learn_priors(
            [other for key, other in learned.items() if key != name], priors=untaught()
        )
        alone = fit(swatches, taught)
        for inks in OVERPRINTS:
            lab = lab_from_reflectance(swatches[inks].reflectance)
            off.append(float(ciede2000(predict(alone, swatches[inks].recipe).lab, lab)))
    assert len(off) == 36
    assert np.mean(off) <= 3.2
    assert max(off) <= 8.5
