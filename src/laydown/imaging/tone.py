"""The curve by which a camera has lightened or darkened a picture, from grays that are known."""

from collections.abc import Callable
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from laydown.color.arrays import FloatArray
from laydown.color.value import luminance_from_value, value_from_luminance

Curve: TypeAlias = Callable[[FloatArray], FloatArray]
"""From luminance as seen to luminance as it is [perfect white at 100]."""

FEWEST = 3
"""Grays without which there is no curve."""
APART = 0.5
"""Grays nearer than this in value count as one."""
MOST_STEPS = 4096
"""Of the table through which a whole picture goes."""


def tone_curve(seen: FloatArray, known: FloatArray) -> Curve | None:
    """Fit the curve through known grays.

    Parameters
    ----------
    seen
        Shape (n,), their luminance in the balanced picture.
    known
        Shape (n,), their true luminance.

    Returns
    -------
    Curve or None
        None where fewer than `FEWEST` grays apart in value are known.

    Raises
    ------
    ValueError
        Where a lighter gray is seen as the darker one.

    Notes
    -----
    A monotone cubic through the grays' values (Fritsch & Carlson 1980, SIAM J. Numer. Anal. 17,
    238), straight on beyond the last ones. It takes in both the camera's own curve and what light
    strays through the lens; it says nothing sure about what is darker than the darkest gray.

    Examples
    --------
    Three grays of which the darkest looks too light:

    >>> curve = tone_curve(np.array([5.0, 20.0, 80.0]), np.array([3.0, 20.0, 80.0]))
    >>> curve(np.array([5.0, 20.0])).round(2).tolist()
    [3.0, 20.0]
    """
    value, wanted = _kinds(value_from_luminance(seen), value_from_luminance(known))
    if len(value) < FEWEST:
        return None
    if (np.diff(value) <= 0).any():
        raise ValueError("a lighter gray is seen as the darker one")
    through = PchipInterpolator(value, wanted)
    slopes = through.derivative()(value[[0, -1]])

    def curve(luminance: FloatArray) -> FloatArray:
        v = value_from_luminance(luminance)
        inside = np.clip(v, value[0], value[-1])
        beyond = np.where(v < value[0], slopes[0], slopes[1]) * (v - inside)
        return luminance_from_value(np.maximum(through(inside) + beyond, 0.0))

    return curve


def _kinds(value: FloatArray, wanted: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Average places of one gray, dark to light."""
    order = np.argsort(wanted)
    value, wanted = value[order], wanted[order]
    kind = np.concatenate([[0], np.cumsum(np.diff(wanted) > APART)])
    count = np.bincount(kind)
    return np.bincount(kind, value) / count, np.bincount(kind, wanted) / count


def applied(curve: Curve, share: NDArray[np.floating]) -> FloatArray:
    """Apply a curve to shares of white, of any shape, through a table.

    Examples
    --------
    >>> applied(lambda y: y / 2, np.array([0.0, 0.5])).round(6).tolist()
    [0.0, 0.25]
    """
    roots = np.linspace(0, max(1.0, float(np.sqrt(share.max()))), MOST_STEPS)
    return np.asarray(np.interp(np.sqrt(share), roots, curve(100 * roots**2) / 100))
