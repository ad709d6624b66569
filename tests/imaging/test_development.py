"""How cameras develop, held to real photographs of charts: half are learned from, half judge."""

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import chi2

from laydown.color.lab import ciede2000, lab_from_xyz, xyz_from_lab
from laydown.imaging.chart import chart_xyz
from laydown.imaging.conversion import BY_PAPER, TINTED, paper_converter
from laydown.imaging.development import (
    TOGETHER,
    accuracy_of,
    by_colors,
    developed,
    fit_development,
    signal_of,
    usual_development,
)
from laydown.imaging.profiles import Profile, usual_profile
from laydown.sheet.reading import Accuracy, ColorConversion

PUBLISHED = Path(__file__).parents[1] / "published" / "photographed_charts.csv"
COLORED, GRAYS, WHITE = np.arange(18), np.arange(18, 24), 18
WIDE = np.array([[0.5151, 0.2412, -0.0011], [0.2920, 0.6922, 0.0419], [0.1571, 0.0666, 0.7841]])
"""XYZ of the primaries of Display P3 under D50, as its profile carries them (from memory)."""
NEAR = 16.0
"""CIEDE2000 below which colored patches are near each other: nine pairs are."""
PICKS = [np.random.default_rng(seed).permutation(18) for seed in range(4)]
"""Colored patches in a random order: the first 8 or 12 are known."""


@dataclass(frozen=True, eq=False)
class PhotographedChart:
    """A photograph's patches relative to its white one, its profile, and whether it judges."""

    signal: np.ndarray
    profile: Profile
    judges: bool


@cache
def photographed() -> tuple[PhotographedChart, ...]:
    """Return the photographs."""
    usual = usual_profile()
    wide = Profile("wide", usual.curves, 100 * WIDE, measured=False)
    with PUBLISHED.open(encoding="utf-8") as stream:
        rows = list(csv.DictReader(stream))
    made = []
    for row in rows:
        signal = np.array([[float(row[f"{c}{i}"]) for c in "rgb"] for i in range(1, 25)])
        profile = wide if row["primaries"] == "Display P3" else usual
        made.append(
            PhotographedChart(signal / signal[WHITE], profile, int(row["photograph"]) % 2 == 0)
        )
    return tuple(made)


def fitted(one: PhotographedChart, known: np.ndarray) -> np.ndarray:
    """Return the development's parameters by some of the patches."""
    return fit_development(
        one.signal[known],
        chart_xyz()[known],
        noise=np.ones(len(known)),
        white=signal_of(one.profile, chart_xyz()[WHITE]),
        primaries=one.profile.matrix,
        prior=usual_development(),
    )


def read(one: PhotographedChart, made: np.ndarray, patches: np.ndarray) -> np.ndarray:
    """Return the XYZ of patches by a development."""
    white = signal_of(one.profile, chart_xyz()[WHITE])
    return developed(made, one.signal[patches], white=white, primaries=one.profile.matrix)


def off(one: PhotographedChart, made: np.ndarray, patches: np.ndarray) -> np.ndarray:
    """Return how far off patches are."""
    xyz = read(one, made, patches)
    return np.asarray(ciede2000(lab_from_xyz(xyz), lab_from_xyz(chart_xyz()[patches])))


@cache
def left_out(one: PhotographedChart) -> np.ndarray:
    """Return the XYZ of the colored patches, each read by all others of its chart."""
    others = [np.setdiff1d(np.arange(24), [i]) for i in COLORED]
    made = [read(one, fitted(one, rest), np.array([i])) for i, rest in enumerate(others)]
    return np.concatenate(made)


@cache
def errors(known: str) -> tuple[np.ndarray, ...]:
    """Return, for each photograph, how far off the patches are that aren't known."""
    base = GRAYS if "grays" in known else np.array([WHITE])
    count = int(next((word for word in known.split() if word.isdigit()), "0"))
    picks = PICKS if count else PICKS[:1]
    return tuple(
        np.concatenate(
            [off(one, fitted(one, np.r_[base, p[:count]]), np.sort(p[count:])) for p in picks]
        )
        for one in photographed()
    )


@pytest.mark.parametrize(
    ("known", "all_within", "judged_within"),
    [
        ("white", 7.0, 7.0),
        ("grays", 4.4, 4.4),
        ("3", 4.7, 4.7),
        ("3 and grays", 4.2, 4.2),
        ("8", 4.0, 4.0),
        ("12 and grays", 3.5, 3.5),
    ],
)
def test_real_photographs_are_read_by_what_is_known_in_them(
    known: str, all_within: float, judged_within: float
) -> None:
    """The median photograph is off by no more, over all and over those nothing was learned from."""
    means = np.array([one.mean() for one in errors(known)])
    judges = np.array([one.judges for one in photographed()])
    assert np.median(means) <= all_within
    assert np.median(means[judges]) <= judged_within


