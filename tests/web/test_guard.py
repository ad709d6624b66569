import pytest
from starlette.testclient import TestClient

from laydown.web.guard import POLICY

OWN = "http://127.0.0.1:8017"


@pytest.mark.parametrize(
    "host", ["elsewhere.example", "127.0.0.1:80", "127.0.0.1", "", "[::1]:8017"]
)
def test_a_foreign_name_finds_nothing(visit: TestClient, host: str) -> None:
    """A name that the server did not give itself gets no page, so that no rebinding reaches it."""
    refused = visit.get("/", headers={"Host": host})
    assert refused.status_code == 403
    assert "does not answer to the name" in refused.text


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://elsewhere.example"},
        {"Origin": "null"},
        {"Origin": "https://127.0.0.1:8017"},
        {"Origin": OWN, "Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate"},
    ],
)
def test_a_change_comes_only_from_our_own_pages(visit: TestClient, headers: dict[str, str]) -> None:
    """A form on another site can't change the library, and nothing of it is kept."""
    refused = visit.post("/kits", data={"name": "mine"}, headers=headers)
    assert refused.status_code == 403
    assert visit.get("/kits.json").json() == {"kits": []}


def test_our_own_form_and_a_plain_program_may_change(visit: TestClient) -> None:
    """Our own page, and a program that is no browser, are let through."""
    own = {"Origin": OWN, "Sec-Fetch-Site": "same-origin", "Sec-Fetch-Mode": "navigate"}
    assert visit.post("/kits", data={"name": "mine"}, headers=own).status_code == 303
    assert visit.post("/kits", data={"name": "hers"}).status_code == 303


def test_nothing_is_pulled_into_a_foreign_page(visit: TestClient) -> None:
    """Another site gets no answer as script, picture or data; its links lead to the door alone."""
    pulled = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "no-cors"}
    linked = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate"}
    assert visit.get("/kits.json", headers=pulled).status_code == 403
    for path in ("/kits", "/backup"):
        door = visit.get(path, headers=linked)
        assert (door.status_code, "content-disposition" in door.headers) == (200, False)
        assert "Another page wanted to lead you" in door.text


@pytest.mark.parametrize("path", ["/", "/nowhere", "/kits.json", "/static/laydown.css"])
def test_every_answer_carries_the_policy(visit: TestClient, path: str) -> None:
    """Pages, errors, data and files all forbid scripts and styles from anywhere but here."""
    headers = visit.get(path).headers
    assert headers["Content-Security-Policy"] == POLICY
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert "unsafe" not in POLICY
