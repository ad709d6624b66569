"""Take the color of the light, and its unevenness, out of a picture by what is known in it."""

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np
from scipy.interpolate import PchipInterpolator

from laydown.color.arrays import FloatArray, Plane
from laydown.color.lab import WHITE_D50, adapt
from laydown.color.value import gray_of_value, luminance_from_value, value_from_luminance
from laydown.errors import BadFileError
from laydown.imaging.chart import CHART_WHITE, chart_xyz, find_chart
from laydown.imaging.development import CHART_NOISE, CHART_TINT, by_colors, usual_development
from laydown.imaging.picture import Picture
from laydown.imaging.profiles import usual_profile
from laydown.imaging.rectify import fit_light
from laydown.sheet.page import CellBox
from laydown.sheet.reading import ColorConversion

POINT = 0.02
"""Side of the square that is read round a point, in the picture's shorter side."""
MOST_PIECES = 9
"""A strip is read in at most so many pieces, for the light along it."""
FEWEST_FOR_LIGHT = 4
"""Pieces from which uneven light is taken out."""
DARKEST = 1.0
"""Luminance below which a place is too dark to balance by [perfect white at 100]."""
CLIPPED = 0.02
"""Share of a place that may be as bright as the file can say."""
FULL = 0.995
"""Of the brightest, from which a pixel counts as clipped."""
SCATTER = 0.12
"""Scatter within a piece (standard deviation over mean of its light) beyond which it is doubted."""
LIGHT = 0.6
"""Places of less than so much of the lightest one's luminance tell nothing of the light."""
BRIGHTER = 0.01
"""Share of the picture that may come out brighter than white: glints are."""
ENCODING = 2.2
"""Exponent by which light is written in 8 bits to look for a chart."""
ROUGH = (
    "No place of known color was named: its colors and values are what the file says, a screen "
    "estimate, and rough. Name bare paper or a gray card in it for better ones."
)
NUMBER = re.compile(r"(\d+(?:\.\d+)?)\s*(%?)")
GRAY_CARD = 18.0
"""Reflectance of the gray card that photographers use, as published for it [percent]."""
WHAT_IS_KNOWN = (
    "Write what is known, an @ and where it is: paper@5%,5%,10%,4%, gray@400,300, 90%@…, "
    "value:5@…; or chart. Several may be named."
)


KnownPlace: TypeAlias = tuple[CellBox, FloatArray, str]
"""A place whose color is known: where it lies, in shares of the picture's width and height; what it
is under D50, XYZ of shape (3,); and what to call it."""


def read_place(text: str, *, size: tuple[int, int]) -> CellBox:
    """Read a place as a person writes it, in shares of the picture's width and height.

    It is ``x,y`` for a point, ``x,y,width,height`` for a box; each in pixels of the whole picture,
    whose `size` is width and height, or with a % sign in hundredths of them. Raises `BadFileError`
    where it is written otherwise, or lies outside the picture.

    >>> read_place("10%,50%,20%,40", size=(800, 400))
    CellBox(left=0.1, top=0.5, width=0.2, height=0.1)
    """
    found = [NUMBER.fullmatch(part.strip()) for part in text.split(",")]
    if len(found) not in (2, 4) or None in found:
        raise BadFileError(
            f"{text!r} is no place in a picture.",
            hint="Write x,y or x,y,width,height in pixels or percent: 5%,5%,10%,4%.",
        )
    shares = [
        float(part[1]) / (100 if part[2] else side)
        for part, side in zip(found, (*size, *size), strict=False)
        if part
    ]
    place = CellBox(*shares) if len(shares) == 4 else _around(shares[0], shares[1], size)
    outside = place.right > 1 + 1e-9 or place.bottom > 1 + 1e-9
    if outside or min(place.width, place.height) <= 0:
        raise BadFileError(
            f"{text!r} lies outside the picture, which has {size[0]} × {size[1]} pixels.",
            hint="Count from the upper left corner of the picture as it is shown.",
        )
    return place


def read_gray(text: str, *, size: tuple[int, int]) -> KnownPlace:
    """Read a gray of known lightness as a person writes it, and where it is: ``what@where``.

    What is ``gray`` (a gray card of 18 %), a reflectance (``90%``) or a value (``value:5``); the
    place as for `read_place`. Raises `BadFileError` where it is written otherwise.

    >>> read_gray("value:5@10,10", size=(400, 400))[2]
    'a gray of value 5'
    """
    what, at, where = text.rpartition("@")
    kind, _, name = " ".join(what.replace(":", " ").replace(" %", "%").split()).partition(" ")
    if not at or not kind:
        raise BadFileError(f"{text!r} names no place of known color.", hint=WHAT_IS_KNOWN)
    place = read_place(where, size=size)
    if kind in ("gray", "grey") and name in ("", "card"):
        return place, WHITE_D50 * GRAY_CARD / 100, "a gray card"
    number = NUMBER.fullmatch(name or kind)
    if kind == "value" and number and not number[2] and float(number[1]) <= 10:
        return place, gray_of_value(float(number[1])), f"a gray of value {name}"
    if not name and number and number[2] and 0 < float(number[1]) <= 100:
        return place, WHITE_D50 * float(number[1]) / 100, f"a gray of {kind}"
    raise BadFileError(
        f"{f'{kind} {name}'.strip()!r} is nothing of known color.", hint=WHAT_IS_KNOWN
    )


