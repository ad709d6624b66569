"""The jobs of a day at the bench, and how often one has to press for each."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Locator, Page, expect

pytestmark = pytest.mark.long


class Presses:
    """Presses on a page, counted."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.count = 0

    def on(self, place: Locator) -> None:
        """Press once."""
        self.count += 1
        place.click()

    def link(self, name: str, *, within: str = "main") -> None:
        """Press a link of this name."""
        self.on(self.page.locator(within).get_by_role("link", name=name, exact=True).first)

    def patch(self, name: str) -> None:
        """Touch the patch of a color."""
        self.on(self.page.locator(".chips a", has_text=name).first)

    def sees(self, heading: str) -> None:
        """Wait until a heading says so."""
        expect(self.page.get_by_role("heading", name=heading).first).to_be_visible()


def own_color(job: Presses) -> None:
    """A patch of the first page is touched, and it is answered."""
    job.patch("Honeycomb")
    job.sees("What to do")


def instead_of(job: Presses) -> None:
    """A color that isn't owned is named; other ways are one press further."""
    job.page.get_by_label("Wanted").fill("Port light")
    job.on(job.page.get_by_role("button", name="Find a color"))
    job.sees("What to do")
    job.on(job.page.get_by_text("Other ways"))
    expect(job.page.locator("details[open] .ways li").first).to_be_visible()


def fix(job: Presses) -> None:
    """What was laid, that it is to be fixed, and what it should become."""
    job.patch("Honeycomb")
    job.link("Fix it: it is on the paper")
    job.sees("What should it become?")
    job.patch("Hedge")
    expect(job.page.locator(".steps li").first).to_be_visible()


def partners(job: Presses) -> None:
    """A patch, and its shadow and light."""
    job.patch("Honeycomb")
    job.link("Shadow and light")
    expect(job.page.get_by_text("Light, middle, dark")).to_be_visible()


def twins(job: Presses) -> None:
    """The box, and what in it and in other sets is nearly the same."""
    job.link("My box", within="header")
    job.link("Twins", within=".within")
    expect(job.page.get_by_text("would be new to you").first).to_be_visible()


def what_if(job: Presses) -> None:
    """A patch, what it makes, and the one to lay over it."""
    job.patch("Honeycomb")
    job.link("What it makes")
    job.sees("What Honeycomb makes")
    job.patch("Hedge")
    job.sees("Under other lights")


def students_answer(job: Presses) -> None:
    """A patch, and what each box lays for it."""
    job.patch("Honeycomb")
    job.link("Out of each box")
    expect(job.page.get_by_role("link", name="demo student with pencils")).to_be_visible()


JOBS: tuple[tuple[Callable[[Presses], None], int], ...] = (
    (own_color, 1),
    (instead_of, 2),
    (fix, 3),
    (partners, 2),
    (twins, 2),
    (what_if, 3),
    (students_answer, 2),
)
"""What is done from the first page on, and how many presses it may take."""


def test_the_jobs_of_a_day_take_few_presses(bench: Any, visit: Any) -> None:
    """Each job ends within its presses; a patch dragged onto another is laid over it by none."""
    bench.do("library", "add-demo")
    visit.go("/box?kit=demo+student")
    for do, most in JOBS:
        job = Presses(visit.go("/"))
        do(job)
        assert job.count <= most, do.__name__
    page = visit.go("/")
    patches = page.locator(".chips a")
    patches.filter(has_text="Hedge").first.drag_to(patches.filter(has_text="Honeycomb").first)
    expect(page.get_by_role("heading", level=1)).to_contain_text(", then 1 coat Hedge")
    visit.check()
    visit.photograph("what-if")
