"""From a picture's linear signal to XYZ: by a matrix fitted on known colors, or by its profile."""

from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_xyz
from laydown.imaging.profiles import Profile
from laydown.sheet.reading import Accuracy, ColorConversion

FEWEST_KNOWN = 8
"""Known colors below which a matrix of nine numbers can't be checked on one left out."""
STEPS = 25
TINY = 1e-4
"""Relative step of the numerical derivative."""


@dataclass(frozen=True, slots=True, eq=False)
class Converter:
    """From signal relative to bare paper to XYZ under D50.

    Parameters
    ----------
    matrix
        Shape (3, 3): relative signal @ matrix is XYZ.
    accuracy
        What error follows.
    """

    matrix: FloatArray
    accuracy: Accuracy

    def xyz(self, relative: FloatArray) -> FloatArray:
        """Return XYZ, shape (…, 3), never below 0."""
        return np.asarray(np.maximum(relative @ self.matrix, 0.0))

    def on_paper(self, paper: FloatArray) -> "Converter":
        """Return the same, scaled so that bare paper has the luminance that was measured for it.

        Where the light on a chart beside the sheet had to be guessed from the light on the sheet,
        the common scale is what is least sure; a paper that was measured settles it.
        """
        return Converter(self.matrix * (paper[1] / self.matrix.sum(axis=0)[1]), self.accuracy)


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
    errors = left_out_errors(signal, xyz)
    accuracy = Accuracy(
        conversion,
        round(float(errors.mean()), 1),
        round(float(np.percentile(errors, 95)), 1),
        f"{len(signal)} {names}, each predicted from the others",
    )
    return Converter(fit_matrix(signal, xyz), accuracy)


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
