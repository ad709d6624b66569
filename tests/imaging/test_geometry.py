"""The map from page to picture, and the light on it."""

import numpy as np
import pytest

from laydown.imaging.markers import box_corners, find_page
from laydown.imaging.rectify import fit_light, flatten, map_page
from laydown.sheet.markers import marker_boxes
from laydown.sheet.page import PageSize

SIZE = PageSize.A4
BOXES = dict(enumerate(marker_boxes(SIZE)))
TURNED = np.array([[6.0, 1.5, 200.0], [-1.2, 5.5, 400.0], [4e-4, 2e-4, 1.0]])


def seen(points: np.ndarray) -> np.ndarray:
    """Return points of a page through a known plane perspective."""
    flat = np.concatenate([points, np.ones((len(points), 1))], axis=-1) @ TURNED.T
    return flat[:, :2] / flat[:, 2:]


@pytest.mark.parametrize("hidden", [0, 3, 7])
def test_a_flat_page_is_mapped_exactly(hidden: int) -> None:
    """A plane seen in perspective comes back to a thousandth of a pixel, whatever is hidden."""
    corners = {place: seen(box_corners(box)) for place, box in BOXES.items() if place >= hidden}
    page_map = map_page(corners, BOXES, width=SIZE.width, height=SIZE.height)
    points = np.random.default_rng(0).uniform((20, 20), (190, 270), (50, 2))
    assert np.abs(page_map(points) - seen(points)).max() < 1e-3


def test_a_page_drawn_flat_is_the_page(  # the picture is the page itself, enlarged
) -> None:
    """Flattening an upright picture gives each millimetre its own color."""
    scale = 5.0
    width, height = round(SIZE.width * scale), round(SIZE.height * scale)
    ramp = np.linspace(0, 255, width).astype(np.uint8)
    pixels = np.broadcast_to(ramp[None, :, None], (height, width, 3)).copy()
    corners = {place: box_corners(box) * scale - 0.5 for place, box in BOXES.items()}
    page_map = map_page(corners, BOXES, width=SIZE.width, height=SIZE.height)
    flat = flatten(pixels, page_map)
    assert flat.resolution == pytest.approx(scale, abs=0.01)
    assert np.abs(flat.pixels[100].astype(int) - pixels[100, : flat.pixels.shape[1]]).max() <= 1


def test_light_is_found_among_samples_that_are_not_paper() -> None:
    """A fifth of the samples may hold ink or glare without bending the light."""
    rng = np.random.default_rng(2)
    points = rng.uniform((0, 0), (210, 297), (150, 2))

    def true(at: np.ndarray) -> np.ndarray:
        squared = ((at - (40, 30)) ** 2).sum(axis=-1) + 300.0**2
        return (300.0**3 / squared**1.5)[:, None] * np.array([0.8, 0.7, 0.6])

    signal = true(points) * rng.normal(1, 0.004, (150, 1))
    signal[:20] *= rng.uniform(0.2, 0.8, (20, 3))
    signal[20:30] *= 1.4
    light = fit_light(points, signal, weight=np.ones(150), width=210, height=297)
    grid = rng.uniform((15, 15), (195, 280), (200, 2))
    assert np.abs(light(grid) / true(grid) - 1).max() < 0.02


def test_nothing_that_only_looks_like_a_mark_makes_a_page() -> None:
    """Noise, stripes and a lone mark are no page."""
    noise = np.random.default_rng(3).integers(0, 255, (600, 800, 3), dtype=np.uint8)
    stripes = np.zeros((600, 800, 3), np.uint8)
    stripes[:, ::40] = 255
    for pixels in (noise, stripes):
        assert find_page(pixels).number is None


def test_light_over_a_grid_is_the_light_at_its_points() -> None:
    """The quick way over a cell gives what the plain way gives."""
    rng = np.random.default_rng(5)
    points = rng.uniform((0, 0), (210, 297), (120, 2))
    signal = np.exp(rng.normal(0, 0.02, (120, 3)) - points[:, :1] / 300)
    light = fit_light(points, signal, weight=np.ones(120), width=210, height=297)
    assert light.degree == 4
    x, y = np.linspace(20, 40, 7), np.linspace(100, 130, 5)
    assert np.allclose(light.over(x, y), light(np.stack(np.meshgrid(x, y), axis=-1)), rtol=1e-12)
