"""From a picture's linear signal to XYZ: by a matrix fitted on known colors, or by its profile."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_xyz
from laydown.imaging.profiles import Profile
from laydown.sheet.reading import Accuracy, ColorConversion

FEWEST_KNOWN = 8
"""Known colors below which a matrix of nine numbers can't be checked on one left out."""
USUAL_ERROR, USUAL_COUNT = 6.5, 6.0
"""Root of the mean square error in real photographs of charts [CIEDE2000], and of how many known
colors it counts as much: what a picture shows of itself misses its glare and its uneven light."""
MEAN, LIKELY, MOST = 0.92, 1.3, 2.05
"""Mean, and what 80 and 95 of 100 stay within, by the root of the mean square: of half of the real
photographs of charts, which have longer tails than a normal distribution."""
STEPS = 25
TINY = 1e-4
"""Relative step of the numerical derivative."""


def as_it_is(relative: FloatArray) -> FloatArray:
    """Return a signal that no curve has bent."""
    return relative


@dataclass(frozen=True, slots=True, eq=False)
class Converter:
    """From signal relative to bare paper to XYZ under D50.

    Parameters
    ----------
    matrix
        Shape (3, 3): light @ matrix is XYZ.
    accuracy
        What error follows.
    curve
        From the relative signal to light; as it is unless the camera's curve is known.
    """

    matrix: FloatArray
    accuracy: Accuracy
    curve: Callable[[FloatArray], FloatArray] = as_it_is

    def xyz(self, relative: FloatArray) -> FloatArray:
        """Return XYZ, shape (…, 3), never below 0."""
        return np.asarray(np.maximum(self.curve(relative) @ self.matrix, 0.0))

    @property
    def paper(self) -> FloatArray:
        """XYZ of bare paper by the picture alone, shape (3,)."""
        return self.xyz(np.ones(3))

    def on_paper(self, paper: FloatArray) -> "Converter":
        """Return the same, scaled so that bare paper has the luminance that is known for it.

        Where the light on a chart beside the sheet had to be guessed from the light on the sheet,
        the common scale is what is least sure; the paper settles it, be it measured or usual.
        """
        return replace(self, matrix=self.matrix * (paper[1] / self.paper[1]))


def fit_matrix(
    signal: FloatArray, xyz: FloatArray, *, start: FloatArray | None = None
) -> FloatArray:
    """Fit a 3 × 3 matrix on known colors so that their CIEDE2000 is least in the squares.

    Parameters
    ----------
    signal
        Shape (n, 3), linear.
    xyz
        Shape (n, 3), what they are.
    start
        Shape (3, 3), a matrix that is nearly right; None to begin anew.

    Returns
    -------
    FloatArray
        Shape (3, 3): signal @ matrix is XYZ.

    Notes
    -----
    It begins at the least squares of relative XYZ, and goes on by Levenberg–Marquardt steps.
    Higher-order terms look better on the known colors and are worse on others, so there are none.

    Examples
    --------
    >>> rng = np.linspace(0.1, 0.9, 27).reshape(9, 3) ** [1.0, 1.5, 2.0]
    >>> bool(np.allclose(fit_matrix(rng, 50 * rng), 50 * np.eye(3), atol=1e-6))
    True
    """
    weight = 1.0 / (xyz.sum(axis=1, keepdims=True) + 3.0) ** 0.67
    if start is None:
        start = np.linalg.lstsq(signal * weight, xyz * weight, rcond=None)[0]
    wanted = lab_from_xyz(xyz)
    best, error, damping = start.ravel(), _errors(start, signal, wanted), 1e-3
    for _ in range(STEPS):
        slope = _slopes(best, error, signal, wanted)
        normal = slope.T @ slope
        step = np.linalg.solve(normal + damping * np.diag(np.diag(normal) + 1e-9), slope.T @ error)
        tried = _errors((best - step).reshape(3, 3), signal, wanted)
        if tried @ tried < error @ error:
            gained = 1 - (tried @ tried) / (error @ error)
            best, error, damping = best - step, tried, damping / 5
            if gained < 1e-5:
                break
        else:
            damping *= 10
    return np.asarray(best.reshape(3, 3))


def _errors(matrix: FloatArray, signal: FloatArray, wanted: FloatArray) -> FloatArray:
    made = lab_from_xyz(np.maximum(signal @ matrix, 0.0))
    return np.asarray(ciede2000(made, wanted) + 1e-9)


def _slopes(
    at: FloatArray, error: FloatArray, signal: FloatArray, wanted: FloatArray
) -> FloatArray:
    size = TINY * np.abs(at).max()
    shifted = (at + size * np.eye(9)).reshape(9, 3, 3)
    return np.asarray((_errors(shifted, signal, wanted) - error).T / size)


def left_out_errors(signal: FloatArray, xyz: FloatArray) -> FloatArray:
    """Return the CIEDE2000 of each known color under a matrix fitted on the others, shape (n,)."""
    places = np.arange(len(signal))
    wanted = lab_from_xyz(xyz)
    start = fit_matrix(signal, xyz)
    fits = [fit_matrix(signal[places != i], xyz[places != i], start=start) for i in places]
    return np.array(
        [float(_errors(fit, signal[i], wanted[i])) for i, fit in zip(places, fits, strict=True)]
    )


def by_known(
    signal: FloatArray, xyz: FloatArray, *, conversion: ColorConversion, names: str
) -> Converter:
    """Convert by known colors: a reference chart, or cells that were measured before.

    Parameters
    ----------
    signal
        Shape (n, 3), n ≥ 8, relative to bare paper.
    xyz
        Shape (n, 3), what they are under D50.
    conversion
        Which of the two it is.
    names
        What they are, for the accuracy's basis.
    """
    accuracy = accuracy_of(left_out_errors(signal, xyz), conversion=conversion, names=names)
    return Converter(fit_matrix(signal, xyz), accuracy)


def accuracy_of(
    errors: FloatArray, *, conversion: ColorConversion, names: str, usual: float = USUAL_ERROR
) -> Accuracy:
    """Say how far off colors are, by known ones that were left out, and by what is usual.

    Parameters
    ----------
    errors
        Shape (n,), CIEDE2000 of each known color predicted from the others.
    conversion, names
        By what the picture is converted, and what the known colors are.
    usual
        Root of the mean square that is expected before, which counts as `USUAL_COUNT` colors.

    Examples
    --------
    >>> told = accuracy_of(np.full(24, 2.0), conversion=ColorConversion.CHART, names="patches")
    >>> told.mean, told.likely, told.most
    (3.1, 4.4, 7.0)
    """
    total = USUAL_COUNT * usual**2 + float((errors**2).sum())
    off = (total / (USUAL_COUNT + len(errors))) ** 0.5
    return Accuracy(
        conversion,
        round(MEAN * off, 1),
        round(LIKELY * off, 1),
        round(MOST * off, 1),
        f"{len(errors)} {names}, each predicted from the others, and real photographs of charts",
    )


def by_profile(profile: Profile, *, paper_signal: FloatArray, accuracy: Accuracy) -> Converter:
    """Convert by a profile.

    Parameters
    ----------
    profile
        The picture's own, or the usual one.
    paper_signal
        Shape (3,), the profile's linear signal for bare paper: as seen, or as it must be.
    accuracy
        What to expect.
    """
    return Converter(paper_signal[:, None] * profile.matrix, accuracy)


def signal_of(profile: Profile, xyz: FloatArray) -> FloatArray:
    """Return the linear signal that a profile gives a color."""
    return np.asarray(np.linalg.solve(profile.matrix.T, xyz))
