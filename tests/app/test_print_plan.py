"""A plan printed: each form is what it says it is, and its recipes are those found for the plan."""

import pytest

from laydown.app.fits import Supplies
from laydown.app.library import Library
from laydown.app.matches.colors import Asking
from laydown.app.pictures.painting import PaintPlan, paint_plan, print_plan
from laydown.app.pictures.plans import PictureFile, plan_of, write_plan
from laydown.demo.lemons import draw_lemons, lemons_png
from laydown.errors import BadFileError
from laydown.plan.picture.picture import PlanRules

SHOAL = Asking(Supplies(ranges=("Shoal",)), steps=2, coats=2)


@pytest.fixture(scope="module")
def plan() -> PictureFile:
    """Return a plan of lemons, 120 mm wide."""
    png = lemons_png(draw_lemons(rows=80, columns=120))
    asked = PictureFile(png, "lemons.png", rules=PlanRules(width=120.0))
    return PictureFile(write_plan(plan_of(None, asked)), "lemons.plan")


@pytest.mark.parametrize(
    ("form", "begins"),
    [("pdf", b"%PDF-"), ("svg", b"<svg "), ("html", b"<!DOCTYPE html>"), ("json", b"{")],
)
def test_a_document_has_the_form_that_was_asked_for(
    plan: PictureFile, form: str, begins: bytes
) -> None:
    """Without a kit no library is needed, and the same plan gives the same bytes."""
    asked = PaintPlan(plan, form=form)
    made = print_plan(None, asked)
    assert made.document.startswith(begins)
    assert made.document == print_plan(None, asked).document
    assert made.shown.plan.kits == ()
    assert made.shown.scale == 1.0


def test_what_is_printed_is_what_the_kit_gives(library: Library, plan: PictureFile) -> None:
    """The list's recipes and losses are those of the same question asked for the picture alone."""
    printed = print_plan(library, PaintPlan(plan, SHOAL, ("Cliff",), form="html"))
    seen = paint_plan(library, PaintPlan(plan, SHOAL, ("Cliff",)))
    assert [kit.kit for kit in printed.shown.plan.kits] == ["Shoal", "Cliff"]
    for one, other in zip(printed.shown.plan.kits, seen.shown.kits, strict=True):
        assert one.lost == other.lost
        for part, same in zip(one.matches, other.matches, strict=True):
            assert part.best.prediction.recipe == same.best.prediction.recipe


def test_values_alone_leave_hues_free(library: Library, plan: PictureFile) -> None:
    """Asked for values only, the printed list keeps them at least as well."""
    lost = [
        print_plan(library, PaintPlan(plan, SHOAL, values_only=free)).shown.plan.kits[0].lost
        for free in (False, True)
    ]
    assert lost[1].mean_value <= lost[0].mean_value + 1e-9


def test_a_paper_too_small_is_told() -> None:
    """A picture wider than its paper is drawn smaller, all of it, and it is said by how much."""
    png = lemons_png(draw_lemons(rows=80, columns=120))
    wide = PictureFile(png, "lemons.png", rules=PlanRules(width=244.0))
    shown = print_plan(None, PaintPlan(wide, page="140x140")).shown
    assert shown.scale == pytest.approx(0.5)
    assert max(number.x for number in shown.numbers) < 122.0
    assert any("50% of the size" in text for text in shown.warnings)


def test_two_kits_do_not_fit_on_one_list(library: Library, plan: PictureFile) -> None:
    """A printed list holds one kit's recipes; nothing is searched before that is said."""
    with pytest.raises(BadFileError, match="one kit") as raised:
        print_plan(library, PaintPlan(plan, SHOAL, ("Cliff",), form="svg"))
    assert "HTML" in raised.value.hint
