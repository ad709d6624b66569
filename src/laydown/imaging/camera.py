"""From a picture's linear signal to XYZ: by what is known in it, or by its profile."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.difference import ciede2000
from laydown.color.lab import lab_from_xyz
from laydown.imaging.development import Developed, DevelopmentPrior, fit_development
from laydown.imaging.profiles import Profile
from laydown.sheet.reading import Accuracy, ColorConversion

FEWEST_KNOWN = 3
"""Known colors from which a camera is told by them: with fewer, one that is wrong misleads."""
UNTOLD, LASTING, TELLING = 8.5, 4.3, 0.9
"""Root of the mean square error in half of the real photographs of charts [CIEDE2000]: by the white
patch alone, with any number of known colors, and how fast each brings it from one to the other."""
GRAYS_TELL = 3
"""What grays tell together is as much as this many colors, one gray two: the curve, and no hue."""
USUAL_COUNT = 6.0
"""Of how many known colors that counts as much: what a picture shows of itself misses its glare and
its uneven light."""
MEAN, LIKELY, MOST = 0.86, 1.21, 1.81
"""Mean, and what 80 and 95 of 100 stay within, by the root of the mean square: of those same."""

CHART_TINT = 0.02
"""How far the light's color on a chart is off [standard deviation of the natural log]."""
CHART_NOISE = 0.5
"""Of a chart's patches, from chart to chart [CIELAB units per axis]."""
NEUTRAL = 10.0
"""Chroma below which a known color is a gray."""


def as_it_is(relative: FloatArray) -> FloatArray:
    """Return a signal that no curve has bent."""
    return relative


@dataclass(frozen=True, slots=True, eq=False)
class Converter:
    """From signal relative to bare paper to XYZ under D50."""

    matrix: FloatArray
    """Shape (3, 3): light @ matrix is XYZ."""
    accuracy: Accuracy
    """What error follows."""
    curve: Callable[[FloatArray], FloatArray] = as_it_is
    """From the relative signal to light; as it is unless the camera's curve is known."""

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


def usual_error(count: float) -> float:
    """Return the root of the mean square error in real photographs with so many known colors.

    Examples
    --------
    >>> [round(usual_error(count), 1) for count in (0, 1, 3, 8)]
    [8.5, 6.8, 5.7, 5.0]
    """
    return float(np.sqrt(LASTING**2 + (UNTOLD**2 - LASTING**2) / (1 + TELLING * count)))


def accuracy_of(
    errors: FloatArray, *, conversion: ColorConversion, names: str, grays: int = 0
) -> Accuracy:
    """Say how far off colors are, by known ones that were left out, and by what is usual.

    Parameters
    ----------
    errors
        Shape (n,), CIEDE2000 of each known color predicted from the others; none for paper alone.
    conversion, names
        By what the picture is converted, and what the known colors are.
    grays
        How many more are known that are gray: they tell the curve alone, and how well they are told
        by each other tells nothing of colors.

    Examples
    --------
    >>> told = accuracy_of(np.full(24, 2.0), conversion=ColorConversion.CHART, names="patches")
    >>> told.mean, told.likely, told.most
    (2.3, 3.3, 4.9)
    """
    count = len(errors) + min(2 * grays, GRAYS_TELL)
    total = USUAL_COUNT * usual_error(count) ** 2 + float((errors**2).sum())
    off = (total / (USUAL_COUNT + len(errors))) ** 0.5
    known = f"{len(errors) + grays} {names}, each predicted from the others, and "
    return Accuracy(
        conversion,
        round(MEAN * off, 1),
        round(LIKELY * off, 1),
        round(MOST * off, 1),
        f"{known if count else ''}half of 39 real photographs of charts",
    )


def by_colors(
    signal: FloatArray,
    xyz: FloatArray,
    profile: Profile,
    *,
    noise: FloatArray,
    paper: FloatArray,
    prior: DevelopmentPrior,
    conversion: ColorConversion,
    names: str,
) -> Converter:
    """Convert by known colors, as pictures are developed.

    Parameters
    ----------
    signal
        Shape (n, 3), of the known colors, relative to bare paper.
    xyz
        Shape (n, 3), what they are.
    profile
        The picture's.
    noise
        Shape (n,), how well they are known [CIELAB units per axis].
    paper
        Shape (3,), XYZ of the bare paper.
    prior
        What is expected of the development.
    conversion, names
        What the known colors are.
    """
    whole = fit_development(
        signal,
        xyz,
        noise=noise,
        white=signal_of(profile, paper),
        primaries=profile.matrix,
        prior=prior,
    )
    errors = _left_out(signal, xyz, whole, noise=noise, prior=prior)
    gray = np.hypot(*lab_from_xyz(xyz).T[1:]) < NEUTRAL
    accuracy = accuracy_of(errors[~gray], conversion=conversion, names=names, grays=int(gray.sum()))
    return Converter(whole.matrix, accuracy, whole.curve)


def _left_out(
    signal: FloatArray,
    xyz: FloatArray,
    whole: Developed,
    *,
    noise: FloatArray,
    prior: DevelopmentPrior,
) -> FloatArray:
    """Return the CIEDE2000 of each known color as the others tell it, shape (n,)."""
    places = np.arange(len(signal))
    made = [
        fit_development(
            signal[places != i],
            xyz[places != i],
            noise=noise[places != i],
            white=whole.white,
            primaries=whole.primaries,
            prior=prior,
            start=whole.parameters,
        ).xyz(signal[i : i + 1])[0]
        for i in places
    ]
    return np.asarray(ciede2000(lab_from_xyz(np.array(made)), lab_from_xyz(xyz)))


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
