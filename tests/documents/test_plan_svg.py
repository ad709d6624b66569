"""A plan as SVG: true millimetres, a group for each region, words as text, nothing from outside."""

import re
import xml.etree.ElementTree as ET
from collections.abc import Callable

import pytest

from laydown.documents.print.plans import (
    draw_plan,
    numbers_of,
    paper_size,
    plan_html,
    plan_rows,
    plan_svg,
)
from laydown.plan.picture.picture import PicturePlan

Plans = Callable[..., PicturePlan]
SVG = "{http://www.w3.org/2000/svg}"


def drawn(plan: PicturePlan) -> ET.Element:
    """Return the file's root."""
    return ET.fromstring(plan_svg(plan, draw_plan(plan, paper_size("A4"))))


def test_each_region_is_a_group_with_its_number_in_words(make_picture_plan: Plans) -> None:
    """A group ``region-N`` holds a closed path and says color and recipe."""
    plan = make_picture_plan()
    (regions,) = [g for g in drawn(plan).iter(f"{SVG}g") if g.get("id") == "regions"]
    texts = numbers_of(plan)
    assert {g.get("id"): g.get("data-number") for g in regions} == {
        f"region-{number}": text for number, text in texts.items()
    }
    for group in regions:
        path = group.find(f"{SVG}path")
        assert path is not None
        assert path.get("d", "").endswith("Z")
        assert "2 coats Marrow" in (group.findtext(f"{SVG}title") or "")


def test_numbers_are_text(make_picture_plan: Plans) -> None:
    """As many of each as there are regions of that color."""
    plan = make_picture_plan()
    (numbers,) = [g for g in drawn(plan).iter(f"{SVG}g") if g.get("id") == "numbers"]
    printed = sorted(text.text or "" for text in numbers.iter(f"{SVG}text"))
    assert printed == sorted(numbers_of(plan).values())


def test_a_millimetre_is_a_millimetre(make_picture_plan: Plans) -> None:
    """Width in mm and the view box's width are the same number: the picture's with its margins."""
    root = drawn(make_picture_plan())
    _, _, wide, high = (float(v) for v in root.get("viewBox", "").split())
    assert root.get("width") == f"{wide:.2f}mm"
    assert root.get("height") == f"{high:.2f}mm"
    assert wide == pytest.approx(120.0 + 16.0)


def test_the_list_ends_within_the_drawing(make_picture_plan: Plans) -> None:
    """No line of words falls below the edge."""
    root = drawn(make_picture_plan())
    high = float(root.get("viewBox", "").split()[3])
    assert max(float(t.get("y", 0)) for t in root.iter(f"{SVG}text")) < high - 8.0


def test_nothing_is_styled_or_fetched_and_names_are_escaped(make_picture_plan: Plans) -> None:
    """No style, script or link, so that a strict page may hold it; ``<`` stays a sign."""
    plan = make_picture_plan()
    text = plan_svg(plan, draw_plan(plan, paper_size("A4")))
    assert not re.search(r"style=|<script|href", text)
    assert drawn(plan).findtext(f"{SVG}title") == "Lemons <in> a blue bowl"


@pytest.mark.parametrize("kits", [(), ("Orchard",), ("Orchard", "Shed")])
def test_a_page_shows_all_side_by_side(make_picture_plan: Plans, kits: tuple[str, ...]) -> None:
    """The picture and the plan, in color and in values, and both again for each kit; nothing is
    fetched, and what each kit makes of a color is said in words.
    """
    plan = make_picture_plan(kits=kits)
    page = plan_html(plan, draw_plan(plan, paper_size("A4")))
    assert page.count('<img src="data:image/') == 4 + 2 * len(kits)
    assert "Lemons &lt;in&gt; a blue bowl" in page
    assert not re.search(r'(src|href)="(?!data:)', page)
    assert "style=" not in page
    assert page.count('<article class="row">') == 8 * max(1, len(kits))
    for name in kits:
        assert f"Recipes from {name} on Gannet smooth" in page
    for row in plan_rows(plan):
        assert row.wanted.numbers in page
