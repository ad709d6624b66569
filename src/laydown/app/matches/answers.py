"""How an answer's numbers are said, at every door in the same words."""

from laydown.app.matches.colors import CandidateInWords
from laydown.app.words import ColorInWords

NINE_IN_TEN_BELOW = 1.28
"""Normal quantile: a normal value lies within so many deviations in 80 of 100 cases."""
LEAST_SPREAD = 0.05
"""In value steps: less than that is not said of a color laid by hand."""


def color_words(color: ColorInWords) -> str:
    """Say a color in words and in numbers, and whether a screen can show it."""
    L, a, b = (round(float(x)) for x in color.lab)
    screen = color.screen if color.on_screen else f"near {color.screen}, but no screen shows it"
    return f"{color.words}, value {color.value:.1f}, L* {L} a* {a} b* {b} ({screen})"


def surety_words(seen: CandidateInWords) -> str:
    """Say how far the value that comes out may lie from the one predicted."""
    deviation = float(seen.candidate.prediction.covariance[0, 0]) ** 0.5 / 10
    spread = max(NINE_IN_TEN_BELOW * deviation, LEAST_SPREAD)
    return f"value ± {spread:.1f} in 80 of 100"
