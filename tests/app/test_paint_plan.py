"""A picture made from a kit is as far off as the search for its recipes promised."""

import shutil
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from laydown.app.fits import Supplies, set_up
from laydown.app.library import Library, open_named
from laydown.app.matches.colors import Asking, question_of
from laydown.app.pictures.painting import PaintPlan, kit_picture, made_from, paint_plan, print_plan
from laydown.app.pictures.plans import PictureFile, panels, plan_of, write_plan
from laydown.color.lab import ciede2000
from laydown.demo.lemons import draw_lemons, lemons_png
from laydown.documents.print.plans import views_of_plan
from laydown.errors import BadFileError
from laydown.match.search.sense import for_area
from laydown.plan.picture.picture import PicturePlan, PlanRules
from laydown.plan.picture.recipes import painted


def test_a_picture_matched_in_values_alone_is_gray(library: Library) -> None:
    """Whatever hue stands for a gray paper, the picture shows what was matched: values."""
    png = lemons_png(draw_lemons(rows=80, columns=120))
    plan = plan_of(None, PictureFile(png, "lemons.png", rules=PlanRules(2, colors=2)))
    asking = Asking(Supplies(ranges=("Shoal",)), steps=1, coats=1)
    kit = kit_picture(library, plan, asking, values_only=True)
    assert np.ptp(kit.labs[:, 1:]) > 5.0
    whole = replace(plan, kits=(kit,))
    colored, gray = (row[-1][1] for row in panels(whole))
    assert np.array_equal(colored, gray)
    assert np.array_equal(colored.min(axis=-1), colored.max(axis=-1))
    for _, seen in views_of_plan(whole):
        assert np.abs(seen[..., 1:]).max() < 1e-9


def test_values_alone_go_by_the_cost_of_a_match_but_for_hue(library: Library) -> None:
    """Doubt, steps and coats count: it is what a search finds that hardly asks of hue."""
    png = lemons_png(draw_lemons(rows=80, columns=120))
    plan = plan_of(None, PictureFile(png, "lemons.png"))
    asking = Asking(Supplies(ranges=("Shoal",)), steps=2, coats=2)
    bench = set_up(library, asking.supplies)
    ranking = replace(asking.ranking, k_C=20.0, k_H=20.0)
    for match in made_from(bench, plan, asking, values_only=True).matches:
        asked = question_of(match.target, bench, asking)
        found = replace(asked, ranking=for_area(ranking, match.target.share)).find()
        assert match.best.cost == pytest.approx(found.costs[0])
        assert match.best.cost < asked.cost(match.best.prediction.recipe)


@pytest.mark.parametrize("values_only", [False, True])
def test_the_picture_recomposed_is_off_by_what_the_search_promised(
    library: Library, values_only: bool
) -> None:
    """Recipes are searched, the picture is made of them and compared with the plan pixel by pixel:
    the mean difference is what the matches say, by area, within a tenth.
    """
    png = lemons_png(draw_lemons(rows=80, columns=120))
    plan = plan_of(None, PictureFile(png, "lemons.png"))
    asking = Asking(Supplies(ranges=("Shoal",)), steps=2, coats=2)
    kit = kit_picture(library, plan, asking, values_only=values_only)
    promised = [match.best.difference.delta_e for match in kit.matches]
    share = [color.share / 100 for color in plan.palette]
    seen = float(ciede2000(painted(plan), painted(plan, kit.labs)).mean())
    assert seen == pytest.approx(float(np.dot(promised, share)), abs=0.1)
    assert kit.lost.mean == pytest.approx(seen, abs=0.1)
    assert seen > 1.0


SHOAL = Asking(Supplies(ranges=("Shoal",)), steps=2, coats=2)


@pytest.fixture(scope="module")
def plan() -> PictureFile:
    """Return a plan of lemons, 120 mm wide."""
    png = lemons_png(draw_lemons(rows=80, columns=120))
    asked = PictureFile(png, "lemons.png", rules=PlanRules(width=120.0))
    return PictureFile(write_plan(plan_of(None, asked)), "lemons.plan")


@pytest.fixture(scope="module")
def shoal(filled: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Library]:
    """Give a library that no test here changes."""
    path = shutil.copyfile(filled, tmp_path_factory.mktemp("shoal") / "library.db")
    with closing(open_named(str(path))) as opened:
        yield opened


@pytest.fixture(scope="module")
def printed(shoal: Library, plan: PictureFile) -> PicturePlan:
    """Print the plan with the recipes of two kits."""
    return print_plan(shoal, PaintPlan(plan, SHOAL, ("Cliff",), form="html"))[0].plan


@pytest.mark.parametrize(
    ("form", "begins"),
    [("pdf", b"%PDF-"), ("svg", b"<svg "), ("html", b"<!DOCTYPE html>"), ("json", b"{")],
)
def test_a_document_has_the_form_that_was_asked_for(
    plan: PictureFile, form: str, begins: bytes
) -> None:
    """Without a kit no library is needed, and the same plan gives the same bytes."""
    asked = PaintPlan(plan, form=form)
    shown, document = print_plan(None, asked)
    assert document.startswith(begins)
    assert document == print_plan(None, asked)[1]
    assert shown.plan.kits == ()
    assert shown.scale == 1.0


def test_what_is_printed_is_what_the_kit_gives(
    shoal: Library, plan: PictureFile, printed: PicturePlan
) -> None:
    """The list's recipes and losses are those of the same question asked for the picture alone."""
    seen, *_ = paint_plan(shoal, PaintPlan(plan, SHOAL, ("Cliff",)))
    assert [kit.kit for kit in printed.kits] == ["Shoal", "Cliff"]
    for one, other in zip(printed.kits, seen.kits, strict=True):
        assert one.lost == other.lost
        for part, same in zip(one.matches, other.matches, strict=True):
            assert part.best.prediction.recipe == same.best.prediction.recipe


def test_values_alone_leave_hues_free(
    shoal: Library, plan: PictureFile, printed: PicturePlan
) -> None:
    """Asked for values only, the printed list keeps them at least as well."""
    free, _ = print_plan(shoal, PaintPlan(plan, SHOAL, values_only=True))
    assert free.plan.kits[0].lost.mean_value <= printed.kits[0].lost.mean_value + 1e-9


def test_a_paper_too_small_is_told() -> None:
    """A picture wider than its paper is drawn smaller, all of it, and it is said by how much."""
    png = lemons_png(draw_lemons(rows=80, columns=120))
    wide = PictureFile(png, "lemons.png", rules=PlanRules(width=244.0))
    shown, _ = print_plan(None, PaintPlan(wide, page="140x140"))
    assert shown.scale == pytest.approx(0.5)
    assert max(number.x for number in shown.numbers) < 122.0
    assert any("50% of the size" in text for text in shown.warnings)


def test_two_kits_do_not_fit_on_one_list(library: Library, plan: PictureFile) -> None:
    """A printed list holds one kit's recipes; nothing is searched before that is said."""
    with pytest.raises(BadFileError, match="one kit") as raised:
        print_plan(library, PaintPlan(plan, SHOAL, ("Cliff",), form="svg"))
    assert "HTML" in raised.value.hint