def _around(x: float, y: float, size: tuple[int, int]) -> CellBox:
    width, height = (POINT * min(size) / side for side in size)
    return CellBox(
        min(max(0.0, x - width / 2), 1 - width) if x <= 1 else x,
        min(max(0.0, y - height / 2), 1 - height) if y <= 1 else y,
        width,
        height,
    )


def unbalanced(picture: Picture) -> Picture:
    """Return a picture as it is, with the warning that this is rough."""
    return replace(picture, notes=(*picture.notes, ROUGH))


def balanced(picture: Picture, known: Sequence[KnownPlace]) -> Picture:
    """Balance a picture by places of known color, at least one; notes say how, and what to doubt.

    All light is scaled so that the places have their known colors (Bradford, as if the light had
    changed): exact for grays, an estimate for colors. The mean of several places counts; places far
    darker than the lightest tell nothing of the light. Places of bare paper tell how uneven the
    light is where there are four of them, or strips that make as many; a strip is read piece by
    piece. With three grays or more of different value, bare paper among them, the camera's curve
    and the light that strays through its lens are taken out too (`tone_curve`); with fewer, they
    stay in.

    Raises `BadFileError` where a place is too dark or too bright (clipped) to tell anything.
    """
    pieces = [piece for one in known for piece in _pieces(one, picture)]
    lightest = max(xyz[1] for _, xyz, _ in pieces)
    evened, told = _evened(picture, [p for p in pieces if p[1][1] >= LIGHT * lightest])
    curved, curve_told = _curved(evened, pieces)
    names = " and ".join(dict.fromkeys(words for _, _, words in known))
    said = [f"Its light is balanced by {names}.", told, *curve_told, *_doubts(pieces, picture)]
    bright = float((curved.xyz[..., 1] > 105).mean())
    if bright >= BRIGHTER:
        said.append(
            f"{bright:.0%} of it comes out brighter than white: is the place what it was named?"
        )
    return replace(curved, notes=(*picture.notes, *said))


def _evened(picture: Picture, pieces: Sequence[KnownPlace]) -> tuple[Picture, str]:
    """Take out the light's unevenness, where it can be told, and its color."""
    places = np.array([_middle(place, picture) for place, _, _ in pieces])
    ratio = np.array([_seen(place, words, picture) / xyz for place, xyz, words in pieces])
    xyz, told = picture.xyz, EVEN
    if len(pieces) >= FEWEST_FOR_LIGHT:
        height, width = picture.opaque.shape
        light = fit_light(places, ratio, width=width, height=height, most=2)
        columns, rows = (np.arange(side, dtype=np.float64) + 0.5 for side in (width, height))
        usual = np.exp(np.log(light(places)).mean(axis=0))
        ratio = ratio / light(places) * usual
        xyz = xyz / (light.over(columns, rows) / usual).astype(np.float32)
        told = (
            "Uneven light is taken out: of those places the darkest had"
            f" {light.evenness:.0%} of the light of the brightest."
        )
    white = np.exp(np.log(ratio).mean(axis=0)) * WHITE_D50
    to_d50 = adapt(np.eye(3), white_from=white, white_to=WHITE_D50).astype(np.float32)
    return replace(picture, xyz=np.maximum(xyz @ to_d50, 0)), told


def _curved(picture: Picture, pieces: Sequence[KnownPlace]) -> tuple[Picture, tuple[str, ...]]:
    """Take out the camera's curve, where enough grays tell it."""
    seen = np.array([np.median(_pixels(place, picture)[:, 1]) for place, _, _ in pieces])
    try:
        curve = tone_curve(seen, np.array([xyz[1] for _, xyz, _ in pieces]))
    except ValueError:
        raise BadFileError(
            f"{picture.source}: of the grays named, a lighter one is seen as the darker one.",
            hint="Check which place is which.",
        ) from None
    if curve is None:
        return picture, ()
    white = WHITE_D50.astype(np.float32)
    share = picture.xyz / white
    roots = np.linspace(0, max(1.0, float(np.sqrt(share.max()))), MOST_STEPS)
    taken_out = np.interp(np.sqrt(share), roots, curve(100 * roots**2) / 100)
    xyz = taken_out.astype(np.float32) * white
    return replace(picture, xyz=xyz), ("The camera's own curve is taken out by the grays named.",)


