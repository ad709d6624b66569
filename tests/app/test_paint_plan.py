"""A picture made from a kit is as far off as the search for its recipes promised."""

from dataclasses import replace

import numpy as np
import pytest

from laydown.app.fits import Supplies, set_up
from laydown.app.library import Library
from laydown.app.matches.colors import Asking, question_of
from laydown.app.pictures.painting import kit_picture, made_from
from laydown.app.pictures.plans import PictureFile, panels, plan_of
from laydown.color.lab import ciede2000
from laydown.demo.lemons import draw_lemons, lemons_png
from laydown.documents.print.plans import views_of_plan
from laydown.match.search.sense import for_area
from laydown.plan.picture.picture import PlanRules
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
