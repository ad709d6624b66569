"""How a camera has developed a picture: its curve and its mixing of channels, by what is known."""

from dataclasses import dataclass
from functools import cache

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_xyz
from laydown.reference.tables import load_table

SHAPES = 4
"""Shapes of which a curve is made up."""
ALIKE = slice(0, SHAPES)
APART = slice(SHAPES, 4 * SHAPES)
MIXING = slice(4 * SHAPES, 4 * SHAPES + 6)
TOGETHER = 4 * SHAPES + 6
"""How far the curve acts on the luminance, the same factor for all channels, and not on each: a
curve on each channel makes dark colors more colorful, one on the luminance leaves their ratios."""
GAINS = slice(TOGETHER + 1, TOGETHER + 4)
COUNT = GAINS.stop
PAIRS = ((0, 1), (0, 2), (1, 0), (1, 2), (2, 0), (2, 1))
"""Which channel has how much of which other mixed in: in it, the other."""
BRIGHTEST = 1.1
"""Root beyond which a curve goes straight on."""
MISFIT = 2.0
"""What no curve and mixing mend, for a camera's red is not the eye's [CIEDE2000 per axis; of 1 to 4
the one by which half of the real photographs told left-out colors best]."""
LEAST_TINT = 1e-4
LENS = 0.02
"""How far a raw file's curve is off a straight line [standard deviation of a shape; chosen]."""
MATRIX = 0.1
"""How far a raw file's matrices miss the light that it was taken in [same, of a share; chosen]."""
TAIL = 4.0
"""Degrees of freedom of Student's t: one known color that is wrong does not bend the rest."""
STEPS, ENOUGH, TINY = 12, 1e-3, 1e-4
DARKEST_SIGNAL = 1e-6
DARKEST = 1e-3
"""Where XYZ falls below this, it is bent to stay above 0, so that CIELAB keeps a slope."""


@dataclass(frozen=True, slots=True, eq=False)
class DevelopmentPrior:
    """What is expected of a development before anything is known: mean and covariance."""

    mean: FloatArray
    covariance: FloatArray


@cache
def usual_development(
    *, gain: float = 0.0, tint: float = 0.0, raw: bool = False
) -> DevelopmentPrior:
    """Return what half of the real photographs of charts were developed like.

    Parameters
    ----------
    gain
        How far light on what is known may be off the light on paper, all channels alike [standard
        deviation of the natural log].
    tint
        The same of each channel by itself: of the light, or of a paper that nobody measured.
    raw
        Whether nothing was developed: what bends a sensor's light is its lens alone.
    """
    mean, deviation = load_table("development").numbers("mean", "deviation").T
    alike = load_table("development_alike").numbers(*(f"p{p}" for p in range(1, GAINS.start + 1)))
    if raw:
        mean, deviation, alike = np.zeros_like(mean), deviation.copy(), np.eye(GAINS.start)
        deviation[: MIXING.start] = LENS
        deviation[MIXING] = MATRIX
    covariance = np.zeros((COUNT, COUNT))
    covariance[: GAINS.start, : GAINS.start] = alike * np.outer(deviation, deviation)
    covariance[GAINS, GAINS] = gain**2 + np.eye(3) * max(tint, LEAST_TINT) ** 2
    return DevelopmentPrior(np.append(mean, np.zeros(3)), covariance)


