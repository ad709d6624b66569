"""The pages that let a phone in, from the showing of the code to the first page on the phone."""

import random
from collections.abc import Iterator, Mapping

import pytest
from starlette.testclient import TestClient
from starlette.types import ASGIApp, Receive, Scope, Send

from laydown.web.desk import Desk, open_desk
from laydown.web.phone import Phone
from laydown.web.serving import create_application, names_of

LAN, PORT = "192.168.1.20", 8017
HOST = f"{LAN}:{PORT}"


def arriving_at(address: str, application: ASGIApp) -> ASGIApp:
    """Return the application as it is reached over one of its sockets."""

    async def arrived(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "http":
            scope = {**scope, "server": (address, PORT)}
        await application(scope, receive, send)

    return arrived


def visitor(
    application: ASGIApp, *, over: str, client: str, cookies: Mapping[str, str] | None = None
) -> TestClient:
    """Return a browser's stand-in somewhere in the home network."""
    return TestClient(
        arriving_at(over, application),
        base_url=f"http://{over}:{PORT}",
        client=(client, 50000),
        cookies=dict(cookies or {}),
        follow_redirects=False,
        raise_server_exceptions=False,
    )


@pytest.fixture
def open_to_phone(location: str) -> Iterator[Desk]:
    """Give a bench that is open to the home network."""
    phone = Phone(HOST, clock=lambda: 0.0, draw=random.Random(8).randrange)
    with open_desk(location, hosts=names_of(PORT), phone=phone) as desk:
        yield desk


@pytest.fixture
def table(open_to_phone: Desk) -> tuple[TestClient, TestClient, TestClient]:
    """Give the browsers of the bench, the phone and a neighbor."""
    application = create_application(open_to_phone)
    return (
        visitor(
            application,
            over="127.0.0.1",
            client="127.0.0.1",
            cookies=open_to_phone.keys.cookies(PORT),
        ),
        visitor(application, over=LAN, client="192.168.1.33"),
        visitor(application, over=LAN, client="192.168.1.66"),
    )


def test_a_phone_is_let_in_from_code_to_first_page(
    table: tuple[TestClient, TestClient, TestClient],
) -> None:
    """The bench shows a code; the phone sends it and is at the bench; the neighbor is not."""
    bench, phone, neighbor = table
    assert phone.get("/").headers["location"] == "/pair"
    assert bench.post("/phone/code").headers["location"] == "/phone"
    shown = bench.get("/phone.json").json()
    assert shown["code"] in bench.get("/phone").text
    assert shown["address"] == f"http://{HOST}/pair"
    filled = phone.get("/pair", params={"code": shown["code"]})
    assert f'value="{shown["code"]}"' in filled.text
    let_in = phone.post("/pair", data={"code": shown["code"]})
    assert (let_in.status_code, let_in.headers["location"]) == (303, "/")
    at_the_bench = 'href="/stop"'
    assert at_the_bench in bench.get("/kits").text
    assert at_the_bench not in phone.get("/kits").text
    assert phone.post("/kits", data={"name": "mine"}).status_code == 303
    assert neighbor.get("/kits").status_code == 303
    assert "A phone is let in" in bench.get("/phone").text
    assert bench.post("/phone/forget").status_code == 303
    assert phone.get("/kits").headers["location"] == "/pair"


def test_the_secret_stays_out_of_reach_of_scripts_and_sites(
    table: tuple[TestClient, TestClient, TestClient],
) -> None:
    """The cookie is sent by the browser alone, to this server alone, and ends with the browser."""
    bench, phone, _ = table
    code = bench.post("/phone/code.json").json()["code"]
    cookies = phone.post("/pair", data={"code": code}).headers.get_list("set-cookie")
    (secret,) = [cookie for cookie in cookies if cookie.startswith("phone=")]
    assert "HttpOnly" in secret
    assert "SameSite=strict" in secret
    assert "Path=/" in secret
    assert "Max-Age" not in secret
    assert "Domain" not in secret


def test_looking_at_the_page_uses_no_code_up(
    table: tuple[TestClient, TestClient, TestClient],
) -> None:
    """Only sending the form does."""
    bench, phone, neighbor = table
    code = bench.post("/phone/code.json").json()["code"]
    for _ in range(10):
        neighbor.get("/pair", params={"code": code})
    assert phone.post("/pair", data={"code": code}).status_code == 303


def test_a_wrong_code_is_an_error_in_words(
    table: tuple[TestClient, TestClient, TestClient],
) -> None:
    """Also no code at all, one too long, and one sent at the bench itself."""
    bench, phone, _ = table
    code = bench.post("/phone/code.json").json()["code"]
    wrong = phone.post("/pair", data={"code": "2222 2222"})
    assert wrong.status_code == 403
    assert "That is not the code." in wrong.text
    assert phone.post("/pair").status_code == 403
    assert phone.post("/pair", data={"code": "2" * 41}).status_code == 422
    assert bench.post("/pair", data={"code": code}).status_code == 403


def test_the_square_holds_the_address_and_breaks_no_policy(
    table: tuple[TestClient, TestClient, TestClient],
) -> None:
    """It is drawn without any style of its own."""
    bench, _, _ = table
    picture = bench.post("/phone/code.json").json()["picture"]
    assert picture.startswith("<svg")
    assert "style" not in picture
    assert "script" not in picture


def test_without_the_option_there_is_no_phone(visit: TestClient) -> None:
    """The page says how to open the bench to one; a code can't be made."""
    assert "laydown serve --phone" in visit.get("/phone").text
    assert visit.post("/phone/code").status_code == 403
    assert visit.post("/phone/forget").status_code == 403
    assert "This page is for the phone." in visit.get("/pair").text
    assert visit.post("/pair", data={"code": "2222"}).status_code == 403


def test_the_option_lets_no_foreign_name_in(
    table: tuple[TestClient, TestClient, TestClient],
) -> None:
    """With the bench open to a phone, this computer's own rules hold as before."""
    bench, _, _ = table
    for host in ("elsewhere.example", HOST, "127.0.0.1:80"):
        assert bench.get("/", headers={"Host": host}).status_code == 403
    for origin in ("http://elsewhere.example", f"http://{HOST}", "null"):
        sent = bench.post("/kits", data={"name": "x"}, headers={"Origin": origin})
        assert sent.status_code == 403
    assert bench.get("/kits.json").json() == {"kits": []}
