"""The fit for ranges on a paper: the one kept in the library where it still holds, else a new one.

A kept fit holds while the model's version, the swatches, the paper's limit of coats and the
range's list of colorants are what they were. Fits are made range by range, since ranges lie
differently deep in the paper, and joined for a kit of several.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from laydown.app.fit_text import write_fit
from laydown.app.kept_fits import read_marker_fit, sound
from laydown.errors import NotMeasuredError
from laydown.media.colorant import Colorant
from laydown.media.drying import as_dry
from laydown.media.marker import MODEL_VERSION, MarkerFit, fit_markers, pool
from laydown.media.paper import Paper
from laydown.media.swatch import Swatch
from laydown.store.library import Library
from laydown.store.records import FitKey
from laydown.store.work import Work

AT_HAND = 8
"""Kits whose fits stay at hand, so that a color is answered live."""


@dataclass(frozen=True, slots=True, eq=False)
class _Evidence:
    """What a fit of one range on one paper rests on, and the kept one if it still holds."""

    key: FitKey
    paper: Paper
    colorants: tuple[Colorant, ...]
    swatches: tuple[Swatch, ...]
    kept: MarkerFit | None


def fit_for(library: Library, ranges: Sequence[str], paper: str) -> MarkerFit:
    """Return the fit for these ranges on this paper.

    Parameters
    ----------
    library
        Where swatches and kept fits are; a new fit is kept there.
    ranges
        Names of ranges, at least one.
    paper
        Its name.

    Raises
    ------
    UnknownNameError
        For a range or paper that isn't in the library.
    NotMeasuredError
        For a range without a single swatch on this paper.
    """
    names = sorted(set(ranges))
    with library.look() as work:
        there = work.paper(paper)
        found = [_evidence(work, name, there) for name in names]
    return _pooled(tuple(_fit(library, evidence) for evidence in found))


def not_swatched(work: Work, range_name: str, paper: str) -> NotMeasuredError:
    """Return the error for a range of which nothing was swatched on a paper."""
    most = max(work.coverage(range_name), key=lambda one: one.swatches, default=None)
    told = f"No swatch of {range_name} on {paper} has been measured."
    lay = f"ay one coat of a few of its colorants on {paper}, measure and import them."
    if most is None:
        return NotMeasuredError(told, hint=f"L{lay}")
    return NotMeasuredError(
        told,
        hint=f"Choose the paper {most.paper}: most of {range_name} is swatched there. Or l{lay}",
        command=f'--paper "{most.paper}"',
    )


@lru_cache(AT_HAND)
def _pooled(fits: tuple[MarkerFit, ...]) -> MarkerFit:
    """Pool fits; while they are the same objects, so is the whole, and what is known of it."""
    return pool(fits)


def _evidence(work: Work, range_name: str, paper: Paper) -> _Evidence:
    colorants = work.colorants(range_name)
    key = FitKey(
        (range_name,), paper.name, MODEL_VERSION, _rests_on(work, range_name, paper, colorants)
    )
    kept = _kept(work.fit(key), colorants, paper)
    return _Evidence(key, paper, colorants, () if kept else _own(work, range_name, paper), kept)


def _kept(text: str | None, colorants: tuple[Colorant, ...], paper: Paper) -> MarkerFit | None:
    if text is None:
        return None
    return sound(text, len(colorants), lambda text: read_marker_fit(text, colorants, paper))


def _rests_on(work: Work, range_name: str, paper: Paper, colorants: Sequence[Colorant]) -> str:
    parts = [
        work.swatch_hash([range_name], paper.name),
        str(paper.coats_limit),
        *map(str, colorants),
    ]
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()


def _own(work: Work, range_name: str, paper: Paper) -> tuple[Swatch, ...]:
    """Return the swatches on a paper whose colorants all belong to the range."""
    stored = work.swatches(range=range_name, paper=paper.name)
    return tuple(
        s.swatch for s in stored if {c.range for c in s.swatch.recipe.colorants} == {range_name}
    )


def _fit(library: Library, evidence: _Evidence) -> MarkerFit:
    if evidence.kept:
        return evidence.kept
    if not evidence.swatches:
        (range_name,) = evidence.key.ranges
        with library.look() as work:
            raise not_swatched(work, range_name, evidence.paper.name)
    made = fit_markers(as_dry(evidence.swatches), evidence.paper, colorants=evidence.colorants)
    with library.work("keep a fit") as work:
        work.keep_fit(evidence.key, write_fit(made))
    return made
