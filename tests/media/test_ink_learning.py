"""The later-layer factor of printed inks, learned from other sets by the notebook's own code.

The nine measured sets are those of ``test_ink_layers.py``, read in place from the Debian package
``icc-profiles-free``. A set's overprints are taken as trials against the fit of its single inks.
"""

from dataclasses import replace

import numpy as np

from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.media.inference.learning import learn
from laydown.media.inference.priors import HELD, Priors
from laydown.media.kit.fit import predict
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.priors import EFFECTS, LATER_COAT, usual_priors
from laydown.media.recipe import Paper
from laydown.media.swatch import Swatch, Trial
from learn_priors import learn_priors

SINGLES, OVERPRINTS = ("C", "M", "Y", "K"), ("CM", "CY", "MY", "CMY")


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


def test_a_factor_learned_from_trials_on_other_sets(sets: dict[str, dict[str, Swatch]]) -> None:
    """Thirty-six overprints, each by what eight other sets taught: mean CIEDE2000 at most 3.2."""
    free = dict.fromkeys(EFFECTS, HELD) | {"scale": 0.35, "later coat": 0.3}
    press = free | {"amount": HELD, "strength": HELD}
    learned = {}
    for name, swatches in sets.items():
        alone = fit(swatches, untaught())
        trials = [
            Trial(n, swatches[i].recipe, lab_from_reflectance(swatches[i].reflectance))
            for n, i in enumerate(OVERPRINTS)
        ]
        learned[name] = learn(alone, trials, priors=press, share=1.0).fit
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
