"""Turn what a picture shows of a page into colors of cells, and say how that was done."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray, Pixels
from laydown.color.lab import ciede2000, lab_from_xyz
from laydown.errors import BadFileError
from laydown.imaging.balance import KnownPlace
from laydown.imaging.chart import CHART_WHITE, FoundChart, chart_xyz, find_chart, least_squares
from laydown.imaging.development import (
    CHART_NOISE,
    CHART_TINT,
    COUNT,
    FEWEST_KNOWN,
    Converter,
    accuracy_of,
    by_colors,
    signal_of,
    usual_development,
)
from laydown.imaging.markers import box_corners
from laydown.imaging.patches import Patch
from laydown.imaging.profiles import Profile
from laydown.imaging.reading import PageCell, PageReading
from laydown.imaging.rectify import PageMap
from laydown.opencv import cv2
from laydown.sheet.page import CellBox
from laydown.sheet.reading import Accuracy, CellReading, ColorConversion, Flag

BARE_DIFFERENCE = 1.2
"""A cell nearer than this to the paper beside it (CIEDE2000) counts as not filled."""
INKED_DIFFERENCE = 4.0
"""A bare cell farther than this from the paper beside it was colored by mistake."""
BRIGHTENED = 1.02
"""No color without fluorescence sends back more light than its paper, but for noise."""
TREND_ROUNDS = 3
BY_PROFILE = Accuracy(
    ColorConversion.PROFILE,
    1.5,
    2.4,
    4.0,
    "0.5 on average on generated photographs; the rest is left to the profile's own error",
)
BY_PAPER = accuracy_of(np.zeros(0), conversion=ColorConversion.PAPER, names="")
BY_PAPER_RAW = accuracy_of(np.zeros(0), conversion=ColorConversion.PAPER, names="", raw=True)
TINTED = 12.0
"""Chroma from which bare paper, as a picture shows it, looks tinted: usual ones have 10 at most."""
TINT_TELLS, MOST_TOLD = 0.8, 9.0
"""How much farther off colors are for each unit of that chroma where nobody measured the paper
[CIEDE2000], and from where on more of it is rather the light's. A camera may take as much tint
again for the light's, and nothing tells how dark such a paper is; or it is white, and no harm is
done. Chosen between the two on simulated kraft and real photographs (docs/decisions/sheets.md)."""
CHART_GAIN = 0.15
"""How far light on a chart beside the sheet is off what the sheet's light foretells [natural log]:
off by more than 10 % in a quarter of pictures."""
PAPER_GAIN, PAPER_TINT = 0.05, 0.04
"""How far paper that nobody measured is off a usual white [natural log]."""
GRAY_NOISE = 2.0
"""Of a gray card beside the sheet: it is gray enough, and its light is foretold [same as below]."""


KnownColor: TypeAlias = tuple[FloatArray, float, bool]
"""A color that is known before a picture is read, XYZ of shape (3,); how well it is known [CIELAB
units per axis]; and whether on this very paper."""
KnownPatch: TypeAlias = tuple[FloatArray, KnownColor]
"""What a picture shows of a known color, relative to bare paper, shape (3,); and that color."""


def gray_beside(
    photograph: Pixels, profile: Profile, reading: PageReading, known: KnownPlace
) -> KnownPatch:
    """Read a gray that lies beside a page, in the light that the page's own light foretells."""
    height, width = photograph.shape[:2]
    (place, xyz, _), size = known, np.array([width, height])
    low = np.floor((place.left, place.top) * size).astype(int)
    high = np.maximum(low + 1, np.ceil((place.right, place.bottom) * size))
    (left, top), (right, bottom) = low, high.astype(int)
    raw = np.median(profile.linear(photograph[top:bottom, left:right]).reshape(-1, 3), axis=0)
    back = np.linalg.inv(reading.flat.page_map.homography)
    middle = cv2.perspectiveTransform(((low + high) / 2)[None, None], back)[0]
    return raw / reading.around(middle)[0], (xyz, GRAY_NOISE, True)


