"""Outlines of regions, and where their numbers find room."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from laydown.color.arrays import FloatArray
from laydown.documents.print.layout import MM, width
from laydown.plan.picture.picture import Labels
from laydown.plan.picture.regions import inner_places

# The borders between regions as smooth lines in millimetres, each drawn once for both its sides.
#
# A picture's regions meet along the edges of its pixels. Those edges make lines that begin and
# end where three regions or more meet, or run in a ring. Each line is smoothed once, with its
# ends held: whatever two regions share they share afterwards, so that no gap opens and nothing
# overlaps twice.

Corner: TypeAlias = tuple[int, int]
"""Row and column of a corner between pixels."""
WITHIN = 0.5
"""Farthest that a line may come to lie from the pixels' own edge [mm]."""
FAITHFUL = 0.04
"""Share of that which is left for leaving points out."""
ROUNDS = 12
"""Rounds of smoothing, each the mean of a point and its two neighbors' mean (chosen)."""
Border: TypeAlias = tuple[FloatArray, tuple[int, int]]
"""A line between two regions: its points, shape (n, 2), x right and y down from the picture's
upper left corner [mm], a ring's last being its first; and the regions to the left and to the right
of its way, 0 outside all."""


def outlines(labels: Labels, *, width: float, within: float = WITHIN) -> tuple[Border, ...]:
    """Find the borders of a plan's regions as smooth lines, for a picture so wide on paper [mm].

    `labels`, shape (row, column), are region numbers; 0 for none. A line lies no farther than
    `within` [mm], besides half a pixel, from the pixels' own edge. The picture's own edge is among
    them where a region reaches it; its corners stay sharp.

    Points are the middles of pixels' edges; each moves no farther than `within` in all. Lines of
    regions narrower than twice that may touch. Points are left out by the rule of Douglas & Peucker
    (1973), The Canadian Cartographer 10, 112.

    Two halves meet in one line, which runs down the middle of 40 mm.

    >>> halves = np.array([[1, 1, 2, 2]] * 2)
    >>> (shared,) = [b for b in outlines(halves, width=40.0) if 0 not in b[1]]
    >>> shared[0].tolist(), shared[1]
    ([[20.0, 0.0], [20.0, 20.0]], (2, 1))
    """
    pixel = width / labels.shape[1]
    lines = _lines(labels)
    return tuple(_smooth(line, sides, labels.shape, pixel, within) for line, sides in lines)


def rings(borders: Sequence[Border]) -> dict[int, tuple[FloatArray, ...]]:
    """Join all of a plan's borders to closed outlines, by region: the outer one and those of holes.

    Each of shape (n, 2), the last point the first; filled by the even-odd rule they are the region.
    """
    loose: dict[int, dict[tuple[float, float], list[FloatArray]]] = defaultdict(
        lambda: defaultdict(list)
    )
    closed: dict[int, list[FloatArray]] = defaultdict(list)
    for line, sides in borders:
        for side, points in zip(sides, (line[::-1], line), strict=True):
            if side and _key(line[0]) == _key(line[-1]):
                closed[side].append(points)
            elif side:
                loose[side][_key(points[0])].append(points)
    for side, starts in loose.items():
        closed[side].extend(_joined(starts))
    return {side: tuple(closed[side]) for side in sorted(closed)}


def _key(point: FloatArray) -> tuple[float, float]:
    return float(point[0]), float(point[1])


def _joined(starts: dict[tuple[float, float], list[FloatArray]]) -> list[FloatArray]:
    """Follow lines that all have the region on their right, each to the next that begins there."""
    found = []
    for start in list(starts):
        while starts[start]:
            parts = [starts[start].pop()]
            while _key(parts[-1][-1]) != start:
                parts.append(starts[_key(parts[-1][-1])].pop())
            found.append(np.concatenate([part[:-1] for part in parts] + [parts[0][:1]]))
    return found


class _Edges:
    """Edges between unlike pixels, right of or below a corner, taken away as they are walked."""

    def __init__(self, labels: Labels) -> None:
        self.around = np.pad(labels, 1)
        self.level = np.zeros((labels.shape[0] + 1, labels.shape[1] + 1), bool)
        self.upright = self.level.copy()
        self.level[:, :-1] = self.around[:-1, 1:-1] != self.around[1:, 1:-1]
        self.upright[:-1] = self.around[1:-1, :-1] != self.around[1:-1, 1:]

    def ends(self) -> NDArray[np.bool_]:
        """Tell which corners end a line: where not just two edges meet, and the frame's corners."""
        met = self.level.astype(np.int8) + self.upright
        met[:, 1:] += self.level[:, :-1]
        met[1:] += self.upright[:-1]
        found = met > 2
        for row in (0, -1):
            for column in (0, -1):
                found[row, column] = met[row, column] > 0
        return found

    def next(self, row: int, column: int) -> Corner | None:
        """Take an edge that leaves a corner away, and return where it leads."""
        if self.level[row, column]:
            self.level[row, column] = False
            return row, column + 1
        if self.upright[row, column]:
            self.upright[row, column] = False
            return row + 1, column
        if column and self.level[row, column - 1]:
            self.level[row, column - 1] = False
            return row, column - 1
        if row and self.upright[row - 1, column]:
            self.upright[row - 1, column] = False
            return row - 1, column
        return None

    def sides(self, start: Corner, end: Corner) -> tuple[int, int]:
        """Return the regions left and right of the edge from one corner to the next."""
        (row, column), (down, across) = start, (end[0] - start[0], end[1] - start[1])
        upper, left = row + min(down, 0), column + min(across, 0)
        if across:
            above, below = self.around[row, left + 1], self.around[row + 1, left + 1]
            return (int(above), int(below)) if across > 0 else (int(below), int(above))
        before, after = self.around[upper + 1, column], self.around[upper + 1, column + 1]
        return (int(after), int(before)) if down > 0 else (int(before), int(after))


