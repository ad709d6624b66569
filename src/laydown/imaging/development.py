"""How a camera has developed a picture: its curve and its mixing of channels, by what is known."""

from dataclasses import dataclass, replace
from functools import cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000, lab_from_xyz
from laydown.imaging.profiles import Profile
from laydown.reference.tables import load_table, numbers_of
from laydown.sheet.reading import Accuracy, ColorConversion

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
FEWEST_KNOWN = 3
"""Known colors from which a camera is told by them: with fewer, one that is wrong misleads."""
UNTOLD, LASTING, TELLING = 8.5, 4.3, 0.9
"""Root of the mean square error in half of the real photographs of charts [CIEDE2000]: by the white
patch alone, with any number of known colors, and how fast each brings it from one to the other."""
UNTOLD_RAW, LASTING_RAW = 3.0, 1.8
"""The same of digital negatives. None of a chart was to be had: in simulated pictures by half of
forty measured cameras, with stray and uneven light, it is 2.3 and 1.3; a quarter more is stated,
for what no simulation knows."""
GRAYS_TELL = 3
"""What grays tell together is as much as this many colors, one gray two: the curve, and no hue."""
USUAL_COUNT = 4.0
"""Of how many known colors what is usual counts as much: of those photographs, that by which the
error of other colors goes with that of known ones left out (its log, by .44 from 3, .62 from 8, .78
from 12)."""
UNUSUAL = 0.35
"""How far what known colors show of a picture is off what is usual [natural log, root of the mean
square: of those photographs .34 to .46]: one that shows itself much better or worse than others is
believed the more, up to three times, as by Student's t with two degrees of freedom (chosen)."""
FARTHER = 1.1
"""Other colors are farther from known ones than those are from each other: off by so much more. A
chart's patches are not nearer to each other than other colors are to them."""
REPEATED = 0.3
"""Off by so much at least, however well known colors tell each other [CIEDE2000]."""
MEAN, LIKELY, MOST = 0.86, 1.21, 1.81
"""Mean, and what 80 and 95 of 100 stay within, by the root of the mean square: of those same."""

HALF_OF_PHOTOGRAPHS = "half of 39 real photographs of charts"

CHART_TINT = 0.02
"""How far the light's color on a chart is off [standard deviation of the natural log]."""
CHART_NOISE = 0.5
"""Of a chart's patches, from chart to chart [CIELAB units per axis]."""
NEUTRAL = 10.0
"""Chroma below which a known color is a gray."""

Prior: TypeAlias = tuple[FloatArray, FloatArray]
"""What is expected of a development before anything is known: mean and covariance."""


