"""What the search's bounds give away, held to the numbers of the proof in docs/decisions/search.md.

A bound that gives away too little loses recipes, and may do so where no drawn case shows it; so
each number is held to geometry that is worked out by hand. One that gives away too much is slow.
"""

from math import asin, atan2, cos, degrees, exp, hypot, pi, radians, sin, sqrt

import numpy as np
import pytest

from laydown.color.lab import ciede2000
from laydown.match.search.nearness import bound_colors, cubed, window

ONES = (1.0, 1.0, 1.0)


def bound_of(wanted: np.ndarray, labs: np.ndarray, error: float) -> np.ndarray:
    """Return the lower bounds of colors whose roots may be off by an error."""
    f_y = (labs[:, 0] + 16) / 116
    roots = np.stack([f_y + labs[:, 1] / 500, f_y, f_y - labs[:, 2] / 200])
    xyz = np.array([[cubed(f) for f in row] for row in roots], dtype=np.float32)
    least, most = np.zeros((2, len(labs)), dtype=np.float32)
    same = np.repeat(wanted[:, None], len(labs), axis=1).astype(np.float32)
    bound_colors(len(labs), xyz, same, np.array(ONES), error, least, most)
    return least


def box_of(wanted: np.ndarray, reach: float) -> np.ndarray:
    """Return the least and most X/Xn, Y/Yn, Z/Zn within reach of a wanted color."""
    return window(wanted, np.array(ONES), reach, 0.0)


def moved(error: float) -> float:
    """Return how far a' and b' of both colors may move together: point 6.

    An error e in each root moves a* by 1000 e and b* by 400 e, and these by 2.82 times as much.
    """
    return 2.82 * hypot(1000.0, 400.0) * error


@pytest.mark.parametrize("error", [3e-4, 1e-3, 3e-3])
def test_a_difference_of_chroma_may_be_less_by_all_that_colors_may_move(error: float) -> None:
    """Two yellows of one hue and value: nothing but chroma differs, by 20 less what may move."""
    wanted, other = np.array([60.0, 0.0, 60.0]), np.array([[60.0, 0.0, 80.0]])
    off = moved(error)
    by_hand = (20.0 - off) / (1.0 + 0.045 * (70.0 + off))
    assert 0.95 * by_hand < bound_of(wanted, other, error)[0] <= by_hand


@pytest.mark.parametrize("error", [3e-4, 1e-3, 2e-3])
def test_a_difference_of_hue_may_be_less_by_2_2_times_that(error: float) -> None:
    """Two yellows of one chroma and value, each 12° to its side of 90°: nothing but hue differs.

    So are the direction of the mean hue and with it T, which rises by up to 2.41 a radian.
    """
    chroma, side = 80.0, radians(12.0)
    labs = [[60.0, chroma * sin(t), chroma * cos(t)] for t in (-side, side)]
    off = moved(error)
    turn = 1.05 * off / chroma
    weight = 1.0 - 0.17 * cos(pi / 3) - 0.24 + 0.32 * cos(radians(276)) - 0.2 * cos(radians(297))
    weight += 2.41 * turn
    across = 2.0 * chroma * sin(side) - 2.2 * off * sqrt((chroma + off) / chroma)
    by_hand = across / (1.0 + 0.015 * (chroma + off) * weight)
    found = bound_of(np.array(labs[0]), np.array([labs[1]]), error)[0]
    assert 0.95 * by_hand < found <= by_hand


@pytest.mark.parametrize("error", [1e-3, 2e-3])
def test_near_gray_a_difference_of_hue_may_be_less_by_four_times_chroma(error: float) -> None:
    """Where the hue isn't sure, ΔH'² may be less by 4·C·off; T and the rotation are at their worst.

    A wanted color of chroma 8 and one of its own chroma at a right angle to it, both stretched
    by half along a*; the mean hue might be anything, so that 1 − ρ is .134 for strong colors.
    """
    labs = np.array([[60.0, 0.0, 8.0], [60.0, 8.0 / 1.5, 0.0]])
    off, mean = moved(error), 8.0
    square = 2.0 * mean**2 - 4.0 * (mean + off) * off
    across = sqrt(max(square, 0.0)) / (1.0 + 0.015 * (mean + off) * 1.93)
    share = sqrt((mean + off) ** 7 / ((mean + off) ** 7 + 25.0**7))
    assert bound_of(labs[0], labs[1:], error)[0] <= across * sqrt(1.0 - 0.866 * share)


@pytest.mark.parametrize("error", [3e-4, 3e-3])
def test_a_difference_of_lightness_may_be_less_by_116_errors(error: float) -> None:
    """Two grays whose mean is 60: S_L is that of L* 60, and at most .009 a unit more."""
    wanted, other = np.array([50.0, 0.0, 0.0]), np.array([[70.0, 0.0, 0.0]])
    off = 116.0 * error
    s_l = 1.0 + 0.015 * 10.0**2 / sqrt(20.0 + 10.0**2)
    by_hand = (20.0 - off) / (s_l + 0.0082 * off)
    assert 0.999 * by_hand < bound_of(wanted, other, error)[0] <= by_hand


