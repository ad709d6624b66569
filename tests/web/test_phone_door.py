"""What comes in from the home network, and what doesn't, whatever a request says of itself."""

import random
from collections.abc import Callable
from typing import Any

import httpx2
import pytest
from anyio.from_thread import start_blocking_portal
from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import Receive, Scope, Send

from laydown.web.guard import Guard
from laydown.web.phone import FROM_PHONE, Phone, PhoneDoor
from laydown.web.serving import names_of

LAN, PORT = "192.168.1.20", 8017
HOST = f"{LAN}:{PORT}"
PHONE, NEIGHBOR = "192.168.1.33", "192.168.1.66"
Ask = Callable[..., httpx2.Response]


async def inside(scope: Scope, receive: Receive, send: Send) -> None:
    """Stand for the bench."""
    told = f"inside {scope['path']}, phone {scope.get(FROM_PHONE, False)}"
    await PlainTextResponse(told)(scope, receive, send)


@pytest.fixture
def phone() -> Phone:
    """Return a bench that no phone was let in at."""
    return Phone(HOST, clock=lambda: 0.0, draw=random.Random(8).randrange)


@pytest.fixture
def ask(phone: Phone) -> Ask:
    """Return a way to ask the guarded bench, over either of its sockets."""
    door = Guard(PhoneDoor(inside, phone=phone), hosts=names_of(PORT) | {HOST})

    def asking(
        path: str = "/kits",
        *,
        method: str = "GET",
        over: str = LAN,
        client: str = PHONE,
        host: str = HOST,
        secret: str = "",
        **headers: str,
    ) -> httpx2.Response:
        async def arrived(scope: Scope, receive: Receive, send: Send) -> None:
            await door({**scope, "server": (over, PORT)}, receive, send)

        async def answer() -> httpx2.Response:
            transport = httpx2.ASGITransport(arrived, client=(client, 50000))
            sent = {"Host": host, **({"Cookie": f"phone={secret}"} if secret else {})}
            sent |= {name.replace("_", "-"): value for name, value in headers.items()}
            async with httpx2.AsyncClient(transport=transport, base_url="http://any") as visitor:
                return await visitor.request(method, path, headers=sent)

        with start_blocking_portal() as apart:  # a browser's test may have left a loop in this one
            return apart.call(answer)

    return asking


@pytest.fixture
def secret(phone: Phone) -> str:
    """Let the phone in."""
    return phone.let_in(phone.make_code(), address=PHONE)


def test_this_computer_is_answered_as_ever(ask: Ask) -> None:
    """Its own browser needs no secret, and its guard stands as before."""
    assert ask(over="127.0.0.1", host="127.0.0.1:8017").text == "inside /kits, phone False"
    assert ask(over="127.0.0.1", host="elsewhere.example").status_code == 403
    foreign = {"Origin": "http://elsewhere.example"}
    own = {"over": "127.0.0.1", "host": "localhost:8017", "method": "POST"}
    assert ask(**own, **foreign).status_code == 403


def test_this_computer_is_not_reached_by_the_name_for_the_phone(ask: Ask) -> None:
    """What arrives inside must call the server by its inner name."""
    assert ask(over="127.0.0.1", host=HOST).status_code == 403


def test_a_stranger_sees_the_question_for_the_code_alone(ask: Ask) -> None:
    """Pages lead there; data and changes are refused; what it is drawn with is given."""
    sent = ask("/")
    assert (sent.status_code, sent.headers["location"]) == (303, "/pair")
    assert ask("/kits.json").status_code == 303
    assert ask("/kits", method="POST").status_code == 403
    assert ask("/kits", method="OPTIONS").status_code == 403
    assert ask("/pair").text == "inside /pair, phone True"
    assert ask("/static/laydown.css").status_code == 200


@pytest.mark.parametrize("path", ["/pair/", "/pairs", "/pair.json", "/static", "//pair", "/PAIR"])
def test_nothing_near_the_open_addresses_is_open(ask: Ask, path: str) -> None:
    """Only the one page and the folder of its drawing are."""
    assert ask(path).status_code == 303


