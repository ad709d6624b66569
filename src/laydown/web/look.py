"""How a person looks at colors here, and the color of the paper they are shown on."""

import re
from dataclasses import dataclass
from enum import StrEnum
from urllib.parse import parse_qs, quote, unquote, urlsplit

import numpy as np

from laydown.app.library import Library
from laydown.app.supplies.papers import list_papers
from laydown.color.arrays import FloatArray
from laydown.color.lab import WHITE_D50, lab_from_xyz
from laydown.color.screen import lab_from_hex, screen_color
from laydown.color.value import luminance_from_value, value_from_lab

# A color is judged against neutral gray (ISO 3664), so the whole page is gray, and which gray is
# a choice. The choice is kept in a cookie and nowhere else.

COOKIE = "look"
YEAR = 365 * 24 * 3600


class Surround(StrEnum):
    """The gray around everything; the system's own way where nobody chose."""

    SYSTEM = ""
    LIGHT = "light"
    DIM = "dim"


@dataclass(frozen=True, slots=True)
class Look:
    """The chosen surround, and whether colors are shown by their values alone."""

    surround: Surround = Surround.SYSTEM
    values_only: bool = False

    def text(self) -> str:
        """Write it as the cookie keeps it."""
        return f"{self.surround}{' values' if self.values_only else ''}"

    def fill(self, lab: FloatArray) -> str:
        """Return the screen color, ``#rrggbb``, that a patch of this CIELAB color is drawn in."""
        return gray_of(lab) if self.values_only else screen_color(lab)

    def shown(self, fill: str) -> str:
        """Return the screen color that a patch drawn in this one, ``#rrggbb``, is drawn in here."""
        return gray_of(lab_from_hex(fill)) if self.values_only else fill


def read_look(text: str) -> Look:
    """Read a look from its cookie; anything else is the usual look.

    >>> read_look("dim values").values_only
    True
    >>> read_look("nonsense") == Look()
    True
    """
    words = text.split()
    chosen = next((one for one in Surround if one and one in words), Surround.SYSTEM)
    return Look(chosen, "values" in words)


def gray_of(lab: FloatArray) -> str:
    """Return the neutral gray of a color's ASTM D1535 value, as ``#rrggbb``."""
    luminance = luminance_from_value(np.clip(value_from_lab(lab), 0.0, 10.0))
    return screen_color(lab_from_xyz(luminance / 100 * WHITE_D50))


HAND = "hand"
"""A cookie: the color in hand and those asked before, and the addresses that show them."""
MOST_ASKED = 12
LONGEST_HAND = 2500
"""Characters of the cookie: a browser keeps about 4,000."""


def hand_text(lab: FloatArray, query: str, before: str = "") -> str:
    """Write the color in hand as its cookie keeps it: its page's question, then those before."""
    text = f"{screen_color(lab)[1:]}.{quote(query)}"
    names = {one["name"] for one in read_asked(text)}
    for one in before.split("|")[: MOST_ASKED - 1]:
        asked = read_asked(one)
        if asked and asked[0]["name"] not in names and len(text) + len(one) < LONGEST_HAND:
            text += f"|{one}"
    return text


def read_asked(text: str) -> tuple[dict[str, str], ...]:
    """Read the colors asked from their cookie, the one in hand first; what is none is passed over.

    Each has the name of what was wanted, its fill as a screen shows it, and where it is answered.

    >>> read_asked("c8a050.wanted%3DLantern|nonsense")
    ({'name': 'Lantern', 'fill': '#c8a050', 'address': '/color?wanted=Lantern'},)
    """
    parts = (one.partition(".") for one in text.split("|")[:MOST_ASKED])
    known = [
        (fill, f"/color?{unquote(query)}")
        for fill, _, query in parts
        if re.fullmatch("[0-9a-f]{6}", fill)
    ]
    return tuple(
        {
            "name": next(iter(parse_qs(urlsplit(address).query).get("wanted", ())), ""),
            "fill": f"#{fill}",
            "address": address,
        }
        for fill, address in known
    )


WHITE = np.array([100.0, 0.0, 0.0])


def color_of_paper(library: Library, name: str) -> FloatArray:
    """Return the CIELAB color of a paper; white for one that is no longer there."""
    found = (paper.color.lab for paper in list_papers(library) if paper.name == name)
    return next(found, WHITE)
