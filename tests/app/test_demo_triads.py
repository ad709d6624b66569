"""Every color of the demo has its triad."""

from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path

import pytest

from laydown.app.fits import Supplies
from laydown.app.library import Library, open_named
from laydown.app.runs import ListRuns, list_partners, list_runs
from laydown.plan.run.runs import turn


@pytest.fixture(scope="module")
def demo(
    tmp_path_factory: pytest.TempPathFactory, lay_demo: Callable[[Path], Path]
) -> Iterator[Library]:
    """Return a library with the demo's ranges, which nothing here changes."""
    library = open_named(str(lay_demo(tmp_path_factory.mktemp("triads") / "library.db")))
    yield library
    library.close()


@pytest.mark.parametrize("named", ["Orchard", "Millrace"])
def test_every_color_of_the_demo_has_its_light_middle_and_dark(demo: Library, named: str) -> None:
    """Each marker but the blender, and each pan, has a triad of its own hue, and none is alone."""
    found = list_runs(demo, ListRuns(Supplies(ranges=(named,), paper="Gannet smooth")))
    assert len(found.triads) == {"Orchard": 35, "Millrace": 24}[named]
    assert all(triad.complete for triad in found.triads)
    assert found.alone == ()
    for triad in found.triads:
        shades = [tone.shade for tone in triad.tones if tone.shade]
        for lighter, darker in pairwise(shades):
            assert lighter.value > darker.value
            if min(lighter.chroma, darker.chroma) > 0.03:
                assert abs(turn(lighter.hue, darker.hue)) < 16.0


def test_a_pan_with_more_water_is_a_run(demo: Library) -> None:
    """Each of the 24 pans is a run by itself, from much water to none."""
    found = list_runs(demo, ListRuns(Supplies(ranges=("Millrace",), paper="Gannet smooth")))
    names = {run.names for run in found.runs}
    for triad in found.triads:
        strengths = (" (dilution 0.75)", " (dilution 0.5)", "", "*2")
        assert tuple(f"{triad.name}{how}" for how in strengths) in names


def test_black_has_no_shadow(demo: Library) -> None:
    """The black marker's partners are highlights alone, and it is the dark of its triad."""
    found = list_partners(demo, "Jackdaw", Supplies(ranges=("Orchard",), paper="Gannet smooth"))
    assert {partner.role for partner in found.partners} == {"highlight"}
    assert found.triad.seat == "dark"
    assert found.lacks("shadow").startswith("none: so dark a color has no shadow")
    assert found.lacks("highlight") == ""


def test_no_tone_is_made_by_lightening_a_darker_one(demo: Library) -> None:
    """Of five markers, a recipe for a missing tone layers only what is no darker than it: light
    comes from paper, and pale coats that lift a dark one are no light of it.
    """
    held = {"Damson", "Flowerpot", "Hedge", "Quince", "Windfall"}
    whole = list_runs(demo, ListRuns(Supplies(ranges=("Orchard",), paper="Gannet smooth")))
    values = {triad.name: triad.own_shade.value for triad in whole.triads}
    supplies = Supplies(
        ranges=("Orchard",), paper="Gannet smooth", without=tuple(values.keys() - held)
    )
    found = list_runs(demo, ListRuns(supplies)).triads
    missing = [tone for triad in found for tone in triad.tones if not tone.at_hand]
    assert missing
    for tone in missing:
        if tone.shade and tone.shade.recipe:
            darkest = min(values.get(c.name, 10.0) for c in tone.shade.recipe.colorants)
            assert darkest > tone.shade.value - 0.1, tone.shade.name
