"""Colors read from pictures of simulated phones: how far off, and how much alike in one picture.

Run: python benchmarks/phones.py. It takes the forty measured cameras of tests/published and writes
benchmarks/results/phones.md. Each camera takes one picture of eighty invented dyes by a light of
four, balanced and mixed as a maker might, with stray light and with uneven light that was not taken
out, then developed

- by a curve of another form than the reader's, as steep as that of one of the real photographs of
  charts: between one on each channel and one on luminance, more or less colorful; or
- as one of the real photographs that nothing was learned from, so far as the reader's own form
  follows it, with what that leaves of the chart's patches put on each color at random; or
- not at all: a digital negative, by a matrix that was made for another light.

A second table has paper of other tints, read as a usual white and by its measured color, with a
camera that takes half of the tint for the light's. Even rows' cameras were developed on, odd ones
judge; what is learned of real photographs is from half of those.
"""

import csv
import sys
from collections.abc import Iterator
from dataclasses import replace
from functools import cache, partial
from itertools import product
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT / "tests" / "imaging"))

import photographs as photos  # noqa: E402 - found by the line above
from test_development import fitted, photographed  # noqa: E402 - as before
from test_development import read as read_chart  # noqa: E402 - as before

from laydown.color.arrays import FloatArray  # noqa: E402 - as before
from laydown.color.lab import (  # noqa: E402 - as before  # noqa: E402 - as before
    WEIGHTS_D50,
    ciede2000,
    lab_from_xyz,
    xyz_from_lab,
    xyz_from_reflectance,
)
from laydown.imaging.chart import chart_xyz  # noqa: E402 - as before
from laydown.imaging.conversion import paper_converter  # noqa: E402 - as before
from laydown.imaging.development import (  # noqa: E402 - as before
    by_colors,
    developed,
    ellipses,
    usual_development,
)
from laydown.imaging.profiles import usual_profile  # noqa: E402 - as before
from laydown.sheet.reading import Accuracy, ColorConversion  # noqa: E402 - as before
from laydown.store.supplies import usual_white  # noqa: E402 - as before

CAMERAS = ROOT / "tests" / "published" / "cameras.csv"
RESULTS = ROOT / "benchmarks" / "results" / "phones.md"
LIGHTS = ("D50", "D65", "A", "LED-B3")
NEAR = 16.0
"""CIEDE2000 below which colors are near each other, as a wanted one and its match are."""
UNEVEN, STRAY = 0.03, 0.02
"""Deviation of light from dye to dye [natural log], most of paper's light that strays (chosen)."""
ROUNDS, TINY = 25, 1e-5
STEPS = TINY * np.eye(3)
REGION = 4.642
"""Of 80 % of a normal distribution in three axes, squared."""
PROFILE, PAPER = usual_profile(), photos.paper_spectrum()
DYES, WHITE = photos.invented_spectra(), PAPER @ WEIGHTS_D50
TRUE = lab_from_xyz(DYES @ WEIGHTS_D50)
RAW = "not at all"
TINTS = {
    "white": np.ones(36),
    "cream": np.linspace(0.78, 0.98, 36),
    "kraft": np.linspace(0.3, 0.75, 36),
}
"""Of papers, as shares of the white one's reflectance from 380 to 730 nm (chosen)."""


def cameras() -> list[FloatArray]:
    """Return sensitivities, shape (36, 3) each."""
    with CAMERAS.open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    count = len(rows[0]) // 3
    return [
        np.array([[float(row[f"{c}{i}"]) for c in "rgb"] for row in rows])
        for i in range(1, count + 1)
    ]


@cache
def steepness() -> FloatArray:
    """Return the slopes of log signal over log gray in the real photographs, white to dark gray."""
    grays = np.log(chart_xyz()[18:23, 1] / chart_xyz()[18, 1])
    signals = [np.log(one.signal[18:23].mean(axis=1)) for one in photographed()]
    return np.array([np.polyfit(grays, signal, 1)[0] for signal in signals])