@cache
def usual_development(*, gain: float = 0.0, tint: float = 0.0, raw: bool = False) -> Prior:
    """Return what half of the real photographs of charts were developed like.

    `gain` is how far light on what is known may be off the light on paper, all channels alike, and
    `tint` the same of each channel by itself, of the light or of a paper that nobody measured
    [standard deviations of the natural log]. Where a picture is `raw`, nothing was developed: what
    bends a sensor's light is its lens alone.
    """
    mean, deviation = numbers_of(load_table("development"), "mean", "deviation").T
    alike = numbers_of(
        load_table("development_alike"), *(f"p{p}" for p in range(1, GAINS.start + 1))
    )
    if raw:
        mean, deviation, alike = np.zeros_like(mean), deviation.copy(), np.eye(GAINS.start)
        deviation[: MIXING.start] = LENS
        deviation[MIXING] = MATRIX
    covariance = np.zeros((COUNT, COUNT))
    covariance[: GAINS.start, : GAINS.start] = alike * np.outer(deviation, deviation)
    covariance[GAINS, GAINS] = gain**2 + np.eye(3) * max(tint, LEAST_TINT) ** 2
    return np.append(mean, np.zeros(3)), covariance


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
    """Return XYZ, shape (…, n, 3), of signals relative to bare paper, shape (n, 3).

    The parameters, shape (…, 26), are of the curve, alike in all channels and apart in each; the
    mixing; the share of the curve that acts on luminance; and the natural log of the gains by which
    what is known is brighter than paper made it expected. `white` is the linear signal of bare
    paper, were nothing developed, shape (3,); `primaries`, shape (3, 3), are of the picture's
    profile.

    What a camera does is undone: the curve of each channel on the cube root of the signal, then the
    channels' mixing, which leaves grays gray. Bare paper is `white` whatever the parameters, but
    for the gains.

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

    As in `developed`; `luminances`, shape (3,), are what each channel carries of bare paper's.
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


def fit_development(
    signal: FloatArray,
    xyz: FloatArray,
    *,
    noise: FloatArray,
    white: FloatArray,
    primaries: FloatArray,
    prior: Prior,
    start: FloatArray | None = None,
) -> FloatArray:
    """Return the parameters of the most probable development, shape (26,).

    What is known is shown as `signal` relative to bare paper, shape (n, 3), and is `xyz`, shape (n,
    3), to within `noise`, shape (n,) [CIELAB units per axis]; n may be 0. White and primaries are
    as in `developed`; it begins at `start`, or else at the prior's mean. Levenberg–Marquardt steps
    on residuals along the axes of CIEDE2000, with a normal prior, weights of Student's t.
    """
    wanted = lab_from_xyz(xyz)
    width = np.hypot(MISFIT, noise)
    scaled = ellipses(wanted) / width[:, None, None]
    mean, precision = prior[0], np.asarray(np.linalg.inv(prior[1]), dtype=np.float64)

    def residuals(at: FloatArray) -> FloatArray:
        made = lab_from_xyz(developed(at, signal, white=white, primaries=primaries))
        return np.asarray(np.einsum("nij,nj->ni", scaled, made - wanted))

    def jacobian(at: FloatArray) -> FloatArray:
        moved = at + TINY * np.concatenate([np.zeros((1, len(at))), np.eye(COUNT)])
        lab = lab_from_xyz(developed(moved, signal, white=white, primaries=primaries))
        slopes = np.moveaxis((lab[1:] - lab[0]) / TINY, 0, -1)
        return np.asarray(np.einsum("nij,njp->nip", scaled, slopes))

    at = mean if start is None else start
    off, damping = residuals(at), 1e-2
    for _ in range(STEPS):
        slopes = jacobian(at)
        weighted = slopes * ((TAIL + 3) / (TAIL + (off**2).sum(axis=1)))[:, None, None]
        hessian = np.einsum("nip,niq->pq", weighted, slopes) + precision
        gradient = np.einsum("nip,ni->p", weighted, off) + precision @ (at - mean)
        step = np.linalg.solve(hessian + damping * np.diag(np.diag(hessian)), gradient)
        tried = residuals(at - step)
        before = _cost(off, at - mean, precision)
        gained = before - _cost(tried, at - step - mean, precision)
        if gained > 0:
            at, off, damping = at - step, tried, damping / 5
            if gained < ENOUGH:
                break
        else:
            damping *= 10
    return at


def _cost(off: FloatArray, away: FloatArray, precision: FloatArray) -> float:
    """Return twice the negative log of the posterior density, but for a constant."""
    tails = (TAIL + 3) * np.log1p((off**2).sum(axis=1) / TAIL)
    return float(tails.sum() + away @ precision @ away)


@dataclass(frozen=True, slots=True, eq=False)
class Converter:
    """From signal relative to bare paper to XYZ under D50: a development, as `developed` has it."""

    parameters: FloatArray
    """Shape (26,); zeros where nothing was developed."""
    white: FloatArray
    """Shape (3,)."""
    primaries: FloatArray
    """Shape (3, 3)."""
    accuracy: Accuracy
    """What error follows."""

    def xyz(self, relative: FloatArray) -> FloatArray:
        """Return XYZ, shape (…, 3), always above 0."""
        flat, own = relative.reshape(-1, 3), self.parameters
        xyz = developed(own, flat, white=self.white, primaries=self.primaries)
        return xyz.reshape(relative.shape)

    @property
    def paper(self) -> FloatArray:
        """XYZ of bare paper by the picture alone, shape (3,)."""
        return self.xyz(np.ones(3))

    def on_paper(self, paper: FloatArray) -> "Converter":
        """Return the same, scaled so that bare paper has the luminance that is known for it.

        Where the light on a chart beside the sheet had to be guessed from the light on the sheet,
        the common scale is what is least sure; the paper settles it, be it measured or usual.
        """
        return replace(self, white=self.white * (paper[1] / self.paper[1]))


def usual_error(count: float, *, raw: bool = False) -> float:
    """Return the root of the mean square error in photographs with so many known colors.

    >>> [round(usual_error(count), 1) for count in (0, 1, 3, 8)]
    [8.5, 6.8, 5.7, 5.0]
    """
    untold, lasting = (UNTOLD_RAW, LASTING_RAW) if raw else (UNTOLD, LASTING)
    return float(np.sqrt(lasting**2 + (untold**2 - lasting**2) / (1 + TELLING * count)))


def accuracy_of(
    errors: FloatArray,
    *,
    conversion: ColorConversion,
    names: str,
    grays: int = 0,
    raw: bool = False,
) -> Accuracy:
    """Say how far off colors are, by known ones that were left out, and by what is usual.

    `errors`, shape (n,), are CIEDE2000 of each known color predicted from the others; none for
    paper alone. `names` are what the known colors are. Of these `grays` more are gray: they tell
    the curve alone, and how well they are told by each other tells nothing of colors. `raw` is what
    no camera developed.

    The log of the error is about normal over pictures, around what is usual, with longer tails;
    what a picture shows of itself counts the more, the more known colors it is from.

    >>> told = accuracy_of(np.full(24, 2.0), conversion=ColorConversion.CHART, names="patches")
    >>> told.mean, told.likely, told.most
    (1.8, 2.6, 3.9)
    """
    count = len(errors) + min(2 * grays, GRAYS_TELL)
    off = usual_error(count, raw=raw)
    if len(errors):
        shown = float(np.sqrt(REPEATED**2 + (errors**2).mean()))
        shown *= 1.0 if conversion is ColorConversion.CHART else FARTHER
        share = len(errors) / (len(errors) + USUAL_COUNT)
        far = share * (np.log(shown / off) / UNUSUAL) ** 2
        share = len(errors) / (len(errors) + USUAL_COUNT * float(np.clip(3 / (2 + far), 1 / 3, 1)))
        off = off ** (1 - share) * shown**share
    known = f"{len(errors) + grays} {names}, each predicted from the others, and "
    of = "simulated pictures of 40 measured cameras" if raw else HALF_OF_PHOTOGRAPHS
    mean, likely, most = (round(part * off, 1) for part in (MEAN, LIKELY, MOST))
    return Accuracy(conversion, mean, likely, most, f"{known if count else ''}{of}")


def by_colors(
    signal: FloatArray,
    xyz: FloatArray,
    profile: Profile,
    *,
    noise: FloatArray,
    paper: FloatArray,
    prior: Prior,
    conversion: ColorConversion,
    names: str,
) -> Converter:
    """Convert by known colors, as pictures are developed.

    Signal, XYZ, noise and prior are as in `fit_development`; `paper`, shape (3,), is XYZ of the
    bare paper; `conversion` and `names` say what the known colors are.
    """
    white, places = signal_of(profile, paper), np.arange(len(signal))

    def fitted(known: NDArray[np.bool_], start: FloatArray | None) -> FloatArray:
        return fit_development(
            signal[known],
            xyz[known],
            noise=noise[known],
            white=white,
            primaries=profile.matrix,
            prior=prior,
            start=start,
        )

    whole = fitted(places >= 0, None)
    left_out = [
        developed(fitted(places != i, whole), signal[[i]], white=white, primaries=profile.matrix)[0]
        for i in places
    ]
    errors = ciede2000(lab_from_xyz(np.array(left_out)), lab_from_xyz(xyz))
    gray = np.hypot(*lab_from_xyz(xyz).T[1:]) < NEUTRAL
    accuracy = accuracy_of(
        errors[~gray], conversion=conversion, names=names, grays=int(gray.sum()), raw=profile.raw
    )
    return Converter(whole, white, profile.matrix, accuracy)


def signal_of(profile: Profile, xyz: FloatArray) -> FloatArray:
    """Return the linear signal that a profile gives a color."""
    return np.asarray(np.linalg.solve(profile.matrix.T, xyz))
