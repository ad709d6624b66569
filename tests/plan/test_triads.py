"""Light, middle and dark of each color, on the invented range Quay."""

from itertools import pairwise

import numpy as np
import pytest

from laydown.match.ranking import Limits
from laydown.match.search.repertoire import Repertoire, repertoire
from laydown.media.marker.model import MarkerFit
from laydown.plan.run.runs import at_value, one_coats, shade
from laydown.plan.run.triads import Source, Triad, tone_words, triad_words, triads


@pytest.fixture(scope="module")
def single(quay: MarkerFit) -> Repertoire:
    """Return all ways to lay one marker."""
    return repertoire(quay, limits=Limits(steps=1, coats=2))


@pytest.fixture(scope="module")
def found(quay: MarkerFit, single: Repertoire) -> dict[str, Triad]:
    """Return the triad of each marker by its name."""
    all_found = triads(one_coats(quay), single=single, recipes=repertoire(quay))
    return {triad.name: triad for triad in all_found}


def test_the_grays_shade_each_other(found: dict[str, Triad]) -> None:
    """A light and a middle gray belong to one triad, and the paper is the light of the palest."""
    assert triad_words(found["Fog"]) == "the bare paper – Fog – Slate"
    assert triad_words(found["Slate"]) == "Fog – Slate – 2 coats Slate"
    assert found["Slate"].complete


def test_what_is_missing_is_a_recipe_of_the_hue(found: dict[str, Triad]) -> None:
    """The red without a light one is told the recipe that makes it, which is lighter and red."""
    brick = found["Brick"]
    assert brick.light.source is Source.RECIPE
    assert not brick.complete
    assert brick.light.shade is not None
    assert brick.middle.shade is not None
    assert brick.light.shade.value >= brick.middle.shade.value + 0.5
    hues = [
        np.arctan2(tone.lab[2], tone.lab[1]) for tone in (brick.light.shade, brick.middle.shade)
    ]
    assert np.degrees(abs(hues[1] - hues[0])) < 30
    assert tone_words(brick.light).startswith("make it: 1 coat Rose")


def test_what_could_be_bought_is_of_the_hue_too(quay: MarkerFit, single: Repertoire) -> None:
    """Of two pale colors in a shop the one of the red's own hue is named, and never a green."""
    coats = one_coats(quay)
    brick = next(coat for coat in coats if coat.name == "Brick")
    pink = shade("Pink", at_value(brick.lab, brick.value + 1.2))
    mint = shade("Mint", pink.lab * [1.0, -1.0, -1.0])
    recipes = repertoire(quay, limits=Limits(steps=1, coats=1))
    for shop, words in (((mint, pink), "none; buy Pink"), ((mint,), "none")):
        light = triads([brick], single=single, recipes=recipes, shop=shop)[0].light
        assert tone_words(light) == words


def test_each_triad_falls_in_value(found: dict[str, Triad]) -> None:
    """From light to dark each tone is darker by half a value step at least, the paper's own aside,
    and the color itself stands in its seat.
    """
    for triad in found.values():
        tones = [tone.shade for tone in triad.tones if tone.shade]
        assert any(tone.name == triad.name for tone in tones)
        for lighter, darker in pairwise(tones):
            least = 0.0 if lighter.name == "bare paper" else 0.5
            assert lighter.value - darker.value > least - 1e-9


def test_black_is_the_dark_of_others(quay: MarkerFit, single: Repertoire) -> None:
    """A black beside grays has no dark of its own: it is the dark of these."""
    grays = [shade(f"gray {L}", np.array([L, 0.0, 0.0])) for L in (80.0, 50.0, 20.0)]
    recipes = repertoire(quay, limits=Limits(steps=1, coats=1))
    triad = triads(grays, single=single, recipes=recipes)[-1]
    assert (triad.seat, triad_words(triad)) == ("dark", "gray 80.0 – gray 50.0 – gray 20.0")
