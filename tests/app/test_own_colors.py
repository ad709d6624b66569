"""Who owns the marker is never sent to mix it: every color of the demo, at every door."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from laydown.app.buying import ChooseKit, choose_kit
from laydown.app.fits import Supplies, SuppliesAtHand, set_up
from laydown.app.lessons.lessons import (
    LessonAsked,
    TargetRow,
    convert_lesson,
    new_lesson,
    read_lesson,
    write_lesson,
)
from laydown.app.lessons.packs import pack_lesson
from laydown.app.lessons.pages import answer_page
from laydown.app.library import Library, open_named
from laydown.app.matches.colors import (
    Asking,
    MakeChart,
    Tables,
    find_match,
    make_chart,
    match_color,
)
from laydown.app.matches.targets import one_coats_of, settle_targets, targets_of_lesson
from laydown.app.notebook.trials import AddTrial, add_trial
from laydown.app.tasks import GivenFile
from laydown.match.outcome import Match, Target, Verdict
from laydown.media.recipe import format_recipe
from laydown.plan.chart import Chart

pytestmark = pytest.mark.long

PAPER = "Gannet smooth"
RANGES = {"Estuary": 59, "Orchard": 35, "Hedgerow": 24, "Millrace": 24}
"""How many colors each has: 142 in all."""
FEW = ("Quince", "Damson", "Foxglove", "Dew", "Gravel", "Cider")


@pytest.fixture(scope="module")
def demo(
    tmp_path_factory: pytest.TempPathFactory, lay_demo: Callable[[Path], Path]
) -> Iterator[Library]:
    """Give a library with the demo's supplies, and a kit of one of its ranges."""
    library = open_named(str(lay_demo(tmp_path_factory.mktemp("own") / "demo.db")))
    with library.work("own") as work:
        work.add_kit("Orchard")
        work.own("Orchard", list(work.colorants("Orchard")))
    yield library
    library.close()


def targets(library: Library, range_name: str, bench: SuppliesAtHand) -> tuple[Target, ...]:
    """Return the colors of a range by their names."""
    wanted = one_coats_of(library, PAPER, range=range_name)
    return settle_targets(library, wanted, paper=PAPER, fit=lambda: bench.swatched)


def matches(library: Library, range_name: str, supplies: Supplies) -> list[Match]:
    """Match every color of a range from it."""
    asking = Asking(supplies, steps=2, coats=2, top=0)
    bench = set_up(library, supplies)
    wanted = targets(library, range_name, bench)
    find = Tables(len(wanted)).find
    return [find_match(target, bench, asking, watch=None, finder=find) for target in wanted]


def others(found: list[Match]) -> list[tuple[str, str]]:
    """Return the colors that are answered by anything but themselves in one coat."""
    pairs = [(m.target.name, format_recipe(m.best.prediction.recipe)) for m in found]
    return [pair for pair in pairs if pair[0] != pair[1]]


@pytest.mark.parametrize("name", RANGES)
def test_every_color_of_a_range_is_answered_by_itself(demo: Library, name: str) -> None:
    """Of 142 colors all, each in one coat, and it is never said to be out of reach."""
    found = matches(demo, name, Supplies(ranges=(name,), paper=PAPER))
    assert len(found) == RANGES[name]
    assert others(found) == []
    assert {m.best.verdict for m in found} <= {Verdict.SAME, Verdict.UNSURE}


@pytest.mark.parametrize("name", RANGES)
def test_a_page_has_who_owns_the_color_lay_it(demo: Library, name: str) -> None:
    """Of every eighth color of each range the first way is the colorant named, in one coat."""
    asking = Asking(Supplies(ranges=(name,), paper=PAPER), steps=1, coats=1)
    bench = set_up(demo, asking.supplies)
    page = answer_page(name, targets(demo, name, bench)[::8], bench, asking)
    laid = [format_recipe(color.listed.ways[0][0].recipe) for color in page.colors]
    assert laid == [color.target.name for color in page.colors]


