"""Searches that are too long to wait for a page: said first, and done as long work."""

import re
import threading
from collections.abc import Callable

import pytest
from starlette.testclient import TestClient

from laydown.app import jobs as jobs_module
from laydown.app import waits
from laydown.match.search import search
from laydown.store.records import Job, State
from laydown.web import desk

Over = Callable[[int], Job]
ASKED = {"wanted": "lab:54,80,68", "range": "Shoal", "paper": "Gannet smooth"}


@pytest.fixture
def at_once(shoal: TestClient) -> dict[str, object]:
    """Return the answer as it is given where it takes no time."""
    answer: dict[str, object] = shoal.get("/color.json", params=ASKED).json()
    return answer


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch, at_once: dict[str, object]) -> dict[str, object]:
    """Have every search count as long; return the answer as it was before."""
    for name in ("FEW", "AT_FIRST", "AT_MOST"):
        monkeypatch.setattr(search, name, 16)
    monkeypatch.setattr(desk, "LARGE", 0)
    monkeypatch.setattr(waits, "LONG", -1.0)
    monkeypatch.setattr(waits, "FIRST_LOOK", 0.0)
    return at_once


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
    shoal: TestClient, slow: dict[str, object], over: Over
) -> None:
    """Its page is the page of a color, and leads on as that does."""
    started = shoal.post("/color", data=ASKED)
    (number,) = re.findall(r"/job\?number=(\d+)$", started.headers["location"])
    assert over(int(number)).state is State.DONE
    assert f'href="/color?job={number}"' in shoal.get("/job", params={"number": number}).text
    assert shoal.get("/color.json", params={"job": number}).json() == slow
    page = shoal.get("/color", params={"job": number}).text
    assert "What to do" in page
    assert 'href="/light?wanted=lab%3A54%2C80%2C68&amp;range=Shoal' in page


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
    number = int(shoal.post("/color", data=ASKED).headers["location"].rpartition("=")[2])
    assert begun.wait(60)
    page = shoal.get("/job", params={"number": number}).text
    assert re.search(r"under way, [1-9]\d? % done", page)
    assert "recipes to search. This may take up to" in page
    assert "Stop it" in page
    shoal.post("/job/cancel", data={"number": number})
    go_on.set()
    assert over(number).state is State.CANCELLED
    assert calls[0] == 3
    assert "Ask for less" in shoal.get("/job", params={"number": number}).text
    assert shoal.get("/color.json", params={"job": number}).status_code == 404


def test_a_page_that_was_asked_nothing_is_no_long_search(visit: TestClient) -> None:
    """Before a color is wanted the page asks for one."""
    page = visit.get("/color")
    assert page.status_code == 200
    assert "Search all of it?" not in page.text