def profile_converter(
    profile: Profile, reading: PageReading, *, paper: FloatArray | None
) -> Converter:
    """Convert by the picture's own profile.

    `paper` is XYZ of the bare paper where it was measured, shape (3,); else the profile's word for
    it is taken, which holds for a scanner and not for a camera, whose exposure is anyone's guess.
    """
    signal = reading.paper if paper is None else signal_of(profile, paper)
    return Converter(np.zeros(COUNT), signal, profile.matrix, BY_PROFILE)


def paper_converter(
    profile: Profile, seen: FloatArray, *, paper: FloatArray, measured: bool
) -> Converter:
    """Convert by paper white alone, as pictures are usually developed.

    The linear signal of bare paper, `seen`, and its XYZ, measured or a usual white, are of shape
    (3,). Paper that looks otherwise in the picture makes it rough; the more tinted one looks that
    nobody measured, the farther off colors may be.
    """
    usual, _ = usual_development(raw=profile.raw)
    looks = seen @ profile.matrix
    look = lab_from_xyz(looks * (paper[1] / looks[1]))
    plain = lab_from_xyz(paper) if measured else np.zeros(3)
    chroma = float(np.hypot(*(look - plain)[1:]))
    told, rough = BY_PAPER_RAW if profile.raw else BY_PAPER, chroma > TINTED
    farther = TINT_TELLS * min(chroma, MOST_TOLD) * (rough or not measured)
    factor = float(np.hypot(1.0, farther / told.mean))
    mean, likely, most = (round(factor * off, 1) for off in (told.mean, told.likely, told.most))
    accuracy = replace(told, mean=mean, likely=likely, most=most, rough=rough)
    return Converter(usual, signal_of(profile, paper), profile.matrix, accuracy)


def known_converter(
    reading: PageReading,
    known: Mapping[int, KnownColor],
    profile: Profile,
    *,
    paper: FloatArray,
    measured: bool,
    beside: Sequence[KnownPatch] = (),
) -> Converter:
    """Convert by cells whose color was measured before, by number, and by grays beside the page.

    `paper` is XYZ of the bare paper, shape (3,), be it `measured` or usual. Raises `BadFileError`
    where fewer than three cells could be read, and no gray is named.
    """
    sound = [n for n in sorted(known) if n in reading.patches and not reading.patches[n].flags]
    if len(sound) < FEWEST_KNOWN and not beside:
        raise BadFileError(
            f"{len(sound)} cells of known color can be used; at least {FEWEST_KNOWN} are needed.",
            hint="Lay a gray card or a 24-patch reference chart beside the sheet, or measure more"
            " of its colors.",
        )
    patches = [*((reading.patches[number].mean, known[number]) for number in sound), *beside]
    gain, tint = (0.0, 0.0) if measured else (PAPER_GAIN, PAPER_TINT)
    return by_colors(
        np.array([signal for signal, _ in patches]),
        np.array([xyz for _, (xyz, *_) in patches]),
        profile,
        noise=np.array([noise for _, (_, noise, _) in patches]),
        paper=paper,
        prior=usual_development(gain=gain, tint=tint, raw=profile.raw),
        conversion=ColorConversion.KNOWN,
        names="cells of known color" if sound else "grays beside the sheet",
    )


def chart_beside(
    pixels: Pixels, profile: Profile, page_map: PageMap, cells: Sequence[CellBox]
) -> FoundChart | None:
    """Find a 24-patch reference chart beside a page, whose cells are not taken for patches."""
    blank = [page_map(box_corners(box)) for box in cells]
    return find_chart(pixels, profile.curves.mean(axis=1), blank=blank)


def chart_converter(
    chart: FoundChart, profile: Profile, reading: PageReading, *, paper: FloatArray, measured: bool
) -> Converter:
    """Convert by a 24-patch reference chart in the picture; its scale is left to the paper.

    The light that was read of the page is carried on to where the chart lies. `paper` is XYZ of the
    bare paper, shape (3,), be it `measured` or usual.
    """
    signal = _signal(chart, profile, reading)
    sound = ~chart.blown
    tint = CHART_TINT if measured else float(np.hypot(CHART_TINT, PAPER_TINT))
    return by_colors(
        signal[sound],
        chart_xyz()[sound],
        profile,
        noise=np.full(int(sound.sum()), CHART_NOISE),
        paper=paper,
        prior=usual_development(gain=CHART_GAIN, tint=tint, raw=profile.raw),
        conversion=ColorConversion.CHART,
        names="patches of the reference chart",
    )