def developed_by_a_phone(light: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Put a curve on linear signals, shape (n, 3)."""
    weights = PROFILE.matrix[:, 1] / PROFILE.matrix[:, 1].sum()
    gray = (light @ weights)[:, None]
    light = np.maximum(gray + rng.uniform(0.9, 1.25) * (light - gray), 1e-4)
    gray, power, bend = np.maximum(gray, 1e-4), 3 * rng.choice(steepness()), rng.uniform(0, 0.5)

    def curve(signal: FloatArray) -> FloatArray:
        root = np.cbrt(np.clip(signal, 1e-4, 1.2))
        return np.asarray((root + bend * root * (1 - root) * (2 * root - 1)) ** power)

    share = rng.uniform(0, 1)
    return np.asarray(curve(light) ** (1 - share) * (light * curve(gray) / gray) ** share)


def in_a_room(light: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Add stray light, and what was not taken out of uneven light; the last is bare paper."""
    uneven = np.exp(UNEVEN * rng.standard_normal((len(light), 1)))
    uneven[-1], stray = 1.0, rng.uniform(0, STRAY)
    return np.asarray((light * uneven + stray) / (1 + stray))


@cache
def real_developments() -> list[tuple[FloatArray, float]]:
    """Return parameters of photographs that judge, and what those leave [CIEDE2000 per axis]."""
    found, axes = [], ellipses(lab_from_xyz(chart_xyz()))
    for one in (p for p in photographed() if p.judges):
        made = fitted(one, np.arange(24))
        apart = lab_from_xyz(read_chart(one, made, np.arange(24))) - lab_from_xyz(chart_xyz())
        left = np.einsum("nij,nj->ni", axes, apart)
        found.append((made, float(np.sqrt((left**2).mean()))))
    return found


def developed_as_a_real_one(light: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Return the signals, shape (n, 3), that such a development leads back to the light."""
    every = real_developments()
    parameters, left = every[rng.integers(len(every))]
    lab = lab_from_xyz(100 * light @ PROFILE.matrix / (np.ones(3) @ PROFILE.matrix)[1])
    axes = np.linalg.inv(ellipses(lab[:-1]))
    lab[:-1] += left * np.einsum("nij,nj->ni", axes, rng.standard_normal(lab[:-1].shape))
    wanted = np.cbrt(np.maximum(xyz_from_lab(lab), 1e-3))
    white = 100 * np.ones(3) / PROFILE.matrix.sum(axis=0)[1]
    read_as = partial(developed, parameters, white=white, primaries=PROFILE.matrix)
    root = np.cbrt(np.clip(light, 1e-4, 1.2))
    for _ in range(ROUNDS):
        off = np.cbrt(read_as(root**3)) - wanted
        slopes = [(np.cbrt(read_as((root + step) ** 3)) - wanted - off) / TINY for step in STEPS]
        jacobian = np.stack(slopes, axis=-1)
        damped = np.swapaxes(jacobian, 1, 2) @ jacobian + 1e-3 * np.eye(3)
        step = np.linalg.solve(damped, np.swapaxes(jacobian, 1, 2) @ off[..., None])[..., 0]
        root = np.clip(root - np.clip(step, -0.1, 0.1), 0.03, 1.08)
    return np.asarray(root**3)


DEVELOPMENTS = {
    "by another form": lambda light, rng: developed_by_a_phone(in_a_room(light, rng), rng),
    "as real ones": developed_as_a_real_one,
    RAW: in_a_room,
}


def picture(
    camera: FloatArray, rng: np.random.Generator, form: str, tint: FloatArray = TINTS["white"]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the dyes' and the chart's signals relative to bare paper, and that of paper itself."""
    lamp, paper = photos.spectrum(LIGHTS[rng.integers(len(LIGHTS))]), tint * PAPER
    surfaces = np.vstack([tint * DYES, photos.chart_spectra(), paper])
    white = ((PAPER * lamp) @ camera * ((paper * lamp) @ camera)) ** 0.5
    wanted = surfaces @ WEIGHTS_D50 @ np.linalg.inv(PROFILE.matrix)
    taught = np.r_[np.arange(len(DYES), len(surfaces)), np.full(99, len(surfaces) - 1)]
    by = photos.spectrum("D65") if form == RAW else lamp
    balanced = (surfaces * by) @ camera / ((PAPER * by) @ camera)
    mixing = np.linalg.lstsq(balanced[taught], wanted[taught], rcond=None)[0]
    light = np.maximum((surfaces * lamp) @ camera / white @ mixing, 1e-4)
    made = DEVELOPMENTS[form](light / light[-1].max(), rng)
    return made[: len(DYES)] / made[-1], made[len(DYES) : -1] / made[-1], made[-1]


def read(
    way: str, shown: tuple[FloatArray, ...], rng: np.random.Generator, *, raw: bool
) -> tuple[FloatArray, Accuracy]:
    """Return the errors in CIELAB of the dyes that aren't known, others nan, and what is stated."""
    (dyes, chart, paper), error = shown, np.full(TRUE.shape, np.nan)
    known = rng.permutation(len(DYES))[: 8 if way == "8 known colors" else 0]
    left = np.setdiff1d(np.arange(len(DYES)), known)
    profile = replace(PROFILE, raw=raw)
    signal, xyz = (dyes[known], DYES[known] @ WEIGHTS_D50) if len(known) else (chart, chart_xyz())
    converter = (
        paper_converter(profile, paper, paper=WHITE, measured=True)
        if way == "paper alone"
        else by_colors(
            signal,
            xyz,
            profile,
            noise=np.full(len(signal), 0.5),
            paper=WHITE,
            prior=usual_development(raw=raw),
            conversion=ColorConversion.KNOWN if len(known) else ColorConversion.CHART,
            names=way,
        )
    )
    error[left] = lab_from_xyz(converter.xyz(dyes[left])) - TRUE[left]
    return error, converter.accuracy


def within(error: FloatArray, told: Accuracy) -> Iterator[FloatArray]:
    """Yield which errors, differences of two, and differences of near ones hold, as 0, 1 or nan."""
    first, second = np.triu_indices(len(TRUE), 1)
    variance = np.array([told.deviation(lab) for lab in TRUE]) ** 2
    yield as_held((error**2).sum(axis=1) / variance)
    squares = ((error[first] - error[second]) ** 2).sum(axis=1)
    near = ciede2000(TRUE[first], TRUE[second]) < NEAR
    for part, which in ((told.shared, np.full(len(first), True)), (told.shared_nearby, near)):
        own = variance - np.array([part(lab) for lab in TRUE]) ** 2
        yield as_held((squares / (own[first] + own[second]))[which])


def as_held(squares: FloatArray) -> FloatArray:
    """Return 1 for each that lies within the 80 % region, 0 for others, nan for none."""
    return np.where(np.isnan(squares), np.nan, squares <= REGION)


def table() -> Iterator[str]:
    """Yield the first table's lines."""
    every = cameras()
    yield f"{len(every)} cameras, one picture each of {len(DYES)} dyes. Held: developing / judging."
    yield ""
    yield (
        "| developed | by | stated | off | inside the stated 80 % | held across | held within"
        " | held within, near |"
    )
    yield "|---|---|---|---|---|---|---|---|"
    for form, way in product(DEVELOPMENTS, ("paper alone", "8 known colors", "chart")):
        rng = np.random.default_rng(1)
        pictures = [read(way, picture(camera, rng, form), rng, raw=form == RAW) for camera in every]
        off = np.array([ciede2000(TRUE + error, TRUE) for error, _ in pictures])
        stated = np.mean([told.mean for _, told in pictures])
        likely = np.array([told.likely for _, told in pictures])[:, None]
        inside = np.mean((off <= likely)[np.isfinite(off)])
        kinds = zip(*(within(*one) for one in pictures), strict=True)
        held = " | ".join(
            " / ".join(f"{np.nanmean(kind[half::2]):.2f}" for half in (0, 1)) for kind in kinds
        )
        yield f"| {form} | {way} | {stated:.1f} | {np.nanmean(off):.1f} | {inside:.2f} | {held} |"


def papers() -> Iterator[str]:
    """Yield the second table's lines: paper alone, on paper of other tints."""
    yield "| paper | read as | stated | off | looks tinted |"
    yield "|---|---|---|---|---|"
    for name, measured in product(TINTS, (False, True)):
        rng, tint = np.random.default_rng(2), TINTS[name]
        own = (tint * PAPER) @ WEIGHTS_D50
        paper = own if measured else xyz_from_reflectance(usual_white())
        true, stated, off, rough = lab_from_xyz((tint * DYES) @ WEIGHTS_D50), [], [], []
        for camera in cameras():
            dyes, _, seen = picture(camera, rng, "by another form", tint)
            converter = paper_converter(PROFILE, seen, paper=paper, measured=measured)
            off.append(ciede2000(lab_from_xyz(converter.xyz(dyes)), true).mean())
            stated.append(converter.accuracy.mean)
            rough.append(converter.accuracy.rough)
        how = "what it is measured as" if measured else "a usual white"
        told = f"{np.mean(stated):.1f} | {np.mean(off):.1f} | {np.mean(rough):.2f}"
        yield f"| {name} | {how} | {told} |"


def main() -> None:
    """Write the tables."""
    text = "\n".join([*table(), "", *papers()]) + "\n"
    RESULTS.write_text(text, encoding="utf-8", newline="\n")
    print(text)


if __name__ == "__main__":
    main()
