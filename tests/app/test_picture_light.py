"""A person names what is known in a picture, and where."""

import numpy as np
import pytest

from laydown.app.pictures.plans import in_its_light
from laydown.color.lab import WHITE_D50
from laydown.errors import BadFileError, LaydownError
from laydown.imaging.picture import Picture
from laydown.store.library import Library


@pytest.fixture
def picture() -> Picture:
    """Return a warm picture of one light."""
    plane = np.broadcast_to(WHITE_D50 * [0.4, 0.35, 0.2], (40, 60, 3)).astype(np.float32)
    return Picture("warm", plane, np.ones((40, 60), bool), (600, 400))


@pytest.mark.parametrize(
    ("white", "luminance"),
    [
        (("gray@50%,50%",), 18.0),
        (("gray card@300,200,50,50",), 18.0),
        (("value:5@10%,10%,20%,20%",), 19.27),
        (("90%@10%,10%",), 90.0),
        (("90%@10%,10%", "90 %@80%,80%"), 90.0),
    ],
)
def test_what_is_named_has_its_light_afterwards(
    library: Library, picture: Picture, white: tuple[str, ...], luminance: float
) -> None:
    """A card, a value or a reflectance is what the place becomes."""
    made = in_its_light(library, picture, white)
    assert np.allclose(made.xyz, WHITE_D50 * luminance / 100, rtol=2e-3)


def test_bare_paper_is_the_papers_own_light(library: Library, picture: Picture) -> None:
    """The paper comes from the library; one that was never measured is said to be so."""
    with library.work("add a paper") as work:
        work.add_paper("Tern")
    made = in_its_light(library, picture, ["paper@10%,10%,30%,30%"], paper="Tern")
    assert made.xyz[0, 0, 1] > 70
    assert "bare paper, Tern (not measured)" in " ".join(made.notes)
    named = in_its_light(library, picture, ["paper Tern@10%,10%,30%,30%"])
    assert np.allclose(named.xyz, made.xyz)


def test_nothing_named_is_rough(library: Library, picture: Picture) -> None:
    """Without a place of known color the picture stays, and the warning says that it is rough."""
    made = in_its_light(library, picture, [])
    assert np.array_equal(made.xyz, picture.xyz)
    assert "rough" in made.notes[-1]


@pytest.mark.parametrize(
    "white",
    ["paper", "@5,5", "gray@", "gray@here", "value:11@5,5", "0%@5,5", "120%@5,5", "blue@5,5",
     "paper Nowhere@5,5", "value:x@5,5", "gray blue@5,5"],
)  # fmt: skip
def test_a_slip_is_told_and_how_to_write_it(library: Library, picture: Picture, white: str) -> None:
    """Whatever is written wrong comes back with a hint."""
    with pytest.raises(LaydownError) as raised:
        in_its_light(library, picture, [white])
    assert raised.value.hint


def test_a_chart_stands_alone(library: Library, picture: Picture) -> None:
    """Nothing is named beside a chart."""
    with pytest.raises(BadFileError, match="by itself"):
        in_its_light(library, picture, ["chart", "gray@5,5"])
    with pytest.raises(BadFileError, match="no 24-patch"):
        in_its_light(library, picture, ["chart"])