def paper_by_chart(chart: FoundChart, profile: Profile, reading: PageReading) -> FloatArray:
    """Return the XYZ of bare paper as the chart's white patch beside it makes it look, shape (3,).

    Nothing is asked of what is known of the paper, so that it tells when that is another.
    """
    white = signal_of(profile, chart_xyz()[CHART_WHITE])
    seen = _signal(chart, profile, reading)[CHART_WHITE]
    return np.asarray((white / seen) @ profile.matrix)


def _signal(chart: FoundChart, profile: Profile, reading: PageReading) -> FloatArray:
    """Return the chart's signal relative to bare paper, shape (24, 3)."""
    raw = profile.linear(chart.boxes).mean(axis=1)
    back = np.linalg.inv(reading.flat.page_map.homography)
    places = cv2.perspectiveTransform(chart.centers[None], back)[0]
    return _evened(raw / reading.around(places), places)


def _evened(signal: FloatArray, places: FloatArray) -> FloatArray:
    """Take out the slope of light over the chart that the light on the sheet did not foretell."""
    xyz = chart_xyz()
    own = (places - places.mean(axis=0)) / np.ptp(places, axis=0).max()
    evened = signal
    for _ in range(TREND_ROUNDS):
        made = evened @ least_squares(evened, xyz)
        off = np.log(np.maximum(made[:, 1], 0.5) / xyz[:, 1])
        trust = np.sqrt(xyz[:, 1]) * (np.abs(off) < 0.3)
        slope = np.linalg.lstsq(own * trust[:, None], off * trust, rcond=None)[0]
        evened = evened / np.exp(own @ slope)[:, None]
    return np.asarray(evened)


def convert_cells(
    reading: PageReading, cells: Sequence[PageCell], converter: Converter
) -> tuple[CellReading, ...]:
    """Return the colors of a page's cells with all that is doubtful about them.

    One that is not in the picture comes back flagged and black.
    """
    paper = converter.xyz(np.ones(3))
    return tuple(
        _cell(cell, reading.patches[cell.number], converter, paper)
        if cell.number in reading.patches
        else CellReading(cell.number, np.zeros(3), 0.0, frozenset({Flag.OUTSIDE}))
        for cell in cells
    )


def _cell(cell: PageCell, patch: Patch, converter: Converter, paper: FloatArray) -> CellReading:
    xyz = converter.xyz(patch.mean)
    off = float(ciede2000(lab_from_xyz(xyz), lab_from_xyz(paper)))
    told = (
        (Flag.NOT_FILLED, not (cell.bare or cell.pale) and off < BARE_DIFFERENCE),
        (Flag.NOT_BARE, cell.bare and off > INKED_DIFFERENCE),
        (Flag.BRIGHTENED, not cell.bare and (xyz > BRIGHTENED * paper).any()),
    )
    flags = patch.flags | {flag for flag, true in told if true}
    if cell.bare:
        flags -= {Flag.NOT_FILLED}
    if Flag.GLARE in flags:
        flags -= {Flag.BRIGHTENED}
    return CellReading(cell.number, xyz, _spread(patch, converter), frozenset(flags))


def _spread(patch: Patch, converter: Converter) -> float:
    """Return the scatter of a cell's blocks [CIELAB], less what the pixels' noise lends them."""
    blocks = lab_from_xyz(converter.xyz(patch.blocks))
    middle = lab_from_xyz(converter.xyz(patch.mean))
    nudged = lab_from_xyz(converter.xyz(patch.mean + np.diag(np.sqrt(patch.noise))))
    noise = ((nudged - middle) ** 2).sum(axis=0)
    variance = np.maximum(blocks.var(axis=0) - noise, 0.0)
    return float(np.sqrt(variance.mean()))
