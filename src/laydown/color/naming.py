"""Colors in plain words, by the ISCC–NBS names."""

from functools import cache, lru_cache

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_lch, lch_from_lab
from laydown.color.typed import FAMILIES, lab_from_notation
from laydown.errors import BadColorError
from laydown.reference.tables import load_table, numbers_of

NEUTRALS = ("black", "dark gray", "medium gray", "light gray", "white")
GRAYS = (" white", " gray", " black")
"""How the name of a gray with a tint ends."""
TINTED = 0.4
"""Chroma of the notation (ASTM D1535) from which a gray is called after its tint. The system begins
its tinted grays at 0.5 (from memory); the least of its centroids, purplish black, lies at 0.40."""
COLORED = 6.5
"""Chroma C* from which a color may be called by another name than a gray's: the least gray centroid
among those names, pale pink, lies at 6.9. In the notation that is 0.8 to 2.4, where the system has
1.5 (from memory) for all hues; a cool gray that painters call a gray reaches 6."""
TINT = 0.25
"""Share of the difference in chroma that counts among the grays with a tint. Their centroids lie at
chroma 2 to 11, so that with all of it the least tinted, pinkish white, drew colors of other hues
(chosen)."""
HUE_FIRST = 2.0
"""Parametric factor of lightness among them, so that a purplish gray isn't called brownish for its
lightness: at so little chroma hues lie close together (chosen)."""
BLACKISH = 5.0
"""Chroma C* from which the darkest grays may be called blackish: the least of those centroids,
blackish green, lies at 5.2."""
REMEMBERED = 10_000
"""Colors whose names are remembered."""


def color_name(lab: FloatArray) -> str:
    """Name a color in words.

    `lab`: shape (3,), CIELAB D50. Returns one of the 267 names, such as "light bluish green".
    Raises BadColorError for numbers that are not finite.

    The name whose centroid is nearest by CIEDE2000. A color of almost no chroma is one of the five
    neutrals; one of little is a gray, a white or a black with a tint, which its hue and lightness
    tell. The system itself draws blocks in hue, value and chroma; where blocks are of unequal size,
    near their borders the nearest centroid may belong to the neighbor, whose name then differs in
    one word. docs/decisions/color.md says how often.

    Source: K. L. Kelly, D. B. Judd, Color: Universal Language and Dictionary of Names, National
    Bureau of Standards Special Publication 440 (1976).

    >>> color_name(np.array([100.0, 0.0, 0.0]))
    'white'
    """
    lab = np.asarray(lab, dtype=np.float64)
    if not np.all(np.isfinite(lab)):
        raise BadColorError(f"L*, a*, b* of {lab.tolist()} are not all numbers.")
    return _name(*lab.tolist())


SAID_SO = {
    "dusty": "grayish",
    "muted": "grayish",
    "dull": "grayish",
    "soft": "pale",
    "pastel": "light",
    "bright": "vivid",
    "intense": "vivid",
    "rich": "deep",
    "medium": "moderate",
    "grey": "gray",
    "greyish": "grayish",
}
"""What people say for words of the system (chosen)."""
PLAIN = ("", "moderate ", "strong ", "medium ", "vivid ")
"""How a hue that is named alone is meant, the likeliest first."""


def lab_of_words(words: str) -> FloatArray | None:
    """Return the color that is meant by words such as "dusty pink"; None for other words.

    Returns shape (3,), CIELAB D50: the centroid of an ISCC-NBS name.

    >>> color_name(lab_of_words("Dusty pink"))
    'grayish pink'
    """
    names, centroids = _centroids()
    said = " ".join(SAID_SO.get(word, word) for word in words.casefold().split())
    meant = next((name for how in PLAIN if (name := how + said) in names), None)
    return None if meant is None else centroids[names.index(meant)]


@lru_cache(REMEMBERED)
def _name(lightness: float, a: float, b: float) -> str:
    """Name a color; those named last are remembered, since pages name the same ones again."""
    lab = np.array([lightness, a, b])
    names, centroids = _centroids()
    neutral, tinted, blackish = _grays()
    chroma = np.hypot(a, b)
    if chroma < COLORED and chroma < TINTED * _chroma_of_one(lab):
        distances = np.where(neutral, ciede2000(lab, centroids), np.inf)
    elif chroma < COLORED:
        may_be = tinted | blackish if chroma >= BLACKISH else tinted
        lch = lch_from_lab(centroids)
        lch[..., 1] = chroma + TINT * (lch[..., 1] - chroma)
        of_hue = ciede2000(lab, lab_from_lch(lch), k_L=HUE_FIRST)
        distances = np.where(may_be, of_hue, np.inf)
    else:
        distances = ciede2000(lab, centroids)
    return names[int(np.argmin(distances))]


@cache
def _centroids() -> tuple[tuple[str, ...], FloatArray]:
    """Return the 267 names and their CIELAB, shape (267, 3)."""
    table = load_table("color_names")
    return table["name"], numbers_of(table, "L", "a", "b")


@cache
def _grays() -> tuple[NDArray[np.bool_], ...]:
    """Return which names are of neutrals, which of grays with a tint, and which are blackish."""
    names, _ = _centroids()
    neutral = np.isin(names, NEUTRALS)
    gray = np.array([name.endswith(GRAYS) for name in names])
    blackish = np.array([name.startswith("blackish ") for name in names])
    return neutral, gray & ~neutral, blackish


def _chroma_of_one(lab: FloatArray) -> float:
    """Return the C* that chroma 1 of the notation has at a color's lightness and hue."""
    grid = _first_chips()
    at_hue = [np.interp(lch_from_lab(lab)[2], row[:, 2], row[:, 1], period=360.0) for row in grid]
    return float(np.interp(lab[0], grid[:, 0, 0], at_hue))


@cache
def _first_chips() -> FloatArray:
    """Return L*, C* and hue of the chips of chroma 1, shape (values, hues, 3)."""
    chips = [
        [lab_from_notation(f"5{family} {value}/1") for family in FAMILIES] for value in range(1, 10)
    ]
    return lch_from_lab(np.array(chips))
