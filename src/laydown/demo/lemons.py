"""A drawing that nobody drew: lemons in a blue bowl, from a few shapes, with every part known.

Invented, like all of the demo. Shapes are laid one over the other, each of one color; then edges
are softened and grain is added, as a photograph of a drawing would have them.
"""

import io
from dataclasses import dataclass

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


@dataclass(frozen=True, slots=True)
class DrawnPart:
    """A part of the drawing."""

    name: str
    passage: str
    """What it is."""
    value: float
    a: float
    b: float
    """Its color: value [0 to 10] and CIELAB a*, b*."""
    step: int
    """Its place in a plan of five values, 0 the darkest."""
    center: tuple[float, float]
    radii: tuple[float, float]
    """Of the ellipse it lies in, as shares of the drawing's height: x and y."""
    below: float = 0.0
    """Only what lies below this height is of it."""


WALL = DrawnPart("wall", "room", 8.8, 1.0, 7.0, 4, (0.75, 0.5), (9.0, 9.0))
PARTS = (
    WALL,
    DrawnPart("table", "room", 6.4, 7.0, 20.0, 3, (0.75, 9.7), (20.0, 9.0)),
    DrawnPart("cast shadow", "room", 2.9, 4.0, 2.0, 1, (0.86, 0.87), (0.56, 0.065)),
    DrawnPart("lemon behind, in shade", "lemons", 4.7, 4.0, 44.0, 2, (0.66, 0.38), (0.17, 0.16)),
    DrawnPart("lemon on the left", "lemons", 6.5, 2.0, 66.0, 3, (0.50, 0.43), (0.22, 0.17)),
    DrawnPart("its light", "lemons", 8.7, -4.0, 58.0, 4, (0.45, 0.37), (0.10, 0.07)),
    DrawnPart("lemon on the right", "lemons", 6.5, 2.0, 66.0, 3, (0.94, 0.42), (0.25, 0.18)),
    DrawnPart("its light", "lemons", 8.7, -4.0, 58.0, 4, (0.90, 0.34), (0.11, 0.07)),
    DrawnPart("bowl", "bowl", 4.5, 0.0, -38.0, 2, (0.72, 0.52), (0.46, 0.34), below=0.52),
    DrawnPart("bowl in shade", "bowl", 2.6, 6.0, -30.0, 1, (0.88, 0.52), (0.30, 0.32), below=0.52),
    DrawnPart("foot of the bowl", "bowl", 1.3, 3.0, -12.0, 0, (0.72, 0.86), (0.24, 0.04)),
)


@dataclass(frozen=True, slots=True, eq=False)
class LemonsDrawing:
    """The drawing, and what is true of each of its pixels."""

    lab: FloatArray
    """Shape (row, column, 3), CIELAB D50."""
    part: NDArray[np.int64]
    """Shape (row, column), the place in `PARTS` of what is seen there."""
    step: NDArray[np.int64]
    """Shape (row, column), its place in a plan of five values."""


def draw_lemons(
    *,
    rows: int = ROWS,
    columns: int = COLUMNS,
    soft: float = 1.5,
    grain: float = 1.0,
    uneven: float = 1.0,
    seed: int = SEED,
) -> LemonsDrawing:
    """Draw lemons in a blue bowl.

    Parameters
    ----------
    rows, columns
        Of the drawing [pixels].
    soft
        How far edges are blurred, in light [pixels, standard deviation].
    grain
        Noise of single pixels [CIELAB units per axis, standard deviation].
    uneven
        Texture some pixels wide, such as strokes leave [L*, standard deviation].
    seed
        Of both.

    Examples
    --------
    >>> drawing = draw_lemons(rows=64, columns=96, soft=0.0, grain=0.0, uneven=0.0)
    >>> drawing.lab.shape, int(drawing.step[0, 0])
    ((64, 96, 3), 4)
    """
    y, x = np.mgrid[:rows, :columns] / rows
    part = np.zeros((rows, columns), dtype=np.int64)
    for place, one in enumerate(PARTS):
        inside = ((x - one.center[0]) / one.radii[0]) ** 2 + (
            (y - one.center[1]) / one.radii[1]
        ) ** 2 < 1
        part[inside & (y >= one.below)] = place
    xyz = xyz_from_lab(np.array([color_of(one) for one in PARTS]))[part]
    if soft:
        xyz = np.stack([ndimage.gaussian_filter(xyz[..., k], soft) for k in range(3)], axis=-1)
    chance = np.random.default_rng(seed)
    texture = ndimage.gaussian_filter(chance.standard_normal((rows, columns)), 4.0)
    lab = lab_from_xyz(xyz) + chance.normal(0.0, 1.0, xyz.shape) * grain
    lab[..., 0] += uneven * texture / texture.std()
    lab[..., 0] = np.clip(lab[..., 0], 0.0, 100.0)
    return LemonsDrawing(lab, part, np.array([one.step for one in PARTS])[part])


def color_of(part: DrawnPart) -> FloatArray:
    """Return the CIELAB of a part, shape (3,).

    Examples
    --------
    >>> color_of(WALL).round(1).tolist()
    [88.2, 1.0, 7.0]
    """
    L = lab_from_xyz(WHITE_D50 * float(luminance_from_value(part.value)) / 100.0)[0]
    return np.array([float(L), part.a, part.b])


def lemons_png(drawing: LemonsDrawing | None = None) -> bytes:
    """Return the drawing as a PNG in sRGB.

    Examples
    --------
    ``Path("lemons.png").write_bytes(lemons_png())``
    """
    content = io.BytesIO()
    lab = (drawing or draw_lemons()).lab
    Image.fromarray(screen_pixels(lab)).save(content, "PNG")
    return content.getvalue()