def test_trials_of_a_heavy_hand_change_nothing_of_that(demo: Library) -> None:
    """Six trials that came out darker and stronger than the swatches move predictions, not this."""
    name = "Orchard"
    supplies = Supplies(kit=name, paper=PAPER)
    for target in targets(demo, name, set_up(demo, supplies))[::6]:
        light, a, b = target.lab
        darker = f"lab:{light - 6:.1f},{1.15 * a:.1f},{1.15 * b:.1f}"
        add_trial(demo, AddTrial(target.name, darker, kit=name, paper=PAPER))
    found = matches(demo, name, supplies)
    assert max(m.best.difference.delta_e for m in found) > 0.5
    assert others(found) == []


def test_a_match_and_a_chart_lay_the_color_itself(demo: Library) -> None:
    """One by one and in a list, with the usual options, the answer is the marker named."""
    asking = Asking(Supplies(ranges=("Orchard",), paper=PAPER), top=1)
    for name in FEW[:3]:
        best = match_color(demo, name, asking).best
        assert format_recipe(best.prediction.recipe) == name
    chart = make_chart(demo, MakeChart(colors=FEW, asking=asking))
    assert others(list(chart.matches)) == []


@pytest.fixture(scope="module")
def lesson(demo: Library) -> bytes:
    """Return a lesson of six colors of Orchard in two passages, and a layer of two."""
    rows = [
        TargetRow(line, name, "", ("bowl", "fruit")[line % 2], "", "")
        for line, name in enumerate((*FEW, "Beeswax; Gravel"), start=1)
    ]
    made = new_lesson(demo, None, "", title="Own", paper=PAPER, rows=tuple(rows))
    return write_lesson(made)


def test_a_lesson_for_its_own_range_is_the_lesson(demo: Library, lesson: bytes) -> None:
    """Color by color and as a whole each is what it was made with; nothing departs from it."""
    asking = Asking(Supplies(ranges=("Orchard",), paper=PAPER), top=0)
    made = convert_lesson(demo, LessonAsked(lesson, "own.txt", asking, turns=0))
    for chart in (made.singly, made.together):
        assert others(list(chart.matches)) == []
    assert made.conversion.departures == ()


def test_a_pack_for_its_own_range_is_the_lesson(demo: Library, lesson: bytes) -> None:
    """What students are handed is the teacher's own recipe, where they own the same."""
    asking = Asking(Supplies(ranges=("Orchard",), paper=PAPER), top=0)
    (part,) = pack_lesson(demo, LessonAsked(lesson, "own.txt", asking)).parts
    chart: Chart = part.chart
    assert others(list(chart.matches)) == []


def test_a_page_and_a_pack_agree(demo: Library, lesson: bytes) -> None:
    """Recipe and cost of each color from another range, where all of that is ticked."""
    asking = Asking(Supplies(ranges=("Estuary",), paper=PAPER), steps=2, coats=2, top=0)
    (part,) = pack_lesson(demo, LessonAsked(lesson, "own.txt", asking)).parts
    packed = {m.target.name: m.best for m in part.chart.matches}
    bench = set_up(demo, asking.supplies)
    wanted = targets_of_lesson(read_lesson(lesson, source="own.txt"), bench.swatched)
    page = answer_page("Own", wanted, bench, asking)
    assert {color.target.name for color in page.colors} == set(packed)
    for color in page.colors:
        listed, best = color.listed.ways[0][0], packed[color.target.name]
        assert listed.recipe == best.prediction.recipe
        assert listed.cost == pytest.approx(best.cost, abs=1e-6)


def test_a_kit_that_is_chosen_lays_what_it_holds(demo: Library, lesson: bytes) -> None:
    """Bought with all that the lesson was made with, each color is made with its own."""
    must = (*FEW, "Beeswax")
    asked = ChooseKit(
        (GivenFile(lesson, "own.txt"),),
        ranges=("Orchard",),
        paper=PAPER,
        must=tuple(f"Orchard/{name}" for name in must),
        seconds=5.0,
    )
    (group,) = choose_kit(demo, asked).groups
    made = {color.name: format_recipe(color.recipe) for color in group.choice.chosen.colors}
    assert made == {name: name for name in (*FEW, "Beeswax; Gravel")}