def test_hues_that_may_be_opposite_are_bounded_as_if_they_were() -> None:
    """Hues 150° apart, each unsure by nearly .3 radians, may lie 180° apart: T is 1.93 at worst.

    And ρ is .866 at worst, since the mean hue may be any; their chroma, equal, may differ by what
    colors may move.
    """
    error, side = 3e-3, radians(75.0)
    off = moved(error)
    chroma = off / 0.27
    labs = [[60.0, chroma * sin(t), chroma * cos(t)] for t in (-side, side)]
    stretch = 1.5 - 0.5 * sqrt(chroma**7 / (chroma**7 + 25.0**7))
    a, b = stretch * chroma * sin(side), chroma * cos(side)
    across = 2.0 * a - 2.2 * off * sqrt((hypot(a, b) + off) / hypot(a, b))
    mean = hypot(a, b) + off
    share = sqrt(mean**7 / (mean**7 + 25.0**7))
    hue, rho = across / (1.0 + 0.015 * mean * 1.93), 0.866 * share
    longest = off / (1.0 + 0.045 * (mean - 2.0 * off))
    rise = min(rho * hue, longest)
    by_hand = sqrt(hue**2 + rise**2 - 2.0 * rho * hue * rise)
    assert 0.95 * by_hand < bound_of(np.array(labs[0]), np.array([labs[1]]), error)[0] <= by_hand


def test_neighbors_are_bounded_below_whatever_single_precision_does() -> None:
    """Colors as near as a rounding and as vivid as any are never said to be farther than they are.

    There the terms that stand for rounding alone keep the bound below the difference.
    """
    rng = np.random.default_rng(12)
    for _ in range(60):
        wanted = np.array([rng.uniform(5, 99), *rng.normal(0, 60, 2)])
        near = wanted + rng.normal(0, 1, (400, 3)) * 10.0 ** rng.uniform(-4, -0.5, (400, 1))
        along = rng.random(400) < 0.5  # half of them of the wanted hue, or of the wanted chroma
        near[along, 1:] = wanted[1:] * rng.normal(1, 1e-4, (along.sum(), 1))
        assert np.all(bound_of(wanted, near, 0.0) <= ciede2000(wanted, near))


@pytest.mark.parametrize("hue", [225.0, 235.0, 315.0, 325.0])
def test_a_box_allows_for_the_rotation_nearer_to_blue(hue: float) -> None:
    """The mean hue may lie nearer to 275° by what the stretch turns it, and half of what hues are
    apart.

    A stretch by s turns a hue by asin((s − 1) / (s + 1)) at most, 11.5° where s is 1.5.
    """
    chroma, reach = 15.0, 0.5
    wanted = np.array([50.0, chroma * cos(radians(hue)), chroma * sin(radians(hue))])
    box = box_of(wanted, reach)
    f_low, f_x = root(box[2]), root(box[0])
    radius = 500.0 * (f_low - f_x) + wanted[1]
    low = chroma - radius
    stretch = 1.5 - 0.5 * share(0.5 * (chroma + low))
    longest = stretch * chroma
    turn = degrees(asin((stretch - 1.0) / (stretch + 1.0)))
    half = degrees(asin(0.5 * reach * (1.0 + 0.01448 * (longest + low)) / sqrt(longest * low)))
    away = abs(degrees(atan2(wanted[2], wanted[1])) % 360.0 - 275.0) - turn - half
    rho = sin(radians(60.0) * exp(-((away / 25.0) ** 2))) * share(longest)
    by_hand = reach * (1.0 + 0.045 * longest) / sqrt(1.0 - rho)
    assert by_hand <= radius < 1.05 * by_hand


def share(chroma: float) -> float:
    """Return √(C⁷ / (C⁷ + 25⁷))."""
    return sqrt(chroma**7 / (chroma**7 + 25.0**7))


@pytest.mark.parametrize("chroma", [8.0, 15.0, 22.0])
def test_a_box_allows_for_the_stretch_of_dull_colors(chroma: float) -> None:
    """A dull red's chroma counts as what CIEDE2000 makes of it, up to half as much again."""
    reach, share = 0.5, sqrt(chroma**7 / (chroma**7 + 25.0**7))
    box = box_of(np.array([50.0, chroma, 0.0]), reach)
    radius = 500.0 * (root(box[2]) - root(box[0])) + chroma
    stretched = (1.5 - 0.5 * share) * chroma
    by_hand = reach * (1.0 + 0.045 * (stretched + 0.5 * radius))
    assert by_hand <= radius < 1.02 * by_hand


def root(x: float) -> float:
    """Return what `cubed` is the inverse of."""
    return float(np.cbrt(x)) if x > (6 / 29) ** 3 else x * 841 / 108 + 4 / 29
