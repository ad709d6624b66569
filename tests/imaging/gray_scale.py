"""A gray scale of ASTM D1535 on a page, photographed in a light by a camera set for daylight."""

import io
from dataclasses import dataclass
from types import ModuleType

import numpy as np
from PIL import Image

from laydown.color.arrays import FloatArray
from laydown.color.value import luminance_from_value, value_from_luminance
from laydown.demo.photograph import Camera, Lamp, Scene, View, build_scene, photograph, seen_at
from laydown.imaging.picture import Picture, open_picture
from laydown.sheet.page import CellBox

VALUES = np.arange(1.0, 9.5, 0.5)
"""Of the patches, black to white."""
SIZE = (200.0, 140.0)
"""Of the page [mm]."""
RESOLUTION = 4.0
CARD = 0.18
"""Reflectance of the gray card."""
CARD_BOX = CellBox(150.0, 95.0, 30.0, 30.0)
PAPER_BOXES = tuple(
    CellBox(x, y, 14.0, 7.0)
    for x, y in ((8, 8), (90, 8), (170, 8), (8, 68), (180, 68), (8, 126), (90, 126), (170, 126))
)
"""Bare paper near the page's edges."""
VIEW = View(megapixels=1.0, tilt=12.0, toward=40.0, turn=4.0, fill=0.9)


@dataclass(frozen=True, eq=False)
class GrayScale:
    """A photograph of the scale, as opened, and where things are seen in it."""

    picture: Picture
    scene: Scene

    def place(self, box: CellBox) -> CellBox:
        """Return where the middle of a box of the page is seen."""
        corners = np.array([[box.left, box.top], [box.right, box.top], [box.right, box.bottom],
                            [box.left, box.bottom]])  # fmt: skip
        seen = seen_at(corners, self.scene, VIEW) / np.array(self.picture.size)
        (left, right), (top, bottom) = (np.sort(seen[:, k])[1:3] for k in (0, 1))
        width, height = right - left, bottom - top
        return CellBox(left + 0.1 * width, top + 0.1 * height, 0.8 * width, 0.8 * height)

    def values(self, balanced: Picture) -> FloatArray:
        """Return the value read of each patch."""
        rows, columns = balanced.opaque.shape
        read = []
        for box in patch_boxes():
            place = self.place(box)
            top, bottom = (round(v * rows) for v in (place.top, place.bottom))
            left, right = (round(v * columns) for v in (place.left, place.right))
            read.append(balanced.xyz[top:bottom, left:right, 1].mean(dtype=np.float64))
        return value_from_luminance(np.array(read))


def patch_boxes() -> list[CellBox]:
    """Return where the patches lie on the page [mm]."""
    return [CellBox(16.0 + 19.0 * (i % 9), 18.0 + 26.0 * (i // 9), 16.0, 20.0)
            for i in range(len(VALUES))]  # fmt: skip


def take(
    photos: ModuleType,
    *,
    sensitivities: FloatArray,
    lamp: str,
    daylight: str = "D50",
    lamps: list[Lamp] | None = None,
    seed: int = 0,
) -> GrayScale:
    """Photograph the scale by a lamp with a camera that balances for daylight."""
    rng = np.random.default_rng(seed)
    paper = photos.paper_spectrum()
    grays = [np.full(36, y / 100) for y in luminance_from_value(VALUES)]
    patches = [*zip(patch_boxes(), grays, strict=True), (CARD_BOX, np.full(36, CARD))]
    width, height = (round(side * RESOLUTION) for side in SIZE)
    scene = build_scene(
        np.full((height, width), 255, np.uint8),
        patches,
        paper=paper,
        table=photos.TABLE,
        resolution=RESOLUTION,
        rng=rng,
    )
    light = photos.spectrum(lamp)
    by_lamp, by_day = ((paper * s) @ sensitivities for s in (light, photos.spectrum(daylight)))
    cast = by_lamp / by_day
    camera = Camera(
        sensitivities, noise=0.006, quality=90, exposure=0.8, development=np.diag(cast / cast.max())
    )
    shone = lamps or [Lamp(light, 100.0, -200.0, 1200.0)]
    pixels = photograph(scene, VIEW, shone, camera, rng)
    content = io.BytesIO()
    Image.fromarray(pixels).save(content, "PNG", compress_level=1)
    return GrayScale(open_picture(content.getvalue(), source="scale", longest=1000), scene)
