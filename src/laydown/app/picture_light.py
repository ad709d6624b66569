"""What a door says of the light in a picture: which places in it are of known color."""

import re
from collections.abc import Sequence

from laydown.app.supplies import paper_named
from laydown.color.arrays import FloatArray
from laydown.color.tristimulus import WHITE_D50, xyz_from_reflectance
from laydown.errors import BadFileError
from laydown.imaging.balance import (
    Known,
    Place,
    balanced,
    balanced_by_chart,
    gray_of_value,
    read_place,
    unbalanced,
)
from laydown.imaging.picture import Picture
from laydown.store.library import Library

CHART = "chart"
GRAY_CARD = 18.0
"""Reflectance of the gray card that photographers use, as published for it [percent]."""
NUMBER = re.compile(r"\d+(\.\d+)?")
HINT = (
    "Write what is known, an @ and where it is: paper@5%,5%,10%,4%, gray@400,300, 90%@…, "
    "value:5@…; or chart. Several may be named."
)


def in_its_light(
    library: Library | None, picture: Picture, white: Sequence[str], *, paper: str = ""
) -> Picture:
    """Balance a picture by what a person names in it.

    Parameters
    ----------
    library
        Where papers are; None is enough where `names_paper` says that none is named.
    picture
        As opened.
    white
        Each ``what@where``. What is known: ``paper`` (the one in question) or ``paper NAME``,
        ``gray`` (a gray card of 18 %), a reflectance (``90%``) or a value (``value:5``). Where it
        is: see `laydown.imaging.balance.read_place`. Or ``chart`` alone. Empty for no balance.
    paper
        The paper in question; empty where the library has only one.

    Raises
    ------
    BadFileError
        For a text of another form, or a place that tells nothing.
    UnknownNameError
        For a paper that is not there.
    """
    if not white:
        return unbalanced(picture)
    if CHART in white:
        if len(white) > 1:
            raise BadFileError("A chart tells the light by itself.", hint="Name nothing beside it.")
        return balanced_by_chart(picture)
    return balanced(picture, [_known(library, picture, text, paper) for text in white])


def names_paper(white: Sequence[str]) -> bool:
    """Return whether a paper is named, so that a library is needed.

    Examples
    --------
    >>> names_paper(["gray@10,10", "paper@5%,5%"]), names_paper(["chart"])
    (True, False)
    """
    return any(text.split("@")[0].split()[:1] == ["paper"] for text in white)


def _known(library: Library | None, picture: Picture, text: str, paper: str) -> Known:
    what, at, where = text.rpartition("@")
    kind, _, name = " ".join(what.replace(":", " ").replace(" %", "%").split()).partition(" ")
    if not at or not kind:
        raise BadFileError(f"{text!r} names no place of known color.", hint=HINT)
    place = read_place(where, size=picture.size)
    if kind == "paper" and library is not None:
        return _bare(library, place, name or paper)
    xyz, words = _gray(kind, name)
    return Known(place, xyz, words)


def _bare(library: Library, place: Place, name: str) -> Known:
    with library.look() as work:
        paper = work.paper(paper_named(work, name))
    words = f"bare paper, {paper.name}" + ("" if paper.measured else " (not measured)")
    return Known(place, xyz_from_reflectance(paper.reflectance), words)


def _gray(kind: str, name: str) -> tuple[FloatArray, str]:
    """Return the XYZ of a gray and what to call it."""
    if kind in ("gray", "grey") and name in ("", "card"):
        return WHITE_D50 * GRAY_CARD / 100, "a gray card"
    if kind == "value" and NUMBER.fullmatch(name) and float(name) <= 10:
        return gray_of_value(float(name)), f"a gray of value {name}"
    if kind.endswith("%") and NUMBER.fullmatch(kind[:-1]) and 0 < float(kind[:-1]) <= 100:
        return WHITE_D50 * float(kind[:-1]) / 100, f"a gray of {kind}"
    raise BadFileError(f"{f'{kind} {name}'.strip()!r} is nothing of known color.", hint=HINT)
