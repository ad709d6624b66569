"""A picture made from a kit is as far off as the search for its recipes promised."""

from dataclasses import replace

import numpy as np
import pytest

from laydown.app.fits import Supplies
from laydown.app.library import Library
from laydown.app.matches.colors import Asking
from laydown.app.pictures.painting import kit_picture
from laydown.app.pictures.plans import PictureFile, panels, plan_of
from laydown.color.difference import ciede2000
from laydown.demo.lemons import draw_lemons, lemons_png
from laydown.documents.print.plans import views_of_plan
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
