import re

from starlette.testclient import TestClient

import laydown
from laydown.web.desk import Desk


def test_the_page_says_what_closing_breaks_off(visit: TestClient, location: str) -> None:
    """It names the library, and looking at it closes nothing."""
    page = visit.get("/stop")
    assert "Put the pencils away" in page.text
    assert visit.get("/stop.json").json() == {
        "bench": "laydown",
        "version": laydown.__version__,
        "library": location,
        "unfinished": 0,
    }


def test_the_button_closes_the_bench(visit: TestClient, desk: Desk) -> None:
    """After a last page that says so."""
    assert not desk.closing.is_set()
    page = visit.post("/stop")
    assert page.status_code == 200
    assert "You can close this window." in page.text
    assert desk.closing.is_set()


def test_the_last_page_leads_nowhere(visit: TestClient) -> None:
    """The bench behind it is closed: it shows no link and no form, but the way to its own text."""
    page = visit.post("/stop").text
    assert re.findall('<a [^>]*href="([^"]*)"', page) == ["#work"]
    assert "<form" not in page
    assert "<nav" not in page


def test_another_site_closes_nothing(visit: TestClient, desk: Desk) -> None:
    """A form on a foreign page is refused like any other change from there."""
    refused = visit.post("/stop", headers={"Origin": "http://elsewhere.example"})
    assert refused.status_code == 403
    assert not desk.closing.is_set()
