"""Regions worth coloring: connected, wide enough for the tip of a tool, and large enough.

Three rules, in this order. What no disc as wide as the tip fits into (soft edges, lines, dust) goes
to what lies nearest. Areas of one class that meet then are one region, unless an unbroken line
parts them. At last the smallest region that is smaller than allowed joins a neighbor, until none
is: within its own part of the picture first, then the neighbor nearest in color, then the one with
the longest border.
"""

import heapq
from collections import defaultdict

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from laydown.color.arrays import FloatArray
from laydown.plan.picture.picture import Labels, PlanRules

BROKEN = 0.2
"""A line with a larger share of gaps parts nothing (chosen)."""


def worth_of(rules: PlanRules, columns: int) -> tuple[float, float]:
    """Return what the rules ask of a region: its tip and its least area, see `worthwhile`.

    >>> worth_of(PlanRules(width=100.0, least=25.0, tip=2.0), 1000)
    (20.0, 2500.0)
    """
    scale = columns / rules.width
    return rules.tip * scale, rules.least * scale**2


def pieces(classes: Labels) -> Labels:
    """Count the connected pieces of each class through, from 1; class 0 stays 0.

    `classes`: shape (row, column).

    >>> pieces(np.array([[5, 5, 0, 5]])).tolist()
    [[1, 1, 0, 2]]
    """
    found, total = np.zeros(classes.shape, dtype=np.int32), 0
    for number, box in enumerate(ndimage.find_objects(classes), start=1):
        if box is not None:
            part, count = ndimage.label(classes[box] == number)
            found[box] += np.where(part > 0, part + total, 0).astype(np.int32)
            total += count
    return found


def worthwhile(
    classes: Labels, parts: Labels, apart: FloatArray, *, tip: float, least: float
) -> Labels:
    """Find the regions worth coloring.

    `classes`: shape (row, column), the class of each pixel (its value step, or its color); 0 for
    none. `parts`: shape (row, column), the parts of the picture that regions must not cross; 0
    where classes are. `apart`: shape (classes + 1, classes + 1), how different classes are. `tip`:
    diameter of a disc that fits into a region [pixels]. `least`: its area [pixels]. Returns shape
    (row, column), regions numbered from 1; 0 for none.
    """
    grown, kinds = _grown(classes, parts, tip / 2.0)
    regions = _rejoined(pieces(grown), kinds, parts, classes == kinds)
    class_of, part_of = (_at_first(regions, seen) for seen in (kinds, parts))
    joined = _joined(regions, class_of, part_of, least, apart)
    return _in_order(joined[regions])


def hatched(classes: Labels, *, tip: float) -> NDArray[np.bool_]:
    """Find what is wide enough for the tip and of no class there, such as hatching and foliage.

    `classes`: shape (row, column); 0 for none. `tip`: diameter of a disc that fits into a region
    [pixels]. Returns shape (row, column): pixels that a disc covers in which no class has room for
    one.

    >>> classes = np.ones((40, 40), np.int32); classes[:, 10:30:2] = 2
    >>> found = hatched(classes, tip=6.0)
    >>> bool(found[20, 20]), bool(found[20, 3])
    (True, False)
    """
    inside = classes > 0
    dust = inside & ~_cores(classes, inside, tip / 2.0)
    return _opened(dust, inside & ~dust, tip / 2.0)


