"""Colors read from pictures of simulated phones: how far off, and how much alike in one picture.

Run: python benchmarks/phones.py. It takes the forty measured cameras of tests/published and writes
benchmarks/results/phones.md. Each camera takes one picture of eighty invented dyes by a light of
four, balanced and mixed as a maker might, then developed

- by a curve of another form than the reader's: between one on each channel and one on luminance,
  more or less colorful, without glare and uneven light; or
- as one of the real photographs of charts that nothing was learned from, so far as the reader's own
  form follows it, with what that leaves of the chart's patches put on each color at random: glare,
  uneven light and what no curve mends.
"""

import csv
import sys
from collections.abc import Iterator
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
from laydown.color.difference import ciede2000  # noqa: E402 - as before
from laydown.color.lab import lab_from_xyz, xyz_from_lab  # noqa: E402 - as before
from laydown.color.tristimulus import WEIGHTS_D50  # noqa: E402 - as before
from laydown.imaging.chart import chart_xyz  # noqa: E402 - as before
from laydown.imaging.conversion import BY_PAPER  # noqa: E402 - as before
from laydown.imaging.development import (  # noqa: E402 - as before
    Converter,
    by_colors,
    developed,
    signal_of,
    usual_development,
)
from laydown.imaging.profiles import usual_profile  # noqa: E402 - as before
from laydown.sheet.reading import Accuracy, ColorConversion  # noqa: E402 - as before

CAMERAS = ROOT / "tests" / "published" / "cameras.csv"
RESULTS = ROOT / "benchmarks" / "results" / "phones.md"
LIGHTS = ("D50", "D65", "A", "LED-B3")
APART = ((0, 10), (10, 15), (15, 25), (25, 40), (40, 100))
NEAR = 16.0
"""CIEDE2000 below which colors are near each other, as a wanted one and its match are."""
ROUNDS, TINY = 25, 1e-5
STEPS = TINY * np.eye(3)
REGION = 4.642
"""Of 80 % of a normal distribution in three axes, squared."""
PROFILE, PAPER = usual_profile(), photos.paper_spectrum()
DYES, WHITE = photos.invented_spectra(), PAPER @ WEIGHTS_D50
TRUE = lab_from_xyz(DYES @ WEIGHTS_D50)


def cameras() -> list[FloatArray]:
    """Return sensitivities, shape (36, 3) each."""
    with CAMERAS.open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    count = len(rows[0]) // 3
    return [
        np.array([[float(row[f"{c}{i}"]) for c in "rgb"] for row in rows])
        for i in range(1, count + 1)
    ]


def developed_by_a_phone(light: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Put a curve on linear signals, shape (n, 3)."""
    weights = PROFILE.matrix[:, 1] / PROFILE.matrix[:, 1].sum()
    gray = (light @ weights)[:, None]
    light = np.maximum(gray + rng.uniform(0.9, 1.25) * (light - gray), 1e-4)
    gray, power, bend = np.maximum(gray, 1e-4), 3 * rng.uniform(0.7, 1.25), rng.uniform(0, 0.5)

    def curve(signal: FloatArray) -> FloatArray:
        root = np.cbrt(np.clip(signal, 1e-4, 1.2))
        return np.asarray((root + bend * root * (1 - root) * (2 * root - 1)) ** power)

    share = rng.uniform(0, 1)
    return np.asarray(curve(light) ** (1 - share) * (light * curve(gray) / gray) ** share)


@cache
def real_developments() -> list[tuple[FloatArray, float]]:
    """Return parameters of photographs that judge, and what those leave [CIELAB units per axis]."""
    found = []
    for one in (p for p in photographed() if p.judges):
        made = fitted(one, np.arange(24))
        left = lab_from_xyz(read_chart(one, made, np.arange(24))) - lab_from_xyz(chart_xyz())
        found.append((made, float(np.sqrt((left**2).mean()))))
    return found


def developed_as_a_real_one(light: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Return the signals, shape (n, 3), that such a development leads back to the light."""
    every = real_developments()
    parameters, left = every[rng.integers(len(every))]
    lab = lab_from_xyz(100 * light @ PROFILE.matrix / (np.ones(3) @ PROFILE.matrix)[1])
    lab[:-1] += left * rng.standard_normal(lab[:-1].shape)
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
    "by another form": developed_by_a_phone,
    "as real ones": developed_as_a_real_one,
}