def balanced_by_chart(picture: Picture) -> Picture:
    """Balance a picture by a 24-patch reference chart in it, which also mends the camera's colors.

    The patches may be no smaller than some ten pixels. The camera's development is undone
    (`laydown.imaging.development`); the light is taken as even. Raises `BadFileError` where no
    chart is found.
    """
    profile = usual_profile()
    linear = np.maximum(picture.xyz @ np.linalg.inv(profile.matrix).astype(np.float32), 0)
    curve = (np.arange(256) / 255) ** ENCODING
    encoded = 255 * np.minimum(linear, 1) ** (1 / ENCODING) + 0.5
    found = find_chart(encoded.astype(np.uint8), curve)
    if found is None:
        raise BadFileError(
            f"{picture.source}: no 24-patch reference chart is found in it.",
            hint="Name bare paper or a gray card instead.",
        )
    signal, xyz = curve[found.boxes].mean(axis=1), chart_xyz()
    white = signal[CHART_WHITE]
    sound = ~found.blown
    converter = by_colors(
        signal[sound] / white,
        xyz[sound],
        profile,
        noise=np.full(int(sound.sum()), CHART_NOISE),
        paper=xyz[CHART_WHITE],
        prior=usual_development(gain=CHART_TINT, tint=CHART_TINT),
        conversion=ColorConversion.KNOWN,
        names="patches of the reference chart",
    )
    told = (
        "Its colors are balanced by the reference chart in it; they are off by"
        f" {converter.accuracy.mean:.1f} (CIEDE2000) on average."
    )
    mended = np.array([converter.xyz(row / white) for row in linear], dtype=np.float32)
    return replace(picture, xyz=mended, notes=(*picture.notes, told))


Curve: TypeAlias = Callable[[FloatArray], FloatArray]
"""From luminance as seen to luminance as it is [perfect white at 100]."""

FEWEST = 3
"""Grays without which there is no curve."""
APART = 0.5
"""Grays nearer than this in value count as one."""
MOST_STEPS = 4096
"""Of the table through which a whole picture goes."""


def tone_curve(seen: FloatArray, known: FloatArray) -> Curve | None:
    """Fit the curve through grays `seen` in a balanced picture and `known`: luminances, shape (n,).

    A monotone cubic through the grays' values (Fritsch & Carlson 1980, SIAM J. Numer. Anal. 17,
    238), straight on beyond the last ones. It takes in both the camera's own curve and what light
    strays through the lens; it says nothing sure about what is darker than the darkest gray. None
    where fewer than `FEWEST` grays apart in value are known; raises ValueError where a lighter gray
    is seen as the darker one.

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


EVEN = (
    "Its light is taken as even. Name bare paper in four places or more, or strips of it along the"
    " edges, to take unevenness out."
)


def _pieces(known: KnownPlace, picture: Picture) -> list[KnownPlace]:
    """Cut a strip into squares along its length."""
    place, (height, width) = known[0], picture.opaque.shape
    across, down = place.width * width, place.height * height
    count = min(MOST_PIECES, max(1, round(max(across, down) / max(1.0, min(across, down)))))
    steps = np.arange(count) / count
    if across >= down:
        cut = [CellBox(place.left + s * place.width, place.top, place.width / count, place.height)
               for s in steps]  # fmt: skip
    else:
        cut = [CellBox(place.left, place.top + s * place.height, place.width, place.height / count)
               for s in steps]  # fmt: skip
    return [(piece, *known[1:]) for piece in cut]


def _middle(place: CellBox, picture: Picture) -> tuple[float, float]:
    height, width = picture.opaque.shape
    return place.center[0] * width, place.center[1] * height


def _pixels(place: CellBox, picture: Picture) -> Plane:
    """Return the light of all pixels of a place, at least one, shape (n, 3)."""
    height, width = picture.opaque.shape
    x, y = _middle(place, picture)
    left, right = round(place.left * width), round(place.right * width)
    top, bottom = round(place.top * height), round(place.bottom * height)
    rows = slice(top, bottom) if bottom > top else slice(int(y), int(y) + 1)
    columns = slice(left, right) if right > left else slice(int(x), int(x) + 1)
    return np.asarray(picture.xyz[rows, columns].reshape(-1, 3))


def _seen(place: CellBox, words: str, picture: Picture) -> FloatArray:
    seen = np.median(_pixels(place, picture), axis=0).astype(np.float64)
    if seen.min() < DARKEST:
        raise BadFileError(
            f"{picture.source}: what was named as {words} is black there.",
            hint="Name the place by the picture as it is shown, from its upper left corner.",
        )
    return np.asarray(seen)


def _doubts(pieces: Sequence[KnownPlace], picture: Picture) -> tuple[str, ...]:
    """Say of each kind of place, once, what makes it doubtful."""
    to_linear = np.linalg.inv(usual_profile().matrix)
    told = []
    for place, _, words in pieces:
        pixels = _pixels(place, picture)
        if ((pixels @ to_linear).max(axis=-1) > FULL).mean() > CLIPPED:
            told.append(
                f"What was named as {words} is as bright as the file can say, so that"
                " everything may come out too light."
            )
        if pixels[:, 1].std() > SCATTER * pixels[:, 1].mean():
            told.append(f"What was named as {words} is not of one color: is it the place?")
    return tuple(dict.fromkeys(told))
