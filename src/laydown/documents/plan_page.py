"""Where a planned picture lies on its sheet of paper, in millimetres; nothing here draws."""

import re
from dataclasses import dataclass
from types import MappingProxyType

from laydown.documents.layout import PAGES, Box
from laydown.errors import BadFileError

PAPERS = MappingProxyType({"A3": (297.0, 420.0), "A5": (148.0, 210.0), **PAGES})
"""Width and height of the papers known by name [mm]."""
SIDES = (140.0, 1500.0)
"""Least and most of a side of a paper [mm]: the list needs the one, printers end before the other.
"""
OWN = re.compile(r"(\d+(?:\.\d+)?)\s*[x×]\s*(\d+(?:\.\d+)?)")
EDGE = 9.0
"""Left bare at the sides and the top of a drawing; home printers can't reach the last 3 to 6 [mm].
"""
FOOT = 13.0
"""Below a drawing, one line of text in it [mm]."""


@dataclass(frozen=True, slots=True)
class DrawingPage:
    """A sheet with a picture on it.

    Parameters
    ----------
    size
        Width and height of the sheet as it is drawn on, upright or on its side [mm].
    box
        Where the picture lies.
    scale
        How large it is against what was planned, at most 1.
    """

    size: tuple[float, float]
    box: Box
    scale: float


def paper_size(text: str) -> tuple[float, float]:
    """Return the width and height of a paper [mm].

    Parameters
    ----------
    text
        A3, A4, A5 or Letter, or width x height in millimetres.

    Raises
    ------
    BadFileError
        For a paper that is not known, or too small or too large.

    Examples
    --------
    >>> paper_size("a5"), paper_size("240 x 320")
    ((148.0, 210.0), (240.0, 320.0))
    """
    named = {name.casefold(): size for name, size in PAPERS.items()}
    key = text.strip().casefold()
    if key in named:
        return named[key]
    own = OWN.fullmatch(key)
    if own and all(SIDES[0] <= float(side) <= SIDES[1] for side in own.groups()):
        return float(own[1]), float(own[2])
    raise BadFileError(
        f"{text!r} is no paper that can be printed on.",
        hint=f"Say {', '.join(sorted(PAPERS))}, or width x height in mm, each from {SIDES[0]:.0f} "
        f"to {SIDES[1]:.0f}: 240x320.",
    )


def drawing_page(paper: tuple[float, float], picture: tuple[float, float]) -> DrawingPage:
    """Lay a picture in the middle of a sheet, turned on its side where that shows it larger.

    Parameters
    ----------
    paper
        Width and height [mm].
    picture
        Width and height as planned [mm]; it is made smaller where it doesn't fit.

    Examples
    --------
    >>> page = drawing_page((210.0, 297.0), (250.0, 150.0))
    >>> page.size, page.box.width, page.scale
    ((297.0, 210.0), 250.0, 1.0)
    """
    upright, turned = _fitted(paper, picture), _fitted(paper[::-1], picture)
    return turned if turned.scale > upright.scale else upright


def _fitted(paper: tuple[float, float], picture: tuple[float, float]) -> DrawingPage:
    room = (paper[0] - 2 * EDGE, paper[1] - EDGE - FOOT)
    scale = min(1.0, *(free / side for free, side in zip(room, picture, strict=True)))
    wide, high = (side * scale for side in picture)
    left, top = EDGE + (room[0] - wide) / 2, EDGE + (room[1] - high) / 2
    return DrawingPage(paper, Box(left, top, wide, high), scale)