def majority(regions: Labels, classes: Labels) -> NDArray[np.int64]:
    """Return the class that most pixels of each region have, shape (regions + 1,); 0 at 0.

    >>> majority(np.array([[1, 1, 1, 2]]), np.array([[3, 3, 4, 4]])).tolist()
    [0, 3, 4]
    """
    wide = int(classes.max()) + 1
    codes, counts = np.unique(regions.astype(np.int64) * wide + classes, return_counts=True)
    order = np.argsort(counts, kind="stable")
    found = np.zeros(int(regions.max()) + 1, dtype=np.int64)
    found[codes[order] // wide] = codes[order] % wide
    found[0] = 0
    return found


def _grown(classes: Labels, parts: Labels, radius: float) -> tuple[Labels, Labels]:
    """Return for each pixel the piece and the class of the core that is nearest in its part."""
    numbers, kinds = np.zeros_like(classes), np.zeros_like(classes)
    total = 0
    for part, box in enumerate(ndimage.find_objects(parts), start=1):
        if box is None:
            continue
        inside = parts[box] == part
        own = np.where(inside, classes[box], 0)
        found = pieces(own)
        core = _cores(own, inside, radius)
        seeds = core if core.any() else found > 0
        at = ndimage.distance_transform_edt(~seeds, return_distances=False, return_indices=True)
        numbers[box][inside] = found[tuple(at)][inside] + total
        kinds[box][inside] = own[tuple(at)][inside]
        total += int(found.max())
    return numbers, kinds


def _rejoined(regions: Labels, kinds: Labels, parts: Labels, own: NDArray[np.bool_]) -> Labels:
    """Join regions of one class that meet, unless a line parts them.

    A line parts them if no more than `BROKEN` of where they meet is of their class by itself.
    """
    wide = int(regions.max()) + 1
    met, open_ = [], []
    for there, here in ((np.s_[:, :-1], np.s_[:, 1:]), (np.s_[:-1], np.s_[1:])):
        alike = (kinds[there] == kinds[here]) & (parts[there] == parts[here]) & (parts[here] > 0)
        a, b = regions[there], regions[here]
        places = alike & (a != b)
        low, high = np.minimum(a, b)[places], np.maximum(a, b)[places]
        met.append(low.astype(np.int64) * wide + high)
        open_.append((own[there] & own[here])[places])
    codes, of_pair = np.unique(np.concatenate(met), return_inverse=True)
    if not len(codes):
        return regions
    joined = np.bincount(of_pair, weights=np.concatenate(open_)) > BROKEN * np.bincount(of_pair)
    pairs = (np.ones(joined.sum(), dtype=np.bool_), (codes[joined] // wide, codes[joined] % wide))
    _, number = connected_components(coo_matrix(pairs, shape=(wide, wide)), directed=False)
    return np.where(regions > 0, number[regions] + 1, 0).astype(np.int32)


def _cores(own: Labels, inside: NDArray[np.bool_], radius: float) -> NDArray[np.bool_]:
    """Return the pixels that a disc within one class covers (its opening).

    The border of the picture, and of the part, parts nothing: beyond it everything is as inside.
    """
    found: NDArray[np.bool_] = np.zeros(own.shape, dtype=np.bool_)
    for kind in np.unique(own[inside]):
        mask: NDArray[np.bool_] = own == kind
        found |= _opened(mask, inside & ~mask, radius)
    return found


def _opened(mask: NDArray[np.bool_], apart: NDArray[np.bool_], radius: float) -> NDArray[np.bool_]:
    """Return what discs cover that lie in a mask and touch nothing of what is apart."""
    if not apart.any():
        return mask
    middle: NDArray[np.bool_] = mask & (ndimage.distance_transform_edt(~apart) > radius)
    if not middle.any():
        return middle
    return np.asarray(mask & (ndimage.distance_transform_edt(~middle) <= radius))


def _at_first(regions: Labels, seen: Labels) -> NDArray[np.int64]:
    """Return what is seen at the first pixel of each region, shape (regions + 1,)."""
    numbers, first = np.unique(regions, return_index=True)
    found = np.zeros(int(regions.max()) + 1, dtype=np.int64)
    found[numbers] = seen.ravel()[first]
    return found


def borders(regions: Labels) -> dict[int, dict[int, int]]:
    """Return for each region its neighbors and the length of the border with each [pixels].

    >>> borders(np.array([[1, 2], [1, 3]]))
    {1: {2: 1, 3: 1}, 2: {1: 1, 3: 1}, 3: {1: 1, 2: 1}}
    """
    wide = int(regions.max()) + 1
    found: dict[int, dict[int, int]] = defaultdict(dict)
    across = [(regions[:, :-1], regions[:, 1:]), (regions[:-1], regions[1:])]
    codes = [
        np.minimum(a, b)[met].astype(np.int64) * wide + np.maximum(a, b)[met]
        for a, b in across
        for met in [(a != b) & (a > 0) & (b > 0)]
    ]
    for code, count in zip(*np.unique(np.concatenate(codes), return_counts=True), strict=True):
        one, other = divmod(int(code), wide)
        found[one][other] = found[other][one] = int(count)
    return {number: found[number] for number in sorted(found)}


def inner_places(regions: Labels) -> dict[int, tuple[int, int]]:
    """Return for each region the pixel farthest from its edges, as row and column.

    >>> inner_places(np.array([[1, 1, 1], [1, 1, 1], [1, 1, 1]]))
    {1: (1, 1)}
    """
    found = {}
    for number, box in enumerate(ndimage.find_objects(regions), start=1):
        if box is not None:
            inside = np.pad(regions[box] == number, 1)
            depth = ndimage.distance_transform_edt(inside)[1:-1, 1:-1]
            row, column = np.unravel_index(int(np.argmax(depth)), depth.shape)
            found[number] = (int(row) + box[0].start, int(column) + box[1].start)
    return found


def _joined(
    regions: Labels,
    class_of: NDArray[np.int64],
    part_of: NDArray[np.int64],
    least: float,
    apart: FloatArray,
) -> Labels:
    """Return which region each one ends up in, shape (regions + 1,)."""
    area = np.bincount(regions.ravel(), minlength=len(class_of)).tolist()
    near = borders(regions)
    into = np.arange(len(area), dtype=np.int32)
    small = [(area[n], n) for n in range(1, len(area)) if area[n] < least]
    heapq.heapify(small)
    while small:
        size, one = heapq.heappop(small)
        if into[one] != one or size != area[one] or not near.get(one):
            continue
        other = min(
            near[one],
            key=lambda n: (
                part_of[n] != part_of[one],
                apart[class_of[n], class_of[one]],
                -near[one][n],
                n,
            ),
        )
        into[one] = other
        area[other] += size
        _meet(near, one, other)
        if area[other] < least:
            heapq.heappush(small, (area[other], other))
    while (into != into[into]).any():
        into = into[into]
    return into


def _meet(near: dict[int, dict[int, int]], one: int, other: int) -> None:
    """Give the borders of a region to the one it joins."""
    for neighbor, length in near.pop(one).items():
        del near[neighbor][one]
        if neighbor != other:
            near[other][neighbor] = near[other].get(neighbor, 0) + length
            near[neighbor][other] = near[other][neighbor]


def _in_order(labels: Labels) -> Labels:
    """Give regions the numbers 1, 2, 3 … from the largest to the smallest."""
    count = np.bincount(labels.ravel())
    count[0] = 0
    order = np.argsort(-count, kind="stable")
    number = np.zeros(len(count), dtype=np.int32)
    number[order] = np.arange(1, len(count) + 1)
    number[count == 0] = 0
    return number[labels]


# Line art, planned by the areas that its lines close: an outline drawing to color in.

INKED = 18.0
"""So much darker than the paper about it, a pixel is part of a line [L*] (chosen)."""
PAPER = 8.0
"""So near to the paper about it, a pixel is bare [L*] (chosen: grain and a lamp's slope)."""
GRAY = 12.0
"""Paper that was photographed has less chroma than this (chosen)."""
BARE = 0.6
"""Least share of a picture that is bare where it is line art (chosen)."""
SHARE = (0.003, 0.3)
"""Of a picture that is lines (chosen)."""
WIDE = 0.1
"""Largest share of what is dark that may be wider than a tip: lines are thin (chosen)."""
AROUND = 4.0
"""How far about a pixel its paper is looked for [tips]."""
GAP = 0.25
"""Gaps in a line up to twice this width are closed [tips]."""


def closed_areas(lab: FloatArray, *, tip: float, least: float) -> Labels | None:
    """Find the areas of a picture that is lines on paper.

    `lab`: shape (row, column, 3), CIELAB D50. `tip`, `least`: what an area must have to be colored,
    see `worthwhile`. Returns shape (row, column), areas numbered from 1, lines given to the
    nearest; None for a picture that is no line art, or whose lines close nothing.

    >>> lab = np.zeros((60, 90, 3)); lab[..., 0] = 95.0
    >>> lab[:, 44:46, 0] = 20.0
    >>> found = closed_areas(lab, tip=6.0, least=100.0)
    >>> int(found[30, 10]), int(found[30, 80])
    (1, 2)
    """
    lines = _lines(lab, tip)
    if lines is None:
        return None
    reach = max(1, min(8, round(GAP * tip)))
    y, x = np.ogrid[-reach : reach + 1, -reach : reach + 1]
    disc = x * x + y * y <= reach * reach
    closed = ndimage.binary_closing(np.pad(lines, 9, mode="edge"), disc)
    found, _ = ndimage.label(~(closed[9:-9, 9:-9] | lines))
    seeds = _in_order(np.where((np.bincount(found.ravel()) >= least)[found], found, 0))
    if seeds.max() < 2:
        return None
    at = ndimage.distance_transform_edt(seeds == 0, return_distances=False, return_indices=True)
    return np.asarray(seeds[tuple(at)])


def _lines(lab: FloatArray, tip: float) -> NDArray[np.bool_] | None:
    """Return where the lines are; None where there is more than lines on bare paper."""
    light = lab[..., 0]
    size = 2 * round(AROUND * tip) + 1
    paper = ndimage.gaussian_filter(ndimage.maximum_filter(light, size), size / 4)
    darker = paper - light
    lines: NDArray[np.bool_] = darker > INKED
    bare = (darker < PAPER) & (np.hypot(lab[..., 1], lab[..., 2]) < GRAY)
    if bare.mean() < BARE or not SHARE[0] < lines.mean() < SHARE[1]:
        return None
    wide = ndimage.distance_transform_edt(lines) > tip / 2
    return None if wide.sum() > WIDE * lines.sum() else lines