_Line: TypeAlias = tuple[list[Corner], tuple[int, int]]


def _lines(labels: Labels) -> list[_Line]:
    """Walk all edges: first from where lines end, then what is left, which runs in rings."""
    edges = _Edges(labels)
    ends = edges.ends()
    starts = [(int(r), int(c)) for r, c in np.argwhere(ends)]
    found = [line for start in starts for line in _from(start, edges, ends)]
    for row, column in np.argwhere(edges.level).tolist():
        found += _from((row, column), edges, ends)
    return found


def _from(start: Corner, edges: _Edges, ends: NDArray[np.bool_]) -> list[_Line]:
    found = []
    while (step := edges.next(*start)) is not None:
        corners = [start, step]
        while not ends[corners[-1]] and (onward := edges.next(*corners[-1])) is not None:
            corners.append(onward)
        found.append((corners, edges.sides(*corners[:2])))
    return found


def _smooth(
    corners: list[Corner],
    sides: tuple[int, int],
    shape: tuple[int, ...],
    pixel: float,
    within: float,
) -> Border:
    ring = corners[0] == corners[-1]
    at = np.array(corners, dtype=np.float64)[:, ::-1] * pixel
    middles = (at[:-1] + at[1:]) / 2
    points = np.vstack([middles, middles[:1]]) if ring else np.vstack([at[:1], middles, at[-1:]])
    moved = _moved(points, ring=ring)
    off = moved - points
    far = np.hypot(*off.T)[:, None]
    least = (1 - FAITHFUL) * within
    held = points + off * np.minimum(1.0, least / np.maximum(far, 1e-12))
    edge = np.array([shape[1], shape[0]]) * pixel
    return _fewer(np.clip(held, 0.0, edge), FAITHFUL * within), sides


def _moved(points: FloatArray, *, ring: bool) -> FloatArray:
    """Smooth a line, its ends held; a ring has none."""
    moved = points.copy()
    for _ in range(ROUNDS):
        if ring:
            body = moved[:-1]
            body = (body + (np.roll(body, 1, axis=0) + np.roll(body, -1, axis=0)) / 2) / 2
            moved = np.vstack([body, body[:1]])
        else:
            moved[1:-1] = (moved[1:-1] + (moved[:-2] + moved[2:]) / 2) / 2
    return moved


def _fewer(points: FloatArray, most: float) -> FloatArray:
    """Leave out points that lie on the line between others, to within so much [mm]."""
    keep = np.zeros(len(points), dtype=bool)
    keep[[0, -1]] = True
    ring = bool((points[0] == points[-1]).all())
    middle = int(np.hypot(*(points - points[0]).T).argmax()) if ring else 0
    keep[middle] = True
    spans = [(0, middle), (middle, len(points) - 1)] if ring else [(0, len(points) - 1)]
    while spans:
        first, last = spans.pop()
        if last - first < 2:
            continue
        off = _off_line(points[first + 1 : last], points[first], points[last])
        worst = int(off.argmax())
        if off[worst] > most:
            place = first + 1 + worst
            keep[place] = True
            spans += [(first, place), (place, last)]
    return np.asarray(points[keep])


def _off_line(points: FloatArray, start: FloatArray, end: FloatArray) -> FloatArray:
    """Return how far points lie from a straight line between two others."""
    along = end - start
    length = float(along @ along)
    share = np.clip((points - start) @ along / length, 0, 1) if length else np.zeros(len(points))
    return np.asarray(np.hypot(*(points - start - share[:, None] * along).T))


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
    """A number on a plan."""

    region: int
    """Number of the region that it stands for."""
    text: str
    """What is printed."""
    x: float
    y: float
    """Its middle, from the picture's upper left corner [mm]."""
    size: float
    """Of its type [points]."""
    point: tuple[float, float] | None = None
    """A place inside the region, to which a line leads where the number does not fit into it."""

    @property
    def half(self) -> tuple[float, float]:
        """Half its width and half its height [mm]."""
        return width(self.text, self.size) / 2, CAP * self.size / MM / 2


def place_numbers(
    labels: Labels, texts: Mapping[int, str], *, picture_width: float
) -> tuple[PlacedNumber, ...]:
    """Place the text of each region, on a picture so wide on paper [mm], large regions first.

    `labels`, shape (row, column), are region numbers; 0 for none. A number stands where its region
    is deepest. Where even the smallest type crosses its border, it goes to the nearest place around
    where it crosses neither a border nor another number, and a short line leads from it into its
    region. Where there is no such place it stays, across its border, unless it would cover another
    number: a region in a crowd too dense for its number has none.

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
        room = depth[row, column]
        size = next((size for size in SIZES if _radius(inside.text, size) <= room), None)
        found = replace(inside, size=size) if size else _led(inside, depth, pixel, placed)
        if found or _apart(inside, x, y, placed).all():
            placed.append(found or inside)
    return tuple(placed)


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
