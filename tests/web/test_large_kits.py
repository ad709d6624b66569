"""Searches that are too long to wait for a page: said first, and done as long work."""

import re
import threading
from collections.abc import Callable
from typing import Any

import pytest
from starlette.testclient import TestClient

from laydown.app import jobs as jobs_module
from laydown.app import tasks
from laydown.match.search import search
from laydown.store.records import Job, State
from laydown.web import desk

Over = Callable[[int], Job]
ASKED = {"wanted": "lab:54,80,68", "range": "Shoal", "paper": "Gannet smooth"}


@pytest.fixture
def at_once(shoal: TestClient) -> dict[str, Any]:
    """Return the answer as it is given where it takes no time."""
    answer: dict[str, Any] = shoal.get("/color.json", params=ASKED).json()
    return answer


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch, at_once: dict[str, Any]) -> dict[str, Any]:
    """Have every search count as long; return the answer as it was before."""
    for name in ("FEW", "AT_FIRST", "AT_MOST"):
        monkeypatch.setattr(search, name, 16)
    monkeypatch.setattr(desk, "LARGE", 0)
    monkeypatch.setattr(tasks, "LONG", -1.0)
    monkeypatch.setattr(tasks, "FIRST_LOOK", 0.0)
    return at_once


def started(shoal: TestClient) -> int:
    """Start what the page offers, as its form does; return the job's number."""
    page = shoal.get("/color", params=ASKED).text
    (form,) = re.findall(r'<form method="post" action="/charts">(.*?)</form>', page, re.DOTALL)
    fields = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form))
    return int(shoal.post("/charts", data=fields).headers["location"].rpartition("=")[2])


@pytest.mark.usefixtures("slow")
def test_a_page_says_first_that_a_search_is_long(shoal: TestClient) -> None:
    """How many recipes, how long at most, what is sooner done; a program is told the same."""
    page = shoal.get("/color", params=ASKED)
    assert page.status_code == 200
    assert re.search(r"There are [\d,]+ recipes to search\. This may take up to \d+ s", page.text)
    assert 'name="steps" value="2"' in page.text
    assert 'name="coats" value="2"' in page.text
    assert 'value="lab:54,80,68"' in page.text
    told = shoal.get("/color.json", params=ASKED)
    assert (told.status_code, told.json()["error"]["slug"]) == (422, "takes-long")
    assert shoal.get("/boxes.json", params={"wanted": ASKED["wanted"]}).status_code == 200


def test_a_long_search_is_long_work_with_the_same_answer(
    shoal: TestClient, slow: dict[str, Any], over: Over
) -> None:
    """It makes a chart of the one color, by the same choices."""
    number = started(shoal)
    assert over(number).state is State.DONE
    (match,) = shoal.get("/chart.json", params={"job": number}).json()["matches"]
    assert match["best"]["prediction"]["recipe"] == slow["best"]["prediction"]["recipe"]
    assert match["considered"] == slow["considered"]


@pytest.mark.usefixtures("slow")
def test_a_long_search_shows_how_far_it_is_and_can_be_stopped(
    shoal: TestClient, over: Over, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It says how long it may take; stopped, it ends at its next step and has found nothing."""
    begun, go_on, calls = threading.Event(), threading.Event(), [0]
    watch = jobs_module._Live.watch

    def waits_for_us(live: jobs_module._Live, done: int, total: int) -> None:
        calls[0] += 1
        if calls[0] == 3:
            begun.set()
            go_on.wait(60)
        watch(live, done, total)

    monkeypatch.setattr(jobs_module._Live, "watch", waits_for_us)
    number = started(shoal)
    assert begun.wait(60)
    page = shoal.get("/job", params={"number": number}).text
    assert re.search(r"under way, [1-9]\d? % done", page)
    assert "This may take up to" in page
    assert "Stop it" in page
    shoal.post("/job/cancel", data={"number": number})
    go_on.set()
    assert over(number).state is State.CANCELLED
    assert calls[0] == 3
    assert "Ask for less" in shoal.get("/job", params={"number": number}).text
    assert shoal.get("/chart.json", params={"job": number}).status_code == 404


def test_a_page_that_was_asked_nothing_is_no_long_search(visit: TestClient) -> None:
    """Before a color is wanted the page asks for one."""
    page = visit.get("/color")
    assert page.status_code == 200
    assert "Search all of it?" not in page.text
