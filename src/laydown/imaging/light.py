"""Take the light out: what the bare paper shows of it, as a smooth surface for each channel."""

from dataclasses import dataclass

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.imaging.rectify import powers

DEGREES = ((90, 4), (40, 3), (12, 2), (4, 1))
"""With at least so many samples of paper, the light is a polynomial of this degree."""
ROUNDS = 8
"""Rounds of weighting down samples that are not lit bare paper."""
USUAL_OFF = 0.01
"""Least scatter of samples of paper that is taken for real (natural log)."""
STIFFNESS = 1e-3
"""Keeps the polynomial flat where no sample asks for a slope (ridge, per sample)."""
DARKEST = 1e-4


@dataclass(frozen=True, slots=True, eq=False)
class LightField:
    """The light on bare paper, over a page and a little beyond."""

    terms: FloatArray
    """Shape (terms, 3), of the natural log of the linear signal of bare paper."""
    degree: int
    """Of the polynomial."""
    width: float
    height: float
    """Of the page [mm]."""
    off: FloatArray
    """Shape (n,), how far each sample of paper lies off it (natural log, all channels' mean)."""
    evenness: float
    """Darkest over brightest paper."""

    def __call__(self, points: FloatArray) -> FloatArray:
        """Return bare paper's linear signal, shape (…, 3), at points (…, 2) of the page [mm]."""
        scaled = np.asarray(points, dtype=np.float64) / (self.width, self.height)
        return np.asarray(np.exp(powers(scaled, degree=self.degree) @ self.terms))

    def over(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Return the same on a grid, shape (len(y), len(x), 3), for columns x and rows y [mm].

        The terms of x and y are summed apart, which for a whole cell takes a tenth of the time.
        """
        orders = range(self.degree + 1)
        square = np.zeros((self.degree + 1, self.degree + 1, 3))
        places = [(k, n - k) for n in orders for k in range(n + 1)]
        for place, term in zip(places, self.terms, strict=True):
            square[place] = term
        across = np.stack([(2 * x / self.width - 1) ** n for n in orders], axis=-1)
        along = np.stack([(2 * y / self.height - 1) ** n for n in orders], axis=-1)
        return np.asarray(np.exp(across @ np.tensordot(along, square, axes=1)))


def fit_light(
    points: FloatArray,
    signal: FloatArray,
    *,
    weight: FloatArray | None = None,
    width: float,
    height: float,
    most: int = 4,
) -> LightField:
    """Fit the light on bare paper.

    Parameters
    ----------
    points
        Shape (n, 2), where samples of paper lie on the page [mm].
    signal
        Shape (n, 3), their linear signal.
    weight
        Shape (n,), how far each is trusted to be paper; None for all alike.
    width, height
        Of the page [mm].
    most
        Highest degree of the polynomial: 2 where light beside the page is wanted too.

    Returns
    -------
    LightField

    Notes
    -----
    Polynomials of the log signal, by weighted least squares with Tukey's biweight over the mean of
    the channels, so that ink beyond a border, a shadow or a reflection do not bend the light. The
    shadow of a hand with a sharp edge is no smooth surface: cells near it are flagged.

    Reference: Beaton & Tukey 1974, Technometrics 16, 147.

    Examples
    --------
    >>> x, y = np.meshgrid(np.linspace(0, 200, 5), np.linspace(0, 300, 5))
    >>> points = np.stack([x.ravel(), y.ravel()], axis=-1)
    >>> signal = np.exp(-points[:, :1] / 400) * np.ones(3)
    >>> light = fit_light(points, signal, width=200, height=300)
    >>> np.round(light(np.array([100.0, 150.0])), 2).tolist()
    [0.78, 0.78, 0.78]
    """
    degree = min(most, next((d for least, d in DEGREES if len(points) >= least), 0))
    terms = powers(points / (width, height), degree=degree)
    logs = np.log(np.maximum(signal, DARKEST))
    weight = np.ones(len(points)) if weight is None else weight
    trust = _first_trust(logs) * weight
    for _ in range(ROUNDS):
        ridge = STIFFNESS * trust.sum() * np.eye(terms.shape[1])
        ridge[0, 0] = 0.0
        weighted = terms.T * trust
        fitted = np.linalg.solve(weighted @ terms + ridge, weighted @ logs)
        off = logs - terms @ fitted
        trust = _biweight(off) * weight
    lit = terms @ fitted
    evenness = float(np.exp(np.ptp(lit[trust > 0].mean(axis=-1)) * -1))
    return LightField(fitted, degree, width, height, off.mean(axis=-1), evenness)


def _first_trust(logs: FloatArray) -> FloatArray:
    """Begin from samples that are not far darker than paper ever is under uneven light."""
    bright = np.percentile(logs.min(axis=-1), 90)
    return np.where(logs.min(axis=-1) > bright - 1.6, 1.0, 0.0)


def _biweight(off: FloatArray) -> FloatArray:
    """Tukey's biweight of the samples' worst channel, on the scale of their median scatter."""
    worst = np.abs(off - np.median(off, axis=0)).max(axis=-1)
    scatter = max(USUAL_OFF, 1.4826 * float(np.median(worst)))
    return np.asarray(np.clip(1.0 - (worst / (4.0 * scatter)) ** 2, 0.0, None) ** 2)