@dataclass(frozen=True, slots=True, eq=False)
class Developed:
    """From a signal relative to bare paper to light, and on to XYZ."""

    parameters: FloatArray
    """Shape (26,): of the curve, alike in all channels and apart in each; the mixing; the share of
    the curve that acts on luminance; and the natural log of the gains by which what is known is
    brighter than paper made it expected."""
    white: FloatArray
    """Shape (3,), the linear signal of bare paper, were nothing developed."""
    primaries: FloatArray
    """Shape (3, 3), of the picture's profile."""

    def xyz(self, relative: FloatArray) -> FloatArray:
        """Return XYZ of signals relative to bare paper, shape (n, 3)."""
        return developed(self.parameters, relative, white=self.white, primaries=self.primaries)

    def curve(self, relative: FloatArray) -> FloatArray:
        """Return light from signals relative to bare paper, shape (…, 3), channels unmixed."""
        luminances = self.white * self.primaries[:, 1]
        flat = bent(self.parameters, relative.reshape(-1, 3), luminances=luminances)
        return flat.reshape(relative.shape)

    @property
    def matrix(self) -> FloatArray:
        """From that light to XYZ, shape (3, 3)."""
        mixing = np.eye(3)
        for share, (into, other) in zip(self.parameters[MIXING], PAIRS, strict=True):
            mixing[other, into] += share
            mixing[into, into] -= share
        return np.asarray(mixing * self.white @ self.primaries)


def shapes(root: FloatArray) -> FloatArray:
    """Return the shapes of a curve at cube roots of a signal, shape (…, 4).

    All leave white where it is, and all but the third, which is stray light, black as well.
    """
    t = np.clip(root, 0.0, BRIGHTEST)
    hump = t * (1 - t)
    return np.stack(
        [hump, hump * (1 - 2 * t), (1 - t) ** 4, hump * (1 - 6 * t + 6 * t**2)], axis=-1
    )


def developed(
    parameters: FloatArray, relative: FloatArray, *, white: FloatArray, primaries: FloatArray
) -> FloatArray:
    """Return XYZ of signals relative to bare paper.

    Parameters
    ----------
    parameters
        Shape (…, 26).
    relative
        Shape (n, 3).
    white, primaries
        As in `Developed`.

    Returns
    -------
    FloatArray
        Shape (…, n, 3).

    Notes
    -----
    What a camera does is undone: the curve of each channel on the cube root of the signal, then the
    channels' mixing, which leaves grays gray. Bare paper is `white` whatever the parameters, but
    for the gains.

    Examples
    --------
    >>> paper = developed(np.zeros(26), np.ones((1, 3)), white=np.ones(3), primaries=np.eye(3))
    >>> paper.tolist()
    [[1.0, 1.0, 1.0]]
    """
    light = bent(parameters, relative, luminances=white * primaries[:, 1])
    mixed = light.copy()
    for place, (into, other) in enumerate(PAIRS):
        share = parameters[..., MIXING][..., place, None]
        mixed[..., into] += share * (light[..., other] - light[..., into])
    xyz = (mixed * white) @ primaries
    return np.asarray(np.where(xyz > DARKEST, xyz, DARKEST * np.exp(np.minimum(xyz, 0.0))))


def bent(parameters: FloatArray, relative: FloatArray, *, luminances: FloatArray) -> FloatArray:
    """Return light from signals, shape (…, n, 3): the curves undone, the channels as they are.

    Parameters
    ----------
    parameters, relative
        As in `developed`.
    luminances
        Shape (3,), how much of the luminance of bare paper each channel carries.
    """
    signal = np.maximum(relative * np.exp(parameters[..., None, GAINS]), DARKEST_SIGNAL)
    luminance = (signal @ (luminances / luminances.sum()))[..., None]
    ratio = (signal / luminance) ** parameters[..., TOGETHER, None, None]
    root = np.cbrt(signal / ratio)
    own = parameters[..., APART].reshape(*parameters.shape[:-1], 3, SHAPES)
    curve = parameters[..., None, ALIKE] + own
    return np.asarray(ratio * (root + np.einsum("...nck,...ck->...nc", shapes(root), curve)) ** 3)