def test_the_phone_is_answered(ask: Ask, secret: str) -> None:
    """With its secret, from its address."""
    assert ask(secret=secret).text == "inside /kits, phone True"
    own = {"Origin": f"http://{HOST}", "Sec_Fetch_Site": "same-origin"}
    assert ask(secret=secret, method="POST", **own).status_code == 200


def test_a_copied_secret_is_no_phone(ask: Ask, secret: str) -> None:
    """Not from another address, nor a wrong one, nor after the phone was let go."""
    assert ask(secret=secret, client=NEIGHBOR).status_code == 303
    assert ask(secret=secret[::-1]).status_code == 303
    assert ask(secret='"; phone=').status_code == 303


def test_a_phone_that_was_let_go_is_a_stranger(ask: Ask, phone: Phone, secret: str) -> None:
    """From then on it is asked for a code."""
    phone.forget()
    assert ask(secret=secret).status_code == 303


@pytest.mark.parametrize(
    "host",
    [
        "127.0.0.1:8017",
        "localhost:8017",
        LAN,
        f"{LAN}:80",
        "elsewhere.example:8017",
        "",
        f"{HOST}.",
    ],
)
def test_only_the_exact_name_is_answered(ask: Ask, secret: str, host: str) -> None:
    """A name pointed at this computer, or the inner one said from outside, finds nothing."""
    assert ask(secret=secret, host=host).status_code == 403
    assert ask("/pair", host=host).status_code == 403


@pytest.mark.parametrize(
    "origin", ["http://elsewhere.example", "null", "http://127.0.0.1:8017", f"https://{HOST}"]
)
def test_a_change_comes_only_from_the_phones_own_pages(ask: Ask, secret: str, origin: str) -> None:
    """Another page open on the phone changes nothing, nor tries codes."""
    assert ask(secret=secret, method="POST", Origin=origin).status_code == 403
    assert ask("/pair", method="POST", Origin=origin).status_code == 403
    crossing = {"Sec_Fetch_Site": "cross-site"}
    assert ask(secret=secret, method="POST", **crossing).status_code == 403
    assert ask("/pair", method="POST", **crossing).status_code == 403


@pytest.mark.parametrize("path", ["/phone", "/phone.json", "/phone/code", "/stop", "/stop.json"])
def test_the_phone_lets_nobody_in_and_closes_nothing(ask: Ask, secret: str, path: str) -> None:
    """What is for the person at the bench is answered there alone."""
    assert ask(path, secret=secret).status_code == 403
    assert ask(path, secret=secret, method="POST").status_code == 403
    assert ask(path, over="127.0.0.1", host="127.0.0.1:8017").status_code == 200


def test_a_connection_from_nowhere_known_is_a_strangers(phone: Phone) -> None:
    """Where the server's own address isn't known, nothing is taken for this computer's browser."""
    sent: list[dict[str, Any]] = []
    scope: Scope = {
        "type": "http",
        "method": "GET",
        "path": "/",
        "headers": Headers({"host": "127.0.0.1:8017"}).raw,
    }

    async def send(message: Any) -> None:
        sent.append(message)

    async def receive() -> Any:
        return {"type": "http.request"}

    with start_blocking_portal() as apart:
        apart.call(PhoneDoor(inside, phone=phone), scope, receive, send)
    assert sent[0]["status"] == 403


def test_no_socket_stays_open(phone: Phone) -> None:
    """A WebSocket is closed from either side, since the bench has none."""
    sent: list[dict[str, Any]] = []

    async def send(message: Any) -> None:
        sent.append(message)

    async def receive() -> Any:
        return {"type": "websocket.connect"}

    door = PhoneDoor(inside, phone=phone)
    with start_blocking_portal() as apart:
        apart.call(door, {"type": "websocket", "server": (LAN, PORT)}, receive, send)
    assert sent == [{"type": "websocket.close", "code": 1008}]
