"""Presses on a page, counted."""

from playwright.sync_api import Locator, Page, expect


class Presses:
    """Presses on a page, counted."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.count = 0

    def on(self, place: Locator) -> None:
        """Press once."""
        self.count += 1
        place.click()

    def button(self, name: str) -> None:
        """Press the first button of this name."""
        self.on(self.page.get_by_role("button", name=name, exact=True).first)

    def link(self, name: str, *, within: str = "main") -> None:
        """Press a link of this name."""
        self.on(self.page.locator(within).get_by_role("link", name=name, exact=True).first)

    def patch(self, name: str) -> None:
        """Touch the patch of a color."""
        self.on(self.page.locator(".chips a", has_text=name).first)

    def sees(self, heading: str) -> None:
        """Wait until a heading says so."""
        expect(self.page.get_by_role("heading", name=heading).first).to_be_visible()
