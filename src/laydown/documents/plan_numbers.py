"""Where the numbers stand on a printed plan: deep inside their regions, or at a leader's end."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from laydown.color.arrays import FloatArray
from laydown.documents.typefaces import MM, width
from laydown.plan.picture import Labels
from laydown.plan.regions import inner_places

SIZES = (8.5, 7.5, 6.5, 5.5, 4.5)
"""Of a number within its region, the largest that fits [points]."""
LED = 6.0
"""Of a number at a leader's end [points]."""
CAP = 0.7
"""Height of a figure against its type size."""
CLEAR = 0.35
"""Bare paper round a number [mm]."""
STEP = 0.7
"""Between the places that are tried for a number outside its region [mm]."""
LONGEST = 15.0
"""From a number outside its region to that; an eye loses a longer line in a crowd [mm]."""
MOST_TRIED = 100
"""Nearest clear places from which the line is looked at."""


@dataclass(frozen=True, slots=True)
class PlacedNumber:
    """A number on a plan.

    Parameters
    ----------
    region
        Number of the region that it stands for.
    text
        What is printed.
    x, y
        Its middle, from the picture's upper left corner [mm].
    size
        Of its type [points].
    point
        A place inside the region, to which a line leads where the number does not fit into it.
    """

    region: int
    text: str
    x: float
    y: float
    size: float
    point: tuple[float, float] | None = None

    @property
    def half(self) -> tuple[float, float]:
        """Half its width and half its height [mm]."""
        return width(self.text, self.size) / 2, CAP * self.size / MM / 2


def place_numbers(
    labels: Labels, texts: Mapping[int, str], *, picture_width: float
) -> tuple[PlacedNumber, ...]:
    """Place a number for each region.

    Parameters
    ----------
    labels
        Shape (row, column), region numbers; 0 for none.
    texts
        What to print for each region, by its number.
    picture_width
        On paper [mm].

    Returns
    -------
    tuple of PlacedNumber
        Large regions first. A region in a crowd too dense for its number has none.

    Notes
    -----
    A number stands where its region is deepest. Where even the smallest type crosses its border, it
    goes to the nearest place around where it crosses neither a border nor another number, and a
    short line leads from it into its region. Where there is no such place it stays, across its
    border, unless it would cover another number.

    Examples
    --------
    >>> (number,) = place_numbers(np.ones((40, 40), np.int32), {1: "3"}, picture_width=40.0)
    >>> number.text, number.size, number.point, abs(number.x - 20) <= 1
    ('3', 8.5, None, True)
    """
    pixel = picture_width / labels.shape[1]
    depth = _depth(labels) * pixel
    places = {n: at for n, at in inner_places(labels).items() if n in texts}
    deepest = sorted(places, key=lambda n: (-depth[places[n]], n))
    placed: list[PlacedNumber] = []
    for region in deepest:
        row, column = places[region]
        x, y = (column + 0.5) * pixel, (row + 0.5) * pixel
        inside = PlacedNumber(region, texts[region], x, y, SIZES[-1])
        found = _within(inside, depth[row, column]) or _led(inside, depth, pixel, placed)
        if found or _apart(inside, x, y, placed).all():
            placed.append(found or inside)
    return tuple(placed)


def _within(inside: PlacedNumber, room: float) -> PlacedNumber | None:
    """Return a number in the largest type that its region has room for [mm]."""
    sizes = (size for size in SIZES if _radius(inside.text, size) <= room)
    size = next(sizes, None)
    return replace(inside, size=size) if size else None


def _depth(labels: Labels) -> FloatArray:
    """Return how far each pixel's middle is from the nearest border or edge [pixels]."""
    around = np.pad(labels, 1, constant_values=-1)
    inside = np.ones(around.shape, dtype=bool)
    across, down = around[:, 1:] != around[:, :-1], around[1:] != around[:-1]
    inside[:, 1:] &= ~across
    inside[:, :-1] &= ~across
    inside[1:] &= ~down
    inside[:-1] &= ~down
    return np.asarray(ndimage.distance_transform_edt(inside)[1:-1, 1:-1] + 0.5)


def _radius(text: str, size: float) -> float:
    """Return the radius of the circle that a number needs [mm]."""
    return float(np.hypot(width(text, size) / 2, CAP * size / MM / 2)) + CLEAR


def _led(
    inside: PlacedNumber, depth: FloatArray, pixel: float, placed: list[PlacedNumber]
) -> PlacedNumber | None:
    """Move a number to the nearest clear place from which its line meets no other number."""
    moved = replace(inside, size=LED, point=(inside.x, inside.y))
    step = max(1, round(STEP / pixel))
    rows, columns = (np.arange(step // 2, side, step) for side in depth.shape)
    x, y = np.meshgrid((columns + 0.5) * pixel, (rows + 0.5) * pixel)
    far = np.hypot(x - inside.x, y - inside.y)
    free = (depth[np.ix_(rows, columns)] >= _radius(inside.text, LED)) & (far <= LONGEST)
    x, y, far = x[free], y[free], far[free]
    apart = _apart(moved, x, y, placed)
    x, y, far = x[apart], y[apart], far[apart]
    for best in np.argsort(far, kind="stable")[:MOST_TRIED]:
        found = replace(moved, x=float(x[best]), y=float(y[best]))
        if not any(_crosses(leader(found), other) for other in placed):
            return found
    return None


def _apart(
    number: PlacedNumber, x: FloatArray | float, y: FloatArray | float, placed: list[PlacedNumber]
) -> NDArray[np.bool_]:
    """Tell at which places a number covers no other."""
    apart = np.ones(np.shape(x), dtype=bool)
    half_x, half_y = number.half
    for other in placed:
        wide, high = other.half
        apart &= (np.abs(x - other.x) > half_x + wide + 2 * CLEAR) | (
            np.abs(y - other.y) > half_y + high + 2 * CLEAR
        )
    return apart


def _crosses(line: tuple[float, float, float, float] | None, other: PlacedNumber) -> bool:
    """Tell whether a line runs over a number: whether any side of the slanted box parts them."""
    if line is None:
        return False
    start, end = np.array(line[:2]), np.array(line[2:])
    half, middle = np.array(other.half), (start + end) / 2 - (other.x, other.y)
    along = (end - start) / 2
    across = np.array([-along[1], along[0]])
    parted = np.abs(middle) > half + np.abs(along)
    return not (parted.any() or abs(middle @ across) > half @ np.abs(across))


def leader(number: PlacedNumber) -> tuple[float, float, float, float] | None:
    """Return the line from a number's edge to its region: x and y of both ends [mm], or None."""
    if number.point is None:
        return None
    across, down = number.point[0] - number.x, number.point[1] - number.y
    wide, high = (half + CLEAR for half in number.half)
    share = min(wide / abs(across) if across else np.inf, high / abs(down) if down else np.inf, 1.0)
    return number.x + share * across, number.y + share * down, *number.point
