"""What lies between two colors, on the invented range Quay."""

from itertools import pairwise

import numpy as np
import pytest

from laydown.match.mud import chroma_lost, mud_in
from laydown.match.ranking import Limits
from laydown.match.search.repertoire import repertoire
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Recipe, Step
from laydown.plan.run.partners import Gradient, gradient
from laydown.plan.run.runs import Shade, one_coats


@pytest.fixture(scope="module")
def coats(quay: MarkerFit) -> dict[str, Shade]:
    """Return one coat of each marker by name."""
    return {s.name: s for s in one_coats(quay)}


def between(quay: MarkerFit, coats: dict[str, Shade], first: str, second: str) -> Gradient:
    """Return the gradient of two markers by name."""
    rest = frozenset(c.label for c in quay.colorants if c.name not in {first, second})
    together = repertoire(quay, limits=Limits(steps=2, coats=2, without=rest))
    others = list(coats.values())
    return gradient(coats[first], coats[second], fit=quay, together=together, others=others)


def test_what_lies_between_is_made_of_both_and_comes_nearer_step_by_step(
    quay: MarkerFit, coats: dict[str, Shade]
) -> None:
    """Each step holds both colors and no third, and lies further along the way than the last."""
    made = between(quay, coats, "Straw", "Rose")
    way = made.second.lab - made.first.lab
    assert len(made.between) >= 2
    for step in made.between:
        assert step.recipe is not None
        assert {c.name for c in step.recipe.colorants} == {"Straw", "Rose"}
    along = [float(np.dot(one.lab - made.first.lab, way)) for one in made.shades]
    assert all(a < b for a, b in pairwise(along))


def test_opposites_go_muddy_and_neighbors_do_not(quay: MarkerFit, coats: dict[str, Shade]) -> None:
    """Mud is said just where a step loses as much chroma as the table says and keeps little."""
    said = set()
    for first, second in (
        ("Ochre", "Navy"),
        ("Straw", "Ochre"),
        ("Brick", "Sky"),
        ("Fog", "Slate"),
        ("Straw", "Sky"),
    ):
        made = between(quay, coats, first, second)
        lost = [chroma_lost(quay, one.recipe) for one in made.between if one.recipe]
        kept = [float(np.hypot(*one.lab[1:])) for one in made.between if one.recipe]
        dull = [a >= 8.0 and b <= 0.45 * (a + b) for a, b in zip(lost, kept, strict=True)]
        assert made.muddy == any(dull)
        assert made.words.startswith("These two go muddy") == made.muddy
        said.add(made.muddy)
    assert said == {True, False}


def test_a_way_round_the_mud_is_vivid_and_clean(quay: MarkerFit, coats: dict[str, Shade]) -> None:
    """The third color to go by way of is no gray, and goes muddy with neither end."""
    found = [
        between(quay, coats, first, second)
        for first, second in (("Ochre", "Navy"), ("Ochre", "Sky"), ("Brick", "Sky"))
    ]
    ways = [made for made in found if made.by_way_of]
    assert ways
    for made in ways:
        way = coats[made.by_way_of]
        for end in (made.first, made.second):
            steps = [Step(c) for s in (end, way) if s.recipe for c in s.recipe.colorants]
            orders = (Recipe(tuple(steps)), Recipe(tuple(steps[::-1])))
            assert not all(mud_in(quay, laid) for laid in orders)
        assert coats[made.by_way_of].chroma > 0.03
        assert made.words.endswith(f"go by way of {made.by_way_of}.")
