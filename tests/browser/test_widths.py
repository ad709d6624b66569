"""What a lesson comes to, read at the widths of two phones and of a desk."""

from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from laydown.documents.print.reports import GridCell, Report, ReportRow, Section, report_html

pytestmark = pytest.mark.long

DEMO = files("laydown.demo.data")


WIDTHS = (360, 390, 1280)
SHADES = "".join(
    f"color: shade {k}\nxyz: {k + 9} {k + 10} {k * 0.8 + 8}\n" for k in range(0, 72, 8)
)
LESSON = f"laydown lesson 1\ntitle: Tide\n\npassage: water\n{SHADES}"
"""An invented lesson: one passage of nine shades, so that their strip is wider than a phone."""
TOLD = """() => {
  const broken = [], thin = [];
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const text = texts.currentNode, box = text.parentElement;
    if (box.closest("svg, script, style, select, textarea, .unseen, .skip")) continue;
    for (const word of text.data.matchAll(/[^\\s\\-–—/]+/g)) {
      const range = document.createRange();
      range.setStart(text, word.index);
      range.setEnd(text, word.index + word[0].length);
      const lines = [...range.getClientRects()].filter((rect) => rect.width > 0);
      if (new Set(lines.map((rect) => Math.round(rect.top / 4))).size > 1) broken.push(word[0]);
    }
  }
  for (const box of document.querySelectorAll("p, figcaption, caption, th, td, h1, h2, h3, h4")) {
    if (!box.offsetParent || box.closest(".unseen")) continue;
    const letters = box.clientWidth / parseFloat(getComputedStyle(box).fontSize);
    if (box.textContent.trim().length > 8 && letters < 4) thin.push(box.textContent.trim());
  }
  return { wide: document.documentElement.scrollWidth - window.innerWidth, broken, thin };
}"""
"""Measures how much wider a page is than its window, words that are broken, and thin columns."""


def check_widths(page: Page, name: str) -> None:
    """Hold a page to being read at each width: it doesn't scroll sideways, no word is broken."""
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        assert page.evaluate(TOLD) == {"wide": 0, "broken": [], "thin": []}, f"{name} at {width}"


def test_a_reports_page_breaks_no_word(browser: Browser) -> None:
    """Long names under patches, beside them and in a grid stay whole on phones and on a desk."""
    names = ("Bladderwrack", "Watering can", "Twite", "Forget-me-not and Honeycomb")
    fills = ("#446644", "#ccddee", "#aa8866", "#e8e8f0")
    row = ReportRow("A run", "Lay them in this order.", fills, keys=names)
    cells = [GridCell((name,), (fill,)) for name, fill in zip(names, fills, strict=True)]
    sections = (
        Section("Keys", (row, replace(row, under=True), replace(row, box=True))),
        Section("Grid", columns=names[:1], lines=tuple((name, "", cells[:1]) for name in names)),
    )
    page = browser.new_page()
    page.set_content(report_html(Report("Runs", ("On paper.",), sections)))
    check_widths(page, "a report")


@pytest.mark.parametrize("visit", ["desk"], indirect=True)
def test_a_lessons_answers_are_read_at_any_width(orchard: Any, visit: Any, tmp_path: Path) -> None:
    """A class pack, its page to hand out, and what to buy: on phones and on a desk."""
    page = visit.go("/lessons")
    page.get_by_label("Or its text, pasted or written").fill(LESSON)
    page.get_by_role("button", name="Keep it").click()
    page.get_by_text("A class pack, for students").click()
    pack = page.locator("#pack")
    pack.get_by_label("Orchard").check()
    pack.get_by_text("More choices").click()
    pack.get_by_label("Steps, at most").select_option("1")
    pack.get_by_role("button", name="Make the pack").click()
    handed = page.get_by_role("link", name="One page for students")
    expect(handed).to_be_visible()
    check_widths(page, "the pack")
    text = page.request.get(visit.bench.address + str(handed.get_attribute("href"))).text()
    alone = page.context.new_page()
    alone.set_content(text)
    check_widths(alone, "the page to hand out")
    visit.go("/choosing?lesson=1")
    check_widths(page, "the form")
    page.get_by_label("Seconds to search").evaluate("field => { field.value = 2 }")
    page.get_by_role("button", name="Choose").click()
    expect(page.get_by_role("heading", name="To buy")).to_be_visible()
    check_widths(page, "what to buy")


@pytest.mark.parametrize("visit", ["desk"], indirect=True)
def test_a_boxs_names_stay_whole(bench: Any, visit: Any) -> None:
    """Under small patches too: the longest name of a set isn't broken on a phone."""
    bench.do("swatches", "import", str(DEMO / "estuary_on_gannet_smooth.csv"))
    page = visit.go("/box?range=Estuary")
    expect(page.get_by_role("link", name="Bladderwrack")).to_be_visible()
    check_widths(page, "my box")
    page.set_viewport_size({"width": 390, "height": 844})
    visit.photograph("box-at-390")
