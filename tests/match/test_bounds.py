"""The bounds that let recipes be passed over: none may ever lie above what it bounds."""

import numpy as np
import pytest

from laydown.color.lab import WHITE_D50, ciede2000, lab_from_xyz
from laydown.match.search.compiling import DARK, DEGREE, quick_curve
from laydown.match.search.nearness import bound_colors, cubed, rotation, window
from laydown.media.marker.pile import inverse

FACTORS = [(0.5, 1.0, 1.0), (1.0, 1.0, 1.0), (2.0, 0.7, 1.3)]


def colors(seed: int, count: int) -> np.ndarray:
    """Draw colors all over the solid, a third of them near gray and a third blue."""
    rng = np.random.default_rng(seed)
    labs = rng.uniform([2, -80, -80], [98, 80, 80], (count, 3))
    labs[: count // 3, 1:] *= 0.04
    labs[-count // 3 :, 1:] = rng.uniform([-25, -70], [30, -5], (count - (2 * count) // 3, 2))
    return labs


@pytest.mark.parametrize("ks", FACTORS)
@pytest.mark.parametrize("error", [0.0, 1e-4, 2e-3])
def test_the_bound_of_a_row_allows_for_its_error(
    ks: tuple[float, float, float], error: float
) -> None:
    """Colors computed with an error in their roots are bounded by what they may truly be."""
    rng, least, most = np.random.default_rng(9), *np.zeros((2, 300), dtype=np.float32)
    for wanted in colors(5, 30):
        labs = wanted + (colors(6, 300) - wanted) * rng.random((300, 1)) ** 2
        f_y = (labs[:, 0] + 16) / 116
        roots = np.stack([f_y + labs[:, 1] / 500, f_y, f_y - labs[:, 2] / 200])
        roots = np.maximum(roots, 0.15)
        f_x, f_y, f_z = roots
        true = np.stack([116 * f_y - 16, 500 * (f_x - f_y), 200 * (f_y - f_z)], axis=-1)
        moved = roots + error * rng.choice([-1.0, 1.0], roots.shape)
        xyz = np.array([[cubed(f) for f in row] for row in moved], dtype=np.float32)
        same = np.repeat(wanted[:, None], 300, axis=1).astype(np.float32)
        bound_colors(300, xyz, same, np.array(ks), error, least, most)
        far = ciede2000(wanted, true, k_L=ks[0], k_C=ks[1], k_H=ks[2])
        assert np.all(least <= far + 1e-6)
        assert np.all(most >= far - 1e-6)


def test_the_rotation_is_never_less_than_it_is() -> None:
    """What stands for sin(60° e^−(x/25°)²) is at least that, and no more than .0052 above."""
    x = np.linspace(0.0, np.pi, 4001)
    true = np.sin(np.radians(60.0) * np.exp(-((np.degrees(x) / 25.0) ** 2)))
    above = [rotation.py_func(np.float32(c)) for c in np.cos(x)] - true
    assert above.min() >= 0.0
    assert above.max() <= 0.0052


@pytest.mark.parametrize("ks", FACTORS)
def test_nothing_within_reach_lies_outside_the_window(ks: tuple[float, float, float]) -> None:
    """A color closer than the reach has X, Y, Z in the box drawn for that reach."""
    rng, within = np.random.default_rng(10), 0
    for wanted in colors(7, 200):
        labs = wanted + rng.normal(0, 1, (200, 3)) * 10.0 ** rng.uniform(-1, 1.3, (200, 1))
        far = ciede2000(wanted, labs, k_L=ks[0], k_C=ks[1], k_H=ks[2])
        f_y = (labs[:, 0] + 16) / 116
        roots = (f_y + labs[:, 1] / 500, f_y, f_y - labs[:, 2] / 200)
        xyz = np.array([[cubed(f) for f in row] for row in roots])
        for reach in (0.3, 2.0, 9.0):
            box = window(wanted, np.array(ks), reach, 0.0)
            near = xyz[:, far <= reach]
            within += near.shape[1]
            assert np.all(near >= box[0::2, None] - 1e-12)
            assert np.all(near <= box[1::2, None] + 1e-12)
    assert within > 10_000


def test_the_window_keeps_the_scale_of_lab() -> None:
    """What the window undoes is the root of CIELAB: white is 1, and back."""
    xyz = np.array([0.7, 0.8, 0.01])
    lab = lab_from_xyz(xyz * WHITE_D50)
    f_y = (lab[0] + 16) / 116
    roots = (f_y + lab[1] / 500, f_y, f_y - lab[2] / 200)
    np.testing.assert_allclose([cubed(f) for f in roots], xyz, atol=1e-12)


@pytest.mark.parametrize("scale", [0.0, 0.01, 0.05, 0.1, 0.3, 0.6, 0.9, 1.0])
@pytest.mark.parametrize("most", [5.0, 60.0])
def test_the_quick_curve_keeps_its_stated_error(scale: float, most: float) -> None:
    """Evaluated in single precision between the knots it was fitted on, it stays within it."""
    p, error = quick_curve(lambda a: inverse(a, scale=scale), scale=scale, most=most)
    a = np.random.default_rng(11).random(20_000) ** 3 * most
    t = (np.sqrt(a.astype(np.float32) + p[0]) - p[1]) * p[2]
    q = np.zeros_like(t)
    for power in range(DEGREE, -1, -1):
        q = q * t + p[4 + power]
    got = (1.0 / q.astype(np.float64)) ** (2 ** int(p[3]))
    true = inverse(a, scale=scale)
    off = np.abs(got - true) / np.maximum(true, DARK) ** (2 / 3)
    assert off.max() <= error < 5e-3
