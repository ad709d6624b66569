"""What is known in a picture takes the color and the unevenness of its light out."""

import importlib.util
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from laydown.color.lab import WEIGHTS_D50, WHITE_D50
from laydown.demo.photograph import Lamp
from laydown.errors import BadFileError
from laydown.imaging.balance import (
    balanced,
    balanced_by_chart,
    gray_of_value,
    read_place,
    unbalanced,
)
from laydown.imaging.chart import chart_xyz
from laydown.imaging.picture import Picture
from laydown.sheet.page import CellBox

GRAYS = (1.0, 2.0, 3.5, 6.0, 8.0)
"""Values of the grays named to a camera that bends what it sees."""
WITHIN = 0.2
"""A gray scale is read back within so much of a value."""
ALL = CellBox(0.0, 0.0, 1.0, 1.0)


@pytest.fixture(scope="session")
def scale(photos: ModuleType) -> ModuleType:
    """Return the module that photographs gray scales."""
    name = "laydown_test_gray_scale"
    if name not in sys.modules:
        path = Path(__file__).parent / "gray_scale.py"
        spec = importlib.util.spec_from_file_location(name, path)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]


@pytest.fixture(scope="module")
def seen(photos: ModuleType, scale: ModuleType) -> Callable[[str, str], Any]:
    """Return how a camera sees the gray scale by a lamp: each photographed once."""
    return cache(
        lambda camera, lamp: scale.take(
            photos, sensitivities=sensitivities(photos, camera), lamp=lamp
        )
    )


def sensitivities(photos: ModuleType, camera: str) -> np.ndarray:
    """Return a camera by a short name."""
    if camera == "colorimetric":
        return photos.colorimetric()
    return photos.measured_cameras()[int(camera[-1])]


def flat(xyz: np.ndarray, *, rows: int = 60, columns: int = 90) -> Picture:
    """Return a picture of one light all over."""
    plane = np.broadcast_to(xyz, (rows, columns, 3)).astype(np.float32).copy()
    opaque = np.ones((rows, columns), dtype=bool)
    return Picture("flat", plane, opaque, (columns * 4, rows * 4))


@pytest.mark.parametrize("lamp", ["D65", "A", "LED-B3", "FL11"])
@pytest.mark.parametrize("camera", ["colorimetric", "measured 0", "measured 1"])
def test_a_gray_scale_is_read_back_by_paper_and_by_a_gray_card(
    photos: ModuleType, scale: ModuleType, seen: Callable, camera: str, lamp: str
) -> None:
    """Seventeen grays of values 1 to 9 come back within a fifth of a value, by cameras set for
    daylight in warm and cold light, where without a balance they are off by more than half.
    """
    taken = seen(camera, lamp)
    paper = photos.paper_spectrum() @ WEIGHTS_D50
    by_paper = [(taken.place(box), paper, "bare paper") for box in scale.PAPER_BOXES]
    by_card = [(taken.place(scale.CARD_BOX), scale.CARD * WHITE_D50, "a gray card")]
    for known in (by_paper, by_paper[:1], by_card):
        read = taken.values(balanced(taken.picture, known))
        assert np.abs(read - scale.VALUES).max() < WITHIN
    assert np.abs(taken.values(unbalanced(taken.picture)) - scale.VALUES).max() > 0.5


def test_uneven_light_is_taken_out_by_paper_in_several_places(
    photos: ModuleType, scale: ModuleType
) -> None:
    """With half the light at one end, paper all round gives every value; one place does not."""
    lamps = [Lamp(photos.spectrum("LED-B3"), -150.0, -100.0, 350.0)]
    taken = scale.take(
        photos, sensitivities=photos.measured_cameras()[0], lamp="LED-B3", lamps=lamps
    )
    paper = photos.paper_spectrum() @ WEIGHTS_D50
    known = [(taken.place(box), paper, "bare paper") for box in scale.PAPER_BOXES]
    evened = balanced(taken.picture, known)
    assert np.abs(taken.values(evened) - scale.VALUES).max() < WITHIN
    assert any("Uneven light is taken out" in note for note in evened.notes)
    alone = balanced(taken.picture, known[:1])
    assert np.abs(taken.values(alone) - scale.VALUES).max() > WITHIN
    assert any("taken as even" in note for note in alone.notes)


