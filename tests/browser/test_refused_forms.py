"""Forms that are refused, in a real browser: the error is where the mistake was made."""

import re
from typing import Any

import pytest
from playwright.sync_api import expect

DESK = pytest.mark.parametrize("visit", ["desk"], indirect=True)
LIVE = (
    ("/color?range=Orchard", "#answer", "Wanted", "lab:1", "Twine"),
    ("/partners?range=Orchard", "#answer", "Which of yours", "Quinze", "Quince"),
    ("/swatches", "#list", "With the color", "Quinze", "Quince"),
)


def refused(visit: Any) -> None:
    """Take note that the browser told of a refusal, as it tells of any; nothing else may be."""
    assert visit.told
    assert all("status of 4" in told for told in visit.told)
    visit.told.clear()


@DESK
@pytest.mark.parametrize(("address", "part", "label", "wrong", "right"), LIVE)
def test_a_live_form_says_what_is_wrong_beside_it(
    orchard: Any, visit: Any, address: str, part: str, label: str, wrong: str, right: str
) -> None:
    """What was typed stays, the cure comes first, and the right answer takes its place."""
    page = visit.go(address)
    alert = page.locator(part).get_by_role("alert")
    asked = page.get_by_label(re.compile(rf"^\s*{label}\b"))
    asked.fill(wrong)
    asked.press("Enter")
    expect(alert).to_contain_text(wrong)
    expect(asked).to_have_value(wrong)
    expect(page.locator("select[name=from]").or_(page.get_by_label("Of the set"))).to_be_visible()
    refused(visit)
    visit.check()
    page.reload()
    expect(page.get_by_role("alert")).to_contain_text(wrong)
    expect(asked).to_have_value(wrong)
    refused(visit)
    asked.fill(right)
    asked.press("Enter")
    expect(page.locator(part).get_by_text(right).first).to_be_visible()
    expect(alert).to_have_count(0)


def test_a_refused_form_is_gone_to(orchard: Any, visit: Any) -> None:
    """Pencils under the name of a set of markers: the form is open, filled, and says what to do."""
    page = visit.go("/")
    page.get_by_text("Begin with another set").click()
    page.get_by_label("What do you own?").fill("Fig\nPlum")
    page.get_by_label("They are").select_option("pencil")
    page.get_by_label("What paper?").fill("Tern rough")
    page.get_by_label("What do you call this box?").fill("Orchard")
    page.get_by_role("button", name="Make my first sheet").click()
    alert = page.get_by_role("alert")
    expect(alert).to_be_in_viewport()
    expect(alert).to_be_focused()
    expect(alert).to_contain_text("Give the pencils a name of their own.")
    expect(page.get_by_label("What do you own?")).to_have_value("Fig\nPlum")
    visit.photograph("refused")
    visit.check()
    refused(visit)
    page.get_by_label("What do you call this box?").fill("tin")
    page.get_by_role("button", name="Make my first sheet").click()
    expect(page.get_by_text("Your first sheet is ready")).to_be_visible()


@DESK
def test_the_paper_follows_the_range(orchard: Any, visit: Any, tmp_path: Any) -> None:
    """The paper is the one that the chosen range was swatched on, until a person chooses one."""
    rows = "range,medium,color,paper,coats,L,a,b\nSpit,marker,Fig,Tern rough,1,40,9,9\n"
    (tmp_path / "spit.csv").write_text(rows, encoding="utf-8")
    visit.bench.do("swatches", "import", str(tmp_path / "spit.csv"))
    page = visit.go("/color")
    paper = page.get_by_label(re.compile(r"^\s*On the paper"))
    expect(paper).to_have_value("Tern rough")
    page.locator("select[name=from]").select_option("range:Orchard")
    expect(paper).to_have_value("Gannet smooth")
    paper.select_option("Tern rough")
    page.locator("select[name=from]").select_option("range:Spit")
    page.locator("select[name=from]").select_option("range:Orchard")
    expect(paper).to_have_value("Tern rough")
