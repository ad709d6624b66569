"""Long work watched in a real browser."""

import threading
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from playwright.sync_api import expect

from laydown.app import jobs as app_jobs
from laydown.app.jobs import Job


@dataclass(frozen=True, slots=True)
class Slow:
    """A request for something slow."""


@pytest.fixture
def slow(bench: Any, monkeypatch: pytest.MonkeyPatch) -> Iterator[Job]:
    """Give a job that goes on until it is stopped."""
    over = threading.Event()

    def work(*, library: Any, request: Slow, watch: Any, tell: Any) -> Slow:
        tell("Mixing the blues…")
        for step in range(100_000):
            watch(step % 90, 100)
            if over.wait(0.05):
                break
        return request

    monkeypatch.setattr(app_jobs, "job_task", lambda _: (work, Slow, Slow))
    # else a page that a busy computer opens late finds how long it takes in place of what was told
    monkeypatch.setattr(app_jobs, "told_if_long", lambda watch, _: watch)
    yield bench.jobs.start("make_chart", Slow(), title="A blue bowl")
    over.set()


def test_a_job_is_watched_and_stopped_by_keyboard(slow: Job, visit: Any) -> None:
    """Progress comes by itself, the button keeps the focus meanwhile, and Enter stops the work."""
    page = visit.go(f"/job?number={slow.id}")
    expect(page.locator("#job")).to_contain_text("Mixing the blues")
    button = page.get_by_role("button", name="Stop it")
    button.focus()
    before = page.locator("progress").get_attribute("value")
    expect(page.locator("progress")).not_to_have_attribute("value", before or "")
    expect(button).to_be_focused()
    visit.check()
    visit.photograph("job")
    page.keyboard.press("Enter")
    expect(page.locator("#job")).to_contain_text("stopped, as you asked")
    visit.check()


def test_a_reload_and_a_second_tab_lose_nothing(slow: Job, visit: Any) -> None:
    """Both show the same work, still under way."""
    page = visit.go(f"/job?number={slow.id}")
    page.reload()
    expect(page.locator("#job")).to_contain_text("under way")
    second = page.context.new_page()
    second.goto(f"{visit.bench.address}/jobs")
    second.get_by_role("link", name="A blue bowl").click()
    expect(second.locator("#job")).to_contain_text("under way")
    second.close()
