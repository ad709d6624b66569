"""Light at the bench in a real browser: another light, and a picture's life on a wall."""

import re
from typing import Any

from playwright.sync_api import expect


def test_a_match_is_seen_by_lamp_light(orchard: Any, visit: Any) -> None:
    """From a color to its match under seven lights, by keyboard, and on to its PDF."""
    page = visit.go("/light?range=Orchard&paper=Gannet%20smooth&wanted=lab:60,-10,20")
    visit.check()
    visit.photograph("light")
    page.get_by_text("More choices").click()
    page.get_by_label("Steps, at most").select_option("2")
    page.get_by_role("button", name="See whether they hold").press("Enter")
    page.wait_for_url("**/light/checked?job=*")
    expect(page.locator("figure.sight").first).to_be_visible()
    assert page.locator("figure.sight").count() in {7, 14}
    expect(page.get_by_text("Estimated, since of the color wanted no spectrum")).to_be_visible()
    visit.check()
    visit.photograph("light-checked")
    with page.expect_download() as download:
        page.get_by_role("link", name="PDF, A4").click()
    assert download.value.suggested_filename.endswith("under other lights.pdf")


def test_a_picture_hangs_on_a_wall(orchard: Any, visit: Any) -> None:
    """Recipes are asked about as they were laid, and what is unknown is rated on the spot."""
    orchard.do("light", "rate", "2", "Quince")
    orchard.do("light", "rate", "3", "Dew")
    page = visit.go("/light/wall?range=Orchard&paper=Gannet%20smooth")
    page.get_by_label("Or what was laid").fill("Quince*2; Dew\nGravel")
    page.get_by_label("Light on it, in lux").fill("100-200")
    visit.check()
    visit.photograph("wall")
    page.get_by_role("button", name="Forecast it").click()
    page.wait_for_url("**/light/lasting?job=*")
    expect(page.get_by_role("heading", name="1. Quince twice with Dew")).to_be_visible()
    expect(page.locator("svg.lifeline")).to_have_count(1)
    visit.check()
    visit.photograph("lasting")
    page.get_by_role("checkbox", name=re.compile("Gravel")).check()
    page.get_by_label("Class").fill("4")
    page.get_by_role("button", name="State this class").click()
    expect(page.get_by_role("status").first).to_contain_text("blue wool 4: 1 color changed.")
    visit.check()
    visit.photograph("classes")


def test_a_window_test_is_noted(orchard: Any, visit: Any) -> None:
    """A coat measured before and after is typed in, and listed with the light that fell on it."""
    page = visit.go("/light/window")
    form = page.locator("form").filter(has_text="One coat, or a file of swatches")
    form.get_by_label("Color", exact=True).fill("Quince")
    form.get_by_label("Its color now").fill("lab:80,8,50")
    form.get_by_label("Or the light so far, in million lux-hours").fill("0.5-2")
    form.get_by_role("button", name="Note it").click()
    expect(page.get_by_text("after 0.5-2 million lux hours it moved by")).to_be_visible()
    visit.check()
    visit.photograph("window")
