"""A drawing that nobody drew: lemons in a blue bowl, from a few shapes, with every part known.

Invented, like all of the demo. Shapes are laid one over the other, each of one color; then edges
are softened and grain is added, as a photograph of a drawing would have them.
"""

import io
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

from laydown.color.arrays import FloatArray
from laydown.color.lab import WHITE_D50, lab_from_xyz, xyz_from_lab
from laydown.color.screen import screen_pixels
from laydown.color.value import luminance_from_value

ROWS, COLUMNS = 640, 960
SEED = 20261125


PARTS: FloatArray = np.array(
    [
        (8.8, 1.0, 7.0, 4, 0.75, 0.5, 9.0, 9.0, 0.0),  # wall
        (6.4, 7.0, 20.0, 3, 0.75, 9.7, 20.0, 9.0, 0.0),  # table
        (2.9, 4.0, 2.0, 1, 0.86, 0.87, 0.56, 0.065, 0.0),  # cast shadow
        (4.7, 4.0, 44.0, 2, 0.66, 0.38, 0.17, 0.16, 0.0),  # lemon behind, in shade
        (6.5, 2.0, 66.0, 3, 0.50, 0.43, 0.22, 0.17, 0.0),  # lemon on the left
        (8.7, -4.0, 58.0, 4, 0.45, 0.37, 0.10, 0.07, 0.0),  # its light
        (6.5, 2.0, 66.0, 3, 0.94, 0.42, 0.25, 0.18, 0.0),  # lemon on the right
        (8.7, -4.0, 58.0, 4, 0.90, 0.34, 0.11, 0.07, 0.0),  # its light
        (4.5, 0.0, -38.0, 2, 0.72, 0.52, 0.46, 0.34, 0.52),  # bowl
        (2.6, 6.0, -30.0, 1, 0.88, 0.52, 0.30, 0.32, 0.52),  # bowl in shade
        (1.3, 3.0, -12.0, 0, 0.72, 0.86, 0.24, 0.04, 0.0),  # foot of the bowl
    ]
)
"""The parts of the drawing, what is laid last the last: value [0 to 10], CIELAB a* and b*, place in
a plan of five values (0 the darkest); the middle and the radii, x and y, of the ellipse it lies in,
and the height below which alone it is seen, as shares of the drawing's height."""
STEPS = PARTS[:, 3].astype(int)

LemonsDrawing: TypeAlias = tuple[FloatArray, NDArray[np.int64]]
"""CIELAB D50, shape (row, column, 3), and the place in `PARTS` of what is seen, (row, column)."""


def draw_lemons(
    *,
    rows: int = ROWS,
    columns: int = COLUMNS,
    soft: float = 1.5,
    grain: float = 1.0,
    uneven: float = 1.0,
    seed: int = SEED,
) -> LemonsDrawing:
    """Draw lemons in a blue bowl, so many rows and columns [pixels].

    Edges are blurred in light, by so `soft` a standard deviation [pixels]; `grain` is noise of
    single pixels [CIELAB units per axis, standard deviation], `uneven` a texture some pixels wide,
    such as strokes leave [L*, standard deviation]. The seed is of both.

    >>> lab, part = draw_lemons(rows=64, columns=96, soft=0.0, grain=0.0, uneven=0.0)
    >>> lab.shape, int(STEPS[part[0, 0]])
    ((64, 96, 3), 4)
    """
    y, x = np.mgrid[:rows, :columns] / rows
    part = np.zeros((rows, columns), dtype=np.int64)
    for place, (*_, center_x, center_y, across, down, below) in enumerate(PARTS.tolist()):
        inside = ((x - center_x) / across) ** 2 + ((y - center_y) / down) ** 2 < 1
        part[inside & (y >= below)] = place
    xyz = xyz_from_lab(np.array([color_of(one) for one in PARTS]))[part]
    if soft:
        xyz = np.stack([ndimage.gaussian_filter(xyz[..., k], soft) for k in range(3)], axis=-1)
    chance = np.random.default_rng(seed)
    texture = ndimage.gaussian_filter(chance.standard_normal((rows, columns)), 4.0)
    lab = lab_from_xyz(xyz) + chance.normal(0.0, 1.0, xyz.shape) * grain
    lab[..., 0] += uneven * texture / texture.std()
    lab[..., 0] = np.clip(lab[..., 0], 0.0, 100.0)
    return lab, part


def color_of(part: FloatArray) -> FloatArray:
    """Return the CIELAB of a part of `PARTS`, shape (3,).

    >>> color_of(PARTS[0]).round(1).tolist()
    [88.2, 1.0, 7.0]
    """
    L = lab_from_xyz(WHITE_D50 * float(luminance_from_value(part[0])) / 100.0)[0]
    return np.array([float(L), *part[1:3]])


def lemons_png(drawing: LemonsDrawing | None = None) -> bytes:
    """Return the drawing as a PNG in sRGB."""
    content = io.BytesIO()
    lab, _ = drawing or draw_lemons()
    Image.fromarray(screen_pixels(lab)).save(content, "PNG")
    return content.getvalue()