def ellipses(lab: FloatArray) -> FloatArray:
    """Return matrices, shape (n, 3, 3), that make small steps in CIELAB lengths in CIEDE2000.

    Without its turn of blues and its stretch of grays, which a fit doesn't need.
    """
    lightness, chroma = lab[:, 0] - 50, np.hypot(lab[:, 1], lab[:, 2])
    hue = np.arctan2(lab[:, 2], lab[:, 1])
    along = 1 + 0.015 * lightness**2 / np.sqrt(20 + lightness**2)
    outward, around = 1 + 0.045 * chroma, 1 + 0.015 * chroma
    scaled = np.zeros((len(lab), 3, 3))
    scaled[:, 0, 0] = 1 / along
    scaled[:, 1, 1], scaled[:, 1, 2] = np.cos(hue) / outward, np.sin(hue) / outward
    scaled[:, 2, 1], scaled[:, 2, 2] = -np.sin(hue) / around, np.cos(hue) / around
    return scaled


def _slopes(
    parameters: FloatArray, signal: FloatArray, white: FloatArray, primaries: FloatArray
) -> FloatArray:
    """Return the slopes of CIELAB with the parameters, shape (n, 3, 26)."""
    moved = parameters + TINY * np.concatenate([np.zeros((1, len(parameters))), np.eye(COUNT)])
    lab = lab_from_xyz(developed(moved, signal, white=white, primaries=primaries))
    return np.asarray(np.moveaxis((lab[1:] - lab[0]) / TINY, 0, -1))


def fit_development(
    signal: FloatArray,
    xyz: FloatArray,
    *,
    noise: FloatArray,
    white: FloatArray,
    primaries: FloatArray,
    prior: DevelopmentPrior,
    start: FloatArray | None = None,
) -> Developed:
    """Find the most probable development.

    Parameters
    ----------
    signal
        Shape (n, 3), of what is known, relative to bare paper; n may be 0.
    xyz
        Shape (n, 3), what it is.
    noise
        Shape (n,), how well that is known [CIELAB units per axis].
    white, primaries
        As in `Developed`.
    prior
        What is expected.
    start
        Where to begin; None for the prior's mean.

    Notes
    -----
    Levenberg–Marquardt steps on residuals along the axes of CIEDE2000, with a normal prior, weights
    of Student's t.
    """
    wanted = lab_from_xyz(xyz)
    width = np.hypot(MISFIT, noise)
    scaled = ellipses(wanted) / width[:, None, None]
    precision = np.asarray(np.linalg.inv(prior.covariance), dtype=np.float64)

    def residuals(at: FloatArray) -> FloatArray:
        made = lab_from_xyz(developed(at, signal, white=white, primaries=primaries))
        return np.asarray(np.einsum("nij,nj->ni", scaled, made - wanted))

    def jacobian(at: FloatArray) -> FloatArray:
        slopes = _slopes(at, signal, white, primaries)
        return np.asarray(np.einsum("nij,njp->nip", scaled, slopes))

    at = prior.mean if start is None else start
    off, damping = residuals(at), 1e-2
    for _ in range(STEPS):
        hessian, gradient = _quadratic(jacobian(at), off)
        hessian, gradient = hessian + precision, gradient + precision @ (at - prior.mean)
        step = np.linalg.solve(hessian + damping * np.diag(np.diag(hessian)), gradient)
        tried = residuals(at - step)
        before = _cost(off, at - prior.mean, precision)
        gained = before - _cost(tried, at - step - prior.mean, precision)
        if gained > 0:
            at, off, damping = at - step, tried, damping / 5
            if gained < ENOUGH:
                break
        else:
            damping *= 10
    return Developed(at, white, primaries)


def _quadratic(jacobian: FloatArray, off: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the likelihood's Gauss–Newton Hessian and its gradient."""
    trust = (TAIL + 3) / (TAIL + (off**2).sum(axis=1))
    weighted = jacobian * trust[:, None, None]
    return np.einsum("nip,niq->pq", weighted, jacobian), np.einsum("nip,ni->p", weighted, off)


def _cost(off: FloatArray, away: FloatArray, precision: FloatArray) -> float:
    """Return twice the negative log of the posterior density, but for a constant."""
    tails = (TAIL + 3) * np.log1p((off**2).sum(axis=1) / TAIL)
    return float(tails.sum() + away @ precision @ away)