@pytest.mark.parametrize("flare", [0.0, 0.015])
@pytest.mark.parametrize("bend", [0.0, 0.2])
def test_grays_of_several_values_take_the_cameras_curve_out(
    photos: ModuleType, scale: ModuleType, seen: Callable, bend: float, flare: float
) -> None:
    """A camera that deepens shadows, and a lens that lets light stray, put dark values off by more
    than allowed; paper and five grays of the scale mend all seventeen.
    """
    taken = seen("measured 0", "A")
    bent = replace(taken.picture, xyz=as_a_camera_would(taken.picture.xyz, bend, flare))
    paper = photos.paper_spectrum() @ WEIGHTS_D50
    known = [(taken.place(box), paper, "bare paper") for box in scale.PAPER_BOXES]
    boxes = dict(zip(scale.VALUES.tolist(), scale.patch_boxes(), strict=True))
    grays = [(taken.place(boxes[v]), gray_of_value(v), "a gray") for v in GRAYS]
    mended = balanced(bent, known + grays)
    assert np.abs(taken.values(mended) - scale.VALUES).max() < WITHIN
    if bend or flare:
        assert np.abs(taken.values(balanced(bent, known)) - scale.VALUES).max() > WITHIN
    swapped = [(grays[2][0], *grays[1][1:]), (grays[1][0], *grays[2][1:])]
    with pytest.raises(BadFileError, match="lighter one is seen as the darker"):
        balanced(bent, [*known, grays[0], *swapped])


def as_a_camera_would(xyz: np.ndarray, bend: float, flare: float) -> np.ndarray:
    """Deepen shadows and lift lights of encoded signals, and add a share of white everywhere."""
    coded = np.clip(xyz / WHITE_D50, 0, 1) ** (1 / 2.2)
    deeper = coded - bend / (2 * np.pi) * np.sin(2 * np.pi * coded)
    return ((deeper**2.2 * (1 - flare) + flare) * WHITE_D50).astype(np.float32)


@given(
    st.tuples(*[st.floats(0.2, 1.0)] * 3),
    st.floats(1.5, 9.5),
)
def test_a_place_comes_out_as_what_it_was_named(
    light: tuple[float, float, float], value: float
) -> None:
    """Whatever the light, the named place has its known color afterwards."""
    wanted = gray_of_value(value)
    seen = flat(np.maximum(wanted * light, 1.5))
    made = balanced(seen, [(ALL, wanted, "a card")])
    assert np.allclose(made.xyz, wanted, rtol=1e-3)


def test_a_chart_mends_the_cameras_colors() -> None:
    """Colors that a matrix has mixed up come back by the chart within a unit and a half."""
    mixed = np.array([[0.7, 0.25, 0.05], [0.15, 0.8, 0.05], [0.0, 0.1, 0.5]])
    plane = np.full((300, 420, 3), 6.0)
    for index, xyz in enumerate(chart_xyz() @ mixed):
        row, column = divmod(index, 6)
        plane[30 + 60 * row : 75 + 60 * row, 35 + 60 * column : 80 + 60 * column] = xyz
    picture = Picture("chart", plane.astype(np.float32), np.ones((300, 420), bool), (420, 300))
    made = balanced_by_chart(picture)
    patch = made.lab[40:65, 45:70].mean(axis=(0, 1))
    wanted = Picture("", chart_xyz()[:1, None].astype(np.float32), np.ones((1, 1), bool), (1, 1))
    assert np.abs(patch - wanted.lab[0, 0]).max() < 1.5
    with pytest.raises(BadFileError, match="no 24-patch reference chart"):
        balanced_by_chart(flat(WHITE_D50 / 2))


def test_a_place_is_read_in_pixels_or_percent() -> None:
    """Pixels are those of the whole picture; a point is a small square round it."""
    assert read_place("10%, 50%, 20%, 40", size=(800, 400)) == CellBox(0.1, 0.5, 0.2, 0.1)
    point = read_place("400,200", size=(800, 400))
    assert point.center == pytest.approx((0.5, 0.5))
    corner = read_place("100%,0%", size=(800, 400))
    assert corner.right == pytest.approx(1.0)
    assert corner.top == 0.0


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "no place"),
        ("here", "no place"),
        ("1,2,3", "no place"),
        ("-5,10", "no place"),
        ("nan,10", "no place"),
        ("900,10", "outside"),
        ("101%,10%", "outside"),
        ("90%,10%,20%,10%", "outside"),
        ("10%,10%,0%,10%", "outside"),
    ],
)
def test_what_is_no_place_is_refused(text: str, told: str) -> None:
    """A slip in a place is told with the form that it must have."""
    with pytest.raises(BadFileError, match=told) as raised:
        read_place(text, size=(800, 400))
    assert raised.value.hint


def test_what_is_doubtful_is_told() -> None:
    """A black place is refused; a burnt-out one, one of two colors and a wrong one are told."""
    white = gray_of_value(9.5)
    with pytest.raises(BadFileError, match="is black there"):
        balanced(flat(WHITE_D50 * 0.001), [(ALL, white, "bare paper")])
    burnt = balanced(flat(WHITE_D50), [(ALL, white, "bare paper")])
    assert any("as bright as the file can say" in note for note in burnt.notes)
    two = flat(WHITE_D50 * 0.8)
    two.xyz[:20] = 10.0
    assert any("not of one color" in n for n in balanced(two, [(ALL, white, "paper")]).notes)
    half = CellBox(0.0, 0.0, 1.0, 0.3)
    assert any("brighter than white" in n for n in balanced(two, [(half, white, "p")]).notes)
    assert "screen estimate" in unbalanced(two).notes[-1]
