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
from laydown.color.lab import lab_from_xyz, xyz_from_lab
from laydown.color.screen import screen_pixels
from laydown.color.value import gray_of_value
from laydown.demo.files import read_rows

ROWS, COLUMNS = 640, 960
SEED = 20261125


PARTS: FloatArray = np.array(
    [list(map(float, [*row.values()][1:])) for row in read_rows("lemons_drawing.csv")]
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
    return np.array([lab_from_xyz(gray_of_value(part[0]))[0], *part[1:3]])


def lemons_png(drawing: LemonsDrawing | None = None) -> bytes:
    """Return the drawing as a PNG in sRGB."""
    content = io.BytesIO()
    lab, _ = drawing or draw_lemons()
    Image.fromarray(screen_pixels(lab)).save(content, "PNG")
    return content.getvalue()