def test_what_is_stated_by_white_alone_is_true_of_photographs_that_judge() -> None:
    """The mean that is stated is the real one, and 75 to 90 in 100 lie within the stated 80 %."""
    judging = [e for e, one in zip(errors("white"), photographed(), strict=True) if one.judges]
    every = np.concatenate(judging)
    assert 0.7 < BY_PAPER.mean / every.mean() < 1.5
    assert 0.75 <= (every <= BY_PAPER.likely).mean() <= 0.90
    assert (every <= BY_PAPER.most).mean() >= 0.9


@pytest.mark.parametrize(
    ("chroma", "measured", "stated"),
    [(0, False, 7.3), (3, False, 7.7), (9, False, 10.3), (9, True, 7.3), (14, True, 10.3)],
)
def test_the_more_tinted_unmeasured_paper_looks_the_farther_off_is_stated(
    chroma: float, measured: bool, stated: float
) -> None:
    """Kraft, half of whose tint a camera takes for the light's, shows a chroma of 9 and is stated
    as 10 off; measured paper is stated as usual, but if it looks like none of its color.
    """
    profile, paper = usual_profile(), xyz_from_lab(np.array([95.0, 0.0, 0.0]))
    seen = 0.7 * signal_of(profile, xyz_from_lab(np.array([95.0, 0.0, chroma])))
    told = paper_converter(profile, seen, paper=paper, measured=measured).accuracy
    assert told.mean == pytest.approx(stated, abs=0.06)
    assert told.rough == (chroma > TINTED)


def test_a_curve_on_luminance_is_told_from_one_on_each_channel() -> None:
    """What a camera does to all channels by one factor comes back by known colors; taken for a
    curve on each channel, the others would be off by several units.
    """
    profile, rng = usual_profile(), np.random.default_rng(7)
    signal, true = rng.uniform(0.03, 1.0, (80, 3)), usual_development()[0].copy()
    true[0] -= 0.6
    shares = []
    for share in (0.1, 0.8):
        true[TOGETHER] = share
        xyz = developed(true, signal, white=np.ones(3), primaries=profile.matrix)
        made = fit_development(
            signal[:30],
            xyz[:30],
            noise=np.zeros(30),
            white=np.ones(3),
            primaries=profile.matrix,
            prior=usual_development(),
        )
        again = developed(made, signal[30:], white=np.ones(3), primaries=profile.matrix)
        assert ciede2000(lab_from_xyz(again), lab_from_xyz(xyz[30:])).mean() < 0.6
        shares.append(made[TOGETHER])
    assert np.diff(shares) > 0.5


def test_what_is_stated_by_grays_alone_is_true() -> None:
    """Known grays tell the curve and no hue: 75 to 90 in 100 of the colors lie within what is
    stated by them, which is less than by paper alone and more than by as many colors.
    """
    stated, every = [], []
    for place, one in enumerate(photographed()):
        if not one.judges:
            continue
        made = by_colors(
            one.signal[GRAYS],
            chart_xyz()[GRAYS],
            one.profile,
            noise=np.full(6, 0.5),
            paper=chart_xyz()[WHITE],
            prior=usual_development(),
            conversion=ColorConversion.KNOWN,
            names="cells",
        )
        stated.append(made.accuracy)
        every.append(errors("grays")[place])
    within = [e <= told.likely for e, told in zip(every, stated, strict=True)]
    assert 0.75 <= np.concatenate(within).mean() <= 0.92
    assert 0.7 < np.mean([told.mean for told in stated]) / np.concatenate(every).mean() < 1.5
    assert max(told.mean for told in stated) < BY_PAPER.mean


@pytest.mark.parametrize("count", [3, 8, 23])
def test_what_is_stated_by_known_colors_is_true(count: int) -> None:
    """By three and eight known colors and by a whole chart, each photograph states by itself how
    far off it is: 75 to 90 in 100 of the colors left out lie within the stated 80 %.
    """
    stated, real, within = [], [], []
    for one in (p for p in photographed() if p.judges):
        known = np.r_[PICKS[0][:count], WHITE] if count < 23 else np.arange(24)
        left = np.setdiff1d(COLORED, known) if count < 23 else COLORED
        made = by_colors(
            one.signal[known],
            chart_xyz()[known],
            one.profile,
            noise=np.full(len(known), 0.5),
            paper=chart_xyz()[WHITE],
            prior=usual_development(),
            conversion=ColorConversion.KNOWN,
            names="patches",
        )
        if count < 23:
            apart = ciede2000(
                lab_from_xyz(made.xyz(one.signal[left])), lab_from_xyz(chart_xyz()[left])
            )
        else:
            apart = ciede2000(lab_from_xyz(left_out(one)), lab_from_xyz(chart_xyz()[left]))
        stated.append(made.accuracy.mean)
        real.append(apart.mean())
        within.append(apart <= made.accuracy.likely)
    assert 0.7 < np.mean(stated) / np.mean(real) < 1.5
    assert 0.75 <= np.concatenate(within).mean() <= 0.92


