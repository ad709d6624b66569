"""What a picture says of bare paper: whether it can be the paper's own color, and is kept."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from laydown.color.lab import lab_from_reflectance, lab_from_xyz
from laydown.color.value import value_from_lab
from laydown.media.colorant import Paper, unlike_bare_paper
from laydown.sheet.reading import CellReading

NO_BARE_PAPER = "no color of bare paper"
"""Why a bare cell isn't taken over whose color no usual paper has."""


@dataclass(frozen=True, slots=True)
class BareJudged:
    """What becomes of the bare places of a picture.

    Parameters
    ----------
    keeps
        Whether their color is kept as the paper's own.
    why_not
        Why they aren't even taken over; empty where they are.
    note
        What to do about it; empty for nothing.
    """

    keeps: bool
    why_not: str = ""
    note: str = ""


def judge_bare(paper: Paper, readings: Sequence[CellReading], *, rough: bool) -> BareJudged:
    """Judge whether bare places tell the paper's own color.

    Parameters
    ----------
    paper
        As the library has it.
    readings
        Of the bare places that could be taken over.
    rough
        Whether they rest on the paper's white alone. They then say again what was assumed of the
        paper and nothing of their own, so that they are never kept as measured.
    """
    if rough or not readings:
        return BareJudged(keeps=False)
    seen = lab_from_xyz(np.mean([reading.xyz for reading in readings], axis=0))
    odd, value = unlike_bare_paper(seen), float(value_from_lab(seen))
    if not paper.measured:
        return _not_kept(paper.name, odd, value) if odd else BareJudged(keeps=True)
    known = lab_from_reflectance(paper.reflectance)
    if odd or not unlike_bare_paper(known):
        return BareJudged(keeps=False)
    return _contradicted(paper.name, float(value_from_lab(known)), value)


def _not_kept(paper: str, odd: str, value: float) -> BareJudged:
    note = (
        f"Scan it, or photograph it again in even daylight: bare {paper} comes out too {odd} to be"
        f" kept as its color (value {value:.1f}). If the paper really looks like that, give its"
        " measured color with the paper, and read this again."
    )
    return BareJudged(keeps=False, why_not=NO_BARE_PAPER, note=note)


def _contradicted(paper: str, known: float, value: float) -> BareJudged:
    note = (
        f"Check the color of {paper} among your papers: it is kept there with a value of"
        f" {known:.1f}, and this picture shows {value:.1f}. The picture was read by itself, not by"
        " that."
    )
    return BareJudged(keeps=False, note=note)
