"""Several fits as one: the ranges of a kit on one paper, and what earlier fits teach later ones."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.media.inference.prediction import residuals_over
from laydown.media.inference.priors import Priors
from laydown.media.marker.absorption import absorption
from laydown.media.marker.model import MarkerFit
from laydown.media.marker.pile import strength_of
from laydown.media.marker.priors import EFFECTS, SCALE, usual_priors

APART = 0.1
"""Scales of two ranges that differ by more are noted (chosen, no source)."""


def pool(fits: Sequence[MarkerFit]) -> MarkerFit:
    """Join ranges that were fitted apart on one paper into one fit.

    Ranges may differ in how deep their dye goes. A pile of both has no scale of its own, so the
    pooled effects are means of the fits' own, weighted by how much color each holds and how sure
    it is; one coat of each colorant stays exactly what it was, and the variance of each effect
    grows by how far the ranges lie apart.

    Parameters
    ----------
    fits
        At least one, all on the same paper, no colorant twice.

    Returns
    -------
    MarkerFit
        With the colorants of all, in the order given.

    Raises
    ------
    ValueError
        For no fit, fits on different papers, or a colorant that is in two.

    Examples
    --------
    A single fit is its own pool.

    >>> from laydown.media.marker.fitting import fit_markers
    >>> from laydown.media.swatch import Swatch
    >>> from laydown.media.colorant import Paper
    >>> from laydown.media.recipe import Recipe, Step
    >>> from laydown.media.colorant import Colorant
    >>> paper, kelp = Paper("Gannet smooth", np.full(36, 0.9)), Colorant("Kelp", "Estuary")
    >>> fit = fit_markers([Swatch(paper.name, Recipe((Step(kelp),)), np.full(36, 0.4))], paper)
    >>> pool([fit]) is fit
    True
    """
    _check(fits)
    if len(fits) == 1:
        return fits[0]
    weights = _weights(fits)
    effects = np.sum(weights * np.array([f.effects for f in fits]), axis=0)
    ceiling = np.max([f.ceiling for f in fits], axis=0)
    scale = effects[SCALE]
    paper = absorption(fits[0].paper.reflectance / ceiling, scale=scale)
    coats = np.concatenate([f.one_coat for f in fits])
    blender = np.concatenate([f.blender for f in fits])
    added = absorption(coats / ceiling, scale=scale) - paper
    pooled = MarkerFit(
        model_version=fits[0].model_version,
        medium=fits[0].medium,
        paper=fits[0].paper,
        colorants=tuple(c for f in fits for c in f.colorants),
        ceiling=ceiling,
        paper_absorption=paper,
        absorption=added,
        strength=strength_of(added) * (1.0 - blender),
        blender=blender,
        effects=effects,
        own=np.zeros((len(coats), 1)),
        covariance=_covariance(fits, weights, effects),
        hand=_root_mean_square([f.hand for f in fits]),
        cover=_root_mean_square([f.cover for f in fits]),
        misfit=_root_mean_square([f.misfit for f in fits]),
        measuring=max(f.measuring for f in fits),
        xyz_only=np.concatenate([f.xyz_only for f in fits]),
        most_coats=np.concatenate([f.most_coats for f in fits]),
        laid=frozenset().union(*(f.laid for f in fits)),
        assumed=frozenset.intersection(*(f.assumed for f in fits)),
        odd=tuple(s for f in fits for s in f.odd),
        notes=_notes(fits),
        swatched=tuple(r for f in fits for r in f.swatched),
        bend=np.mean([f.bend for f in fits], axis=0),
    )
    measured, residuals = residuals_over(pooled, fits)
    return replace(pooled, measured=measured, residuals=residuals)


def _check(fits: Sequence[MarkerFit]) -> None:
    if not fits:
        raise ValueError("nothing to pool")
    if len({f.paper.name for f in fits}) > 1:
        raise ValueError("fits on different papers can't be pooled")
    labels = [c.label for f in fits for c in f.colorants]
    if len(set(labels)) < len(labels):
        raise ValueError("a colorant is in two of the fits")


def _weights(fits: Sequence[MarkerFit]) -> FloatArray:
    """Return shape (fits, 6), adding to 1 over the fits: color held, over variance."""
    e = len(EFFECTS)
    held = np.array([max(float(f.strength.sum()), 1e-9) for f in fits])
    variance = np.array([np.diag(f.covariance)[:e] for f in fits])
    weights = held[:, None] / np.maximum(variance, 1e-12)
    return np.asarray(weights / weights.sum(axis=0))


def _covariance(fits: Sequence[MarkerFit], weights: FloatArray, effects: FloatArray) -> FloatArray:
    """Return each fit's own blocks for the amounts, and for the effects their mean and scatter."""
    e = len(EFFECTS)
    size = e + sum(len(f.colorants) for f in fits)
    whole = np.zeros((size, size))
    place = e
    for weight, fit in zip(weights, fits, strict=True):
        weighted = np.diag(weight) @ fit.covariance[:e]
        end = place + len(fit.colorants)
        whole[:e, :e] += weighted[:, :e] @ np.diag(weight)
        whole[:e, place:end], whole[place:end, :e] = weighted[:, e:], weighted[:, e:].T
        whole[place:end, place:end] = fit.covariance[e:, e:]
        place = end
    apart = np.array([f.effects for f in fits]) - effects
    whole[:e, :e] += np.diag(np.sum(weights * apart**2, axis=0))
    return whole


def _root_mean_square(values: Sequence[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


def _notes(fits: Sequence[MarkerFit]) -> tuple[str, ...]:
    notes = list(dict.fromkeys(note for f in fits for note in f.notes))
    scales = [f.scale for f in fits]
    if max(scales) - min(scales) > APART:
        notes.append(
            "The ranges of this kit lie differently deep in the paper "
            f"(scales {min(scales):.2f} to {max(scales):.2f}): layers of both are less sure."
        )
    return tuple(notes)


def learn_priors(fits: Sequence[MarkerFit], *, priors: Priors | None = None) -> Priors:
    """Turn earlier fits into what is expected of the next range or paper.

    Parameters
    ----------
    fits
        Those that tell an effect (don't assume it) count for it.
    priors
        Kept for what no fit tells; the usual ones where None.

    Returns
    -------
    Priors
        Mean over the fits; standard deviation from their scatter and their own variance.

    Examples
    --------
    >>> learn_priors([]) is usual_priors()
    True
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