@pytest.mark.parametrize("known", ["white", "chart"])
def test_regions_hold_across_pictures_and_within_one(known: str) -> None:
    """Of colors, and of differences of two colors of one picture, 70 to 90 in 100 lie within the
    80 % region that follows from the stated error and from what a picture's colors have alike;
    of near ones, which are judged by what is left of it between near ones, too.
    """
    shares = []
    for one in (p for p in photographed() if p.judges):
        if known == "white":
            told, seen = BY_PAPER, read(one, fitted(one, np.array([WHITE])), COLORED)
        else:
            seen, true = left_out(one), chart_xyz()[COLORED]
            apart = ciede2000(lab_from_xyz(seen), lab_from_xyz(true))
            told = accuracy_of(apart, conversion=ColorConversion.CHART, names="", grays=6)
        shares.append(held(told, lab_from_xyz(chart_xyz()[COLORED]), lab_from_xyz(seen)))
    for kind in zip(*shares, strict=True):
        assert 0.7 <= np.concatenate(kind).mean() <= 0.9


def held(told: Accuracy, true: np.ndarray, seen: np.ndarray) -> tuple[np.ndarray, ...]:
    """Return which colors, which differences of two, and which of two near ones lie within the
    stated 80 % region; both in CIELAB, shape (n, 3).
    """
    error, (first, second) = seen - true, np.triu_indices(len(true), 1)
    deviation = np.array([told.deviation(lab) for lab in true])
    variance = deviation**2
    own, near = (
        variance - np.array([part(lab) for lab in true]) ** 2
        for part in (told.shared, told.shared_nearby)
    )
    squares = ((error[first] - error[second]) ** 2).sum(axis=1)
    close, most = ciede2000(true[first], true[second]) < NEAR, chi2.ppf(0.8, 3)
    return (
        (error**2).sum(axis=1) <= most * variance,
        squares <= most * (own[first] + own[second]),
        squares[close] <= most * (near[first] + near[second])[close],
    )


def test_a_known_color_that_is_wrong_does_not_bend_the_rest() -> None:
    """Of twelve known colors one may be another: the others are read nearly as well."""
    worse = []
    for one in photographed()[1:20:4]:
        known = np.r_[WHITE, PICKS[0][:12]]
        left = PICKS[0][12:]
        right = off(one, fitted(one, known), left).mean()
        swapped = chart_xyz()[known].copy()
        swapped[3] = chart_xyz()[next(i for i in COLORED if i not in known)]
        bent = fit_development(
            one.signal[known],
            swapped,
            noise=np.ones(len(known)),
            white=signal_of(one.profile, chart_xyz()[WHITE]),
            primaries=one.profile.matrix,
            prior=usual_development(),
        )
        worse.append(off(one, bent, left).mean() - right)
    assert np.median(worse) < 0.5


def test_a_development_that_is_put_on_is_taken_off() -> None:
    """Signals bent by a curve and mixed are read back to a part of a unit from many colors."""
    profile = usual_profile()
    rng = np.random.default_rng(4)
    xyz = rng.uniform(0.05, 0.8, (60, 3)) @ profile.matrix
    true = usual_development()[0].copy()
    true[:4] += (0.2, -0.1, 0.02, 0.1)
    true[16:22] = (0.1, -0.02, 0.02, 0.03, 0.0, -0.05)
    white = np.ones(3)
    signal = rng.uniform(0.05, 1.0, (60, 3))
    xyz = developed(true, signal, white=white, primaries=profile.matrix)
    made = fit_development(
        signal,
        xyz,
        noise=np.zeros(60),
        white=white,
        primaries=profile.matrix,
        prior=usual_development(),
    )
    again = developed(made, signal, white=white, primaries=profile.matrix)
    assert ciede2000(lab_from_xyz(again), lab_from_xyz(xyz)).mean() < 0.4


def test_bare_paper_is_what_it_is_known_to_be() -> None:
    """Whatever the development, what is as bright as paper has the paper's color."""
    white = np.array([0.9, 0.88, 0.8])
    for shift in (-0.3, 0.0, 0.4):
        at = usual_development()[0] + np.r_[np.full(23, shift), np.zeros(3)]
        made = developed(at, np.ones((1, 3)), white=white, primaries=usual_profile().matrix)
        assert np.allclose(made[0], white @ usual_profile().matrix)


def test_what_is_stated_mixes_the_picture_with_what_is_usual() -> None:
    """Without any known color the usual error stands; many known colors speak for themselves."""
    usual = accuracy_of(np.zeros(0), conversion=ColorConversion.KNOWN, names="cells")
    many = accuracy_of(np.full(1000, 2.0), conversion=ColorConversion.KNOWN, names="cells")
    assert usual.mean == pytest.approx(0.86 * 8.5, abs=0.06)
    assert many.mean == pytest.approx(0.86 * 1.1 * 2.0, abs=0.06)
    assert many.mean < many.likely < many.most