def picture(
    camera: FloatArray, rng: np.random.Generator, form: str
) -> tuple[FloatArray, FloatArray]:
    """Return the dyes' and the chart's signals relative to bare paper."""
    lamp, chart = photos.spectrum(LIGHTS[rng.integers(len(LIGHTS))]), photos.chart_spectra()
    surfaces = np.vstack([DYES, chart, PAPER])
    raw = (surfaces * lamp) @ camera / ((PAPER * lamp) @ camera)
    wanted = surfaces @ WEIGHTS_D50 @ np.linalg.inv(PROFILE.matrix)
    taught = np.r_[np.arange(len(DYES), len(surfaces)), np.full(99, len(surfaces) - 1)]
    mixing = np.linalg.lstsq(raw[taught], wanted[taught], rcond=None)[0]
    made = DEVELOPMENTS[form](np.maximum(raw @ mixing, 1e-4), rng)
    made /= made[-1]
    return made[: len(DYES)], made[len(DYES) : -1]


def read(
    way: str, dyes: FloatArray, chart: FloatArray, rng: np.random.Generator
) -> tuple[FloatArray, Accuracy]:
    """Return the errors in CIELAB of the dyes that aren't known, others nan, and what is stated."""
    error = np.full(TRUE.shape, np.nan)
    known = rng.permutation(len(DYES))[: 8 if way == "8 known colors" else 0]
    left = np.setdiff1d(np.arange(len(DYES)), known)
    if way == "paper alone":
        own = Converter(usual_development()[0], signal_of(PROFILE, WHITE), PROFILE.matrix, BY_PAPER)
        made, told = own.xyz(dyes[left]), BY_PAPER
    else:
        signal, xyz = (chart, chart_xyz()) if not len(known) else (dyes[known], None)
        kind = ColorConversion.KNOWN if len(known) else ColorConversion.CHART
        converter = by_colors(
            signal,
            DYES[known] @ WEIGHTS_D50 if xyz is None else xyz,
            PROFILE,
            noise=np.full(len(signal), 0.5),
            paper=WHITE,
            prior=usual_development(),
            conversion=kind,
            names=way,
        )
        made, told = converter.xyz(dyes[left]), converter.accuracy
    error[left] = lab_from_xyz(np.maximum(made, 1e-3)) - TRUE[left]
    return error, told


def table() -> Iterator[str]:
    """Yield the table's lines."""
    every, first, second = cameras(), *np.triu_indices(len(DYES), 1)
    apart = ciede2000(TRUE[first], TRUE[second])
    yield f"{len(every)} cameras, one picture each of {len(DYES)} dyes."
    yield ""
    columns = " | ".join(f"{low} to {high}" for low, high in APART)
    yield (
        "| developed | by | stated | off | held across | held within | held within, near |"
        f" alike, by how far apart: {columns} |"
    )
    yield "|---" * (7 + len(APART)) + "|"
    for form, way in product(DEVELOPMENTS, ("paper alone", "8 known colors", "chart")):
        rng = np.random.default_rng(1)
        pictures = [read(way, *picture(camera, rng, form), rng) for camera in every]
        errors = np.array([error for error, _ in pictures])
        spread = np.array([told.deviation for _, told in pictures])[:, None]
        own = spread**2 - np.array([told.shared for _, told in pictures])[:, None] ** 2
        off = np.array([ciede2000(TRUE + error, TRUE) for error in errors])
        squares = (errors**2).sum(axis=2) / spread**2
        one, other = errors[:, first], errors[:, second]
        differ, single = ((one - other) ** 2).sum(axis=2), (one**2 + other**2).sum(axis=2)
        between, spans = differ / (2 * own), [(apart > a) & (apart <= b) for a, b in APART]
        alike = [1 - np.nansum(differ[:, s]) / np.nansum(single[:, s]) for s in spans]
        stated = np.mean([told.mean for _, told in pictures])
        nearby = spread**2 - np.array([told.shared_nearby for _, told in pictures])[:, None] ** 2
        judged = (squares, between, (differ / (2 * nearby))[:, apart < NEAR])
        held = " | ".join(f"{np.mean(s[np.isfinite(s)] <= REGION):.2f}" for s in judged)
        yield (
            f"| {form} | {way} | {stated:.1f} | {np.nanmean(off):.1f} | {held} | "
            + " | ".join(f"{share:.2f}" for share in alike)
            + " |"
        )


def main() -> None:
    """Write the table."""
    text = "\n".join(table()) + "\n"
    RESULTS.write_text(text, encoding="utf-8", newline="\n")
    print(text)


if __name__ == "__main__":
    main()
