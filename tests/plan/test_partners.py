"""Partners and mendings, on the invented range Quay."""

import numpy as np
import pytest

from laydown.match.mud import mud_in
from laydown.match.search.repertoire import Repertoire, repertoire
from laydown.media.marker.model import MarkerFit
from laydown.plan.run.partners import partner_costs, partners
from laydown.plan.run.runs import (
    Shade,
    find_runs,
    lonely,
    mend_gaps,
    mending,
    one_coats,
    rated,
    shade,
    tones_of,
)


@pytest.fixture(scope="module")
def coats(quay: MarkerFit) -> dict[str, Shade]:
    """Return one coat of each marker by name."""
    return {s.name: s for s in one_coats(quay)}


@pytest.fixture(scope="module")
def recipes(quay: MarkerFit) -> Repertoire:
    """Return all short recipes of the range."""
    return repertoire(quay)


def test_a_partner_is_of_the_right_value_and_hue(quay: MarkerFit, coats: dict[str, Shade]) -> None:
    """Straw's shadow is Ochre, which is darker and of about its hue; Fog's is Slate."""
    found = partners(coats["Straw"], list(coats.values()), quay)
    shadows = [p for p in found if p.role == "shadow"]
    assert [p.shade.name for p in shadows] == ["Ochre"]
    assert partners(coats["Fog"], list(coats.values()), quay)[0].shade.name == "Slate"
    assert all(p.step < 0 for p in shadows)
    assert all(p.step > 0 for p in found if p.role == "highlight")
    assert [p.cost for p in shadows] == sorted(p.cost for p in shadows)


def test_a_blend_that_loses_chroma_warns_of_mud(quay: MarkerFit, coats: dict[str, Shade]) -> None:
    """The warning stands where layering loses as much chroma as the table calls mud."""
    all_found = [
        found
        for own in coats.values()
        for found in partners(own, list(coats.values()), quay, count=9)
    ]
    for found in all_found:
        assert bool(found.mud) == (mud_in(quay, found.blend.recipe) >= 8.0)
        assert found.blend.recipe.coats == 2
    assert all_found


def test_every_shade_is_in_a_run_or_lonely(coats: dict[str, Shade]) -> None:
    """No colorant falls between."""
    shades = list(coats.values())
    runs = find_runs(shades)
    alone = {s.name for s in lonely(shades, runs)}
    assert alone | {n for run in runs for n in run.names} == set(coats)
    assert not alone & {n for run in runs for n in run.names}


def test_black_has_no_shadow_and_another_hue_is_none(
    quay: MarkerFit, coats: dict[str, Shade]
) -> None:
    """Nothing is the shadow of a black, and no color of another hue is a highlight or a shadow."""
    black = shade("black", np.array([18.0, -1.0, -2.0]))
    blacker = shade("blacker", np.array([8.0, -1.0, -2.0]))
    red, green = np.array([50.0, 45.0, 20.0]), np.array([70.0, 20.0, 45.0])
    assert partner_costs(black, tones_of(blacker.lab[None]), "shadow") == np.inf
    assert partner_costs(shade("red", red), tones_of(green[None]), "highlight") == np.inf
    for own in coats.values():
        for found in partners(own, list(coats.values()), quay, count=9):
            assert abs(found.turn) < 16.0, (own.name, found.shade.name)


def test_a_missing_shade_that_can_be_bought_is_named(recipes: Repertoire) -> None:
    """The nearest of the shop stands beside the nearest recipe."""
    lab = np.array([60.0, 10.0, 10.0])
    shop = [shade("far", np.array([20.0, 0.0, 0.0])), shade("near", lab + 0.5)]
    found = mending("somewhere", lab, recipes, shop)
    assert found.purchase == "near"
    assert found.purchase_off < 1.0


def test_a_gap_in_a_run_is_mended_halfway(recipes: Repertoire) -> None:
    """A step of twice the others is a gap, and what is missing lies in its middle."""
    grays = [shade(f"gray {L}", np.array([float(L), 0.0, 0.0])) for L in (90, 80, 70, 60, 40, 30)]
    (found,) = mend_gaps(rated(grays), recipes)
    assert found.place == "between gray 60 and gray 40"
    assert found.lab.tolist() == [50.0, 0.0, 0.0]
