import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from laydown.media.film.film import (
    film,
    infinite,
    laid_on,
    layer,
    ratio_of,
    sunk,
)
from laydown.media.film.laying import FilmSurface

PUBLISHED = Path(__file__).parent.parent / "published"
amount = st.floats(0.0, 20.0)
share = st.floats(0.0, 1.0)


def read(name: str) -> list[dict[str, str]]:
    """Return the rows of a published table."""
    with (PUBLISHED / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def pigment(name: str) -> tuple[np.ndarray, np.ndarray]:
    """Return K and S of a published pigment, shape (3,) each."""
    row = next(row for row in read("watercolor_pigments.csv") if row["pigment"] == name)
    return tuple(np.array([float(row[f"{kind}_{i}"]) for i in (1, 2, 3)]) for kind in "KS")


@pytest.mark.parametrize(
    ("ratio", "reflectance"),
    [(0.01, 0.86823), (0.1, 0.64174), (1, 0.26795), (2, 0.17157), (10, 0.04555)],
)
def test_infinite_layer_is_the_closed_form(ratio: float, reflectance: float) -> None:
    """A layer without end reflects what the closed form says, and the ratio comes back."""
    assert infinite(ratio) == pytest.approx(reflectance, abs=5e-6)
    assert ratio_of(infinite(ratio)) == pytest.approx(ratio, rel=1e-9)


@pytest.mark.parametrize("row", read("watercolor_layers.csv"), ids=lambda row: row["top"])
def test_published_pigments_layer_as_computed_elsewhere(row: dict[str, str]) -> None:
    """Published pigments over white, black and each other come out to the last printed digit."""
    ground = np.full(3, float(row["ground"]))
    if row["bottom"]:
        ground = film(*pigment(row["bottom"]), ground)
    wanted = [float(row[f"R_{i}"]) for i in (1, 2, 3)]
    assert film(*pigment(row["top"]), ground) == pytest.approx(wanted, abs=5e-5)


def test_every_published_pigment_solves_the_differential_equations() -> None:
    """The closed form is the solution of Kubelka and Munk's equations, layer by layer."""
    for row in read("watercolor_pigments.csv"):
        for k, s in zip(*pigment(row["pigment"]), strict=True):
            # dR/dx = s − 2 (k + s) R + s R², from the ground up through a layer of thickness 1
            solved = solve_ivp(
                lambda _, r, k=k, s=s: s - 2.0 * (k + s) * r + s * r * r,
                (0.0, 1.0),
                [0.85],
                rtol=1e-10,
                atol=1e-12,
            )
            assert film(k, s, 0.85) == pytest.approx(solved.y[0, -1], abs=1e-8)


def test_sheets_look_as_the_standard_says() -> None:
    """60 g/m² of s 46.61 and k 1.165 m²/kg have R₀ .70, R∞ .80, opacity 87.5 % (ISO 9416)."""
    s, k = 46.61, 1.165
    single, pile = film(k * 0.06, s * 0.06, 0.0), film(k * 0.6, s * 0.6, 0.0)
    assert single == pytest.approx(0.70, abs=1e-4)
    assert pile == pytest.approx(0.80, abs=1e-4)
    assert single / pile == pytest.approx(0.875, abs=5e-4)


@given(k=amount, s=amount)
def test_a_layer_makes_no_light(k: float, s: float) -> None:
    """What a layer reflects and lets through is never more than what falls on it."""
    reflected, passed = layer(k, s)
    assert reflected >= 0
    assert passed >= 0
    assert reflected + passed <= 1 + 1e-12


@given(k=amount, s=amount, low=share, high=share)
def test_a_lighter_ground_never_gives_a_darker_film(
    k: float, s: float, low: float, high: float
) -> None:
    """The reflectance of a film rises with its ground, which the search's bound rests on."""
    low, high = sorted((low, high))
    assert film(k, s, low) <= film(k, s, high) + 1e-12


@given(k=amount, s=amount, cut=share, ground=share)
def test_a_layer_in_two_parts_is_the_layer(k: float, s: float, cut: float, ground: float) -> None:
    """Laying a film in two parts of the same stuff is laying it at once."""
    below = film(k * cut, s * cut, ground)
    assert film(k * (1 - cut), s * (1 - cut), below) == pytest.approx(film(k, s, ground), abs=1e-9)


def test_a_clear_layer_obeys_beer_and_a_white_one_covers() -> None:
    """Without scattering light passes the layer twice; without absorption a thick one is white."""
    assert film(0.7, 0.0, 0.8) == pytest.approx(0.8 * np.exp(-1.4))
    assert film(0.0, 1e5, 0.0) == pytest.approx(1.0, abs=1e-4)
    assert laid_on(*layer(0.0, 0.0), 0.31) == pytest.approx(0.31)


@given(amount, amount, share)
def test_what_sinks_into_no_surface_lies_on_top(k: float, s: float, ground: float) -> None:
    """In a surface that scatters nothing a wash is a film on its ground."""
    ground = max(ground, 1e-3)
    assert sunk(k, s, 0.0, ground) == pytest.approx(film(k, s, ground), abs=1e-9)


@given(st.floats(0.0, 10.0), st.floats(0.2, 1.0), st.floats(0.0, 10.0))
def test_a_surface_without_pigment_looks_as_it_did(
    surface: float, ground: float, more: float
) -> None:
    """Nothing laid changes nothing, whatever the surface; absorbing pigment only darkens."""
    assert sunk(0.0, 0.0, surface, ground) == pytest.approx(ground, abs=1e-9)
    assert sunk(more, 0.0, surface, ground) <= ground + 1e-9


@given(st.floats(0.3, 0.95), st.floats(0.5, 1.0), st.floats(0.5, 1.0))
def test_deep_in_the_fibers_absorption_adds(ground: float, one: float, other: float) -> None:
    """In a surface without end K/S of two washes and the paper add, in either order."""
    deep = 10.0
    both = sunk(one * deep, 0.0, deep, sunk(other * deep, 0.0, deep, ground))
    turned = sunk(other * deep, 0.0, deep, sunk(one * deep, 0.0, deep, ground))
    assert ratio_of(both) == pytest.approx(one + other + ratio_of(ground), rel=1e-5)
    assert turned == pytest.approx(both, abs=1e-6)


def test_glare_lies_over_whatever_is_seen() -> None:
    """What glare adds from above is taken off below, and black is never darker than it."""
    one = np.full((1, 1), 0.02)
    surface = FilmSurface(one, one, one)
    seen = np.linspace(0.021, 1.0, 9)[None]
    assert surface.above(surface.within(seen)) == pytest.approx(seen)
    assert surface.above(surface.within(np.zeros((1, 1)))) >= 0.02
