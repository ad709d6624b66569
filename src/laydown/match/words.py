"""How a color differs from the one wanted: in numbers, and as a person would say it."""

from math import atan2, degrees, hypot

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.value import value_from_lab
from laydown.match.outcome import Difference
from laydown.reference.thresholds import thresholds

BLIND = 1e9
"""A parametric factor so large that its term of CIEDE2000 vanishes."""
_TOWARDS = {"red": "redder", "yellow": "yellower", "green": "greener", "blue": "bluer"}
_QUARTERS = (
    "a touch",
    "a quarter of a value step",
    "half a value step",
    "three quarters of a value step",
    "one value step",
    "a step and a quarter of value",
    "a step and a half of value",
    "a step and three quarters of value",
    "two value steps",
)


def difference(wanted: FloatArray, lab: FloatArray) -> Difference:
    """Return how a color differs from the one wanted, value first.

    Parameters
    ----------
    wanted, lab
        Shape (3,), CIELAB D50.

    Returns
    -------
    Difference
        Signs are obtained minus wanted.

    Examples
    --------
    >>> difference(np.array([50.0, 0, 40]), np.array([55.0, 0, 40])).words
    'half a value step too light'
    """
    steps = float(value_from_lab(lab) - value_from_lab(wanted))
    chroma = hypot(lab[1], lab[2]) - hypot(wanted[1], wanted[2])
    said = [_say_value(steps), _say_hue(wanted, lab), _say_chroma(wanted, lab, chroma)]
    words = ", ".join(word for word in said if word) or "no difference worth naming"
    total = float(ciede2000(wanted, lab))
    return Difference(total, steps, _hue_turn(wanted, lab), chroma, words)


def hue_term(wanted: FloatArray, lab: FloatArray) -> float:
    """Return what hue alone adds to CIEDE2000."""
    return float(ciede2000(wanted, lab, k_L=BLIND, k_C=BLIND))


def chroma_term(wanted: FloatArray, lab: FloatArray) -> float:
    """Return what chroma alone adds to CIEDE2000."""
    return float(ciede2000(wanted, lab, k_L=BLIND, k_H=BLIND))


def _say_value(steps: float) -> str:
    if abs(steps) < thresholds()["value right"]:
        return ""
    quarters = round(abs(steps) * 4.0)
    amount = (
        _QUARTERS[quarters] if quarters < len(_QUARTERS) else f"{round(abs(steps))} value steps"
    )
    return f"{amount} too {'light' if steps > 0 else 'dark'}"


def _say_hue(wanted: FloatArray, lab: FloatArray) -> str:
    gray = thresholds()["gray"]
    if hypot(lab[1], lab[2]) < gray:
        return ""
    if hypot(wanted[1], wanted[2]) < gray:
        angle = _angle(lab[1] - wanted[1], lab[2] - wanted[2])
        return _graded(chroma_term(wanted, lab), _nearest(angle))
    turn = _hue_turn(wanted, lab) or 0.0
    middle = _angle(wanted[1], wanted[2]) + turn / 2.0
    return _graded(hue_term(wanted, lab), _ahead(middle, clockwise=turn < 0))


def _say_chroma(wanted: FloatArray, lab: FloatArray, chroma: float) -> str:
    if hypot(wanted[1], wanted[2]) < thresholds()["gray"] and chroma > 0:
        return ""
    return _graded(chroma_term(wanted, lab), "duller" if chroma < 0 else "more vivid")


def _graded(size: float, word: str) -> str:
    limits = thresholds()
    if size < limits["noticeable"]:
        return ""
    if size < limits["little"]:
        return f"a little {word}"
    return f"much {word}" if size > limits["much"] else word


def _hue_turn(wanted: FloatArray, lab: FloatArray) -> float | None:
    if min(hypot(wanted[1], wanted[2]), hypot(lab[1], lab[2])) < thresholds()["gray"]:
        return None
    turn = _angle(lab[1], lab[2]) - _angle(wanted[1], wanted[2])
    return (turn + 180.0) % 360.0 - 180.0


def _angle(a: float, b: float) -> float:
    return degrees(atan2(b, a)) % 360.0


def _ahead(angle: float, *, clockwise: bool) -> str:
    """Return the word for the pure hue that lies next on the way round from an angle."""
    sign = -1.0 if clockwise else 1.0
    ways = {hue: sign * (thresholds()[f"hue {hue}"] - angle) % 360.0 for hue in _TOWARDS}
    return _TOWARDS[min(ways, key=lambda hue: ways[hue])]


def _nearest(angle: float) -> str:
    ways = {hue: abs((thresholds()[f"hue {hue}"] - angle + 180) % 360 - 180) for hue in _TOWARDS}
    return _TOWARDS[min(ways, key=lambda hue: ways[hue])]


def is_gray(lab: FloatArray) -> bool:
    """Whether a color is too gray to have a hue worth naming."""
    return bool(np.hypot(lab[1], lab[2]) < thresholds()["gray"])
