"""On a computer with several accounts the bench answers only the browser that it was opened in."""

import os
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from laydown.web import running
from laydown.web.desk import Desk
from laydown.web.guard import GOOD_FOR, Keys
from laydown.web.running import address_to_open, key_left, own_cookie
from laydown.web.serving import create_application

HERE = "http://127.0.0.1:8017"


@pytest.fixture
def other(desk: Desk) -> Iterator[TestClient]:
    """Give the program of another account, which knows where the bench is and nothing more."""
    with TestClient(create_application(desk), base_url=HERE, follow_redirects=False) as client:
        yield client


@pytest.mark.parametrize("path", ["/", "/backup", "/kits.json", "/stop.json", "/open", "/nowhere"])
def test_another_account_is_told_nothing(other: TestClient, path: str) -> None:
    """No page, no data, no copy of the library; a sentence says how one's own browser gets in."""
    refused = other.get(path)
    assert refused.status_code == 403
    assert "laydown serve" in refused.text


def test_another_account_changes_nothing(other: TestClient, visit: TestClient) -> None:
    """A form it sends is refused, with a guessed cookie too, and so is closing the bench."""
    assert other.post("/kits", data={"name": "theirs"}).status_code == 403
    assert other.post("/stop").status_code == 403
    assert other.post("/open/ticket").status_code == 403
    other.cookies.set("bench-8017", "a guess")
    assert other.post("/kits", data={"name": "theirs"}).status_code == 403
    assert visit.get("/kits.json").json() == {"kits": []}


def test_the_opening_address_hands_the_key_over(other: TestClient, desk: Desk) -> None:
    """It sets a cookie that no script and no foreign page can use, and leads on to the bench."""
    opened = other.get("/open", params={"key": desk.keys.secret})
    assert opened.status_code == 200
    assert 'content="0;url=/"' in opened.text
    told = opened.headers["set-cookie"].lower()
    assert "httponly" in told
    assert "samesite=strict" in told
    assert "max-age" not in told
    assert other.get("/kits").status_code == 200


def test_a_browser_is_started_with_a_key_that_is_used_up(other: TestClient, desk: Desk) -> None:
    """What stands in the list of programs opens the bench once; who reads it there comes late."""
    ticket = desk.keys.make_ticket()
    assert other.get("/open", params={"key": ticket}).status_code == 200
    other.cookies.clear()
    assert other.get("/open", params={"key": ticket}).status_code == 403
    other.cookies.set("bench-8017", ticket)
    assert other.get("/").status_code == 403


def test_a_key_for_once_stands_a_minute() -> None:
    """One that nobody used in time is of no use any more."""
    moment = 0.0
    keys = Keys(clock=lambda: moment)
    early, late = keys.make_ticket(), keys.make_ticket()
    moment = GOOD_FOR - 1
    assert keys.takes(early)
    moment = GOOD_FOR
    assert not keys.takes(late)


def test_every_start_has_its_own_secret() -> None:
    """A cookie of yesterday opens nothing today."""
    assert not Keys().knows(Keys().secret)


def test_the_key_lies_where_no_other_account_reads_it() -> None:
    """While the bench is open a second start finds it; afterwards it is gone."""
    with key_left(8017, "a secret"):
        (file,) = Path(os.environ["XDG_DATA_HOME"]).glob("laydown/bench-8017.key")
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
        assert own_cookie(8017) == {"Cookie": "bench-8017=a secret"}
    assert not file.exists()
    assert own_cookie(8017) == {}


def test_a_bench_opens_where_its_key_can_not_be_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder that can't be written to shuts nobody out who has the address."""
    (tmp_path / "file").touch()
    monkeypatch.setattr(running, "_key_file", lambda _: tmp_path / "file" / "bench.key")
    with key_left(8017, "a secret"):
        assert own_cookie(8017) == {}
        assert address_to_open(9) is None
