"""Files sent to the bench, whole and broken: bounded, gone afterwards, told in one sentence."""

import random
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import pytest
from anyio.from_thread import start_blocking_portal
from fastapi import APIRouter, File, Form, UploadFile
from fastapi.applications import FastAPI
from starlette.exceptions import HTTPException
from starlette.testclient import TestClient
from starlette.types import Message, Receive, Scope, Send

from laydown.web import files as uploads
from laydown.web.errors import catch_errors
from laydown.web.files import BoundedBody, paths_with_files, sent_files, shown_name
from laydown.web.pages import PAGES

router = APIRouter()
DESCRIPTORS = Path("/proc/self/fd")
BOUNDARY = "xxLaydownxx"
KIND = f"multipart/form-data; boundary={BOUNDARY}"


@router.post("/form.json")
def take_words(name: Annotated[str, Form()]) -> dict[str, str]:
    """Take a form without files."""
    return {"name": name}


@router.post("/files.json")
def take(files: Annotated[list[UploadFile], File()]) -> dict[str, int]:
    """Take files, and say how many bytes each has."""
    return {sent.source: len(sent.content) for sent in sent_files(files)}


@pytest.fixture
def sending(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[TestClient]:
    """Give a server that takes files, whose temporary files lie in a folder of their own."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    application = FastAPI()
    application.include_router(router)
    catch_errors(application)
    application.add_middleware(BoundedBody, with_files=paths_with_files([router]))
    with TestClient(application, raise_server_exceptions=False) as client:
        yield client


def part(name: str, content: bytes, *, field: str = "files") -> bytes:
    """Write one part of a form."""
    head = f'Content-Disposition: form-data; name="{field}"; filename="{name}"'
    return f"--{BOUNDARY}\r\n{head}\r\n\r\n".encode() + content + b"\r\n"


WHOLE = (
    part("a.csv", b"L,a,b\n" * 50)
    + part("b.jpg", bytes(range(256)))
    + f"--{BOUNDARY}--\r\n".encode()
)


def post(client: TestClient, body: bytes, kind: str = KIND) -> int:
    """Send a body and return the status."""
    return client.post("/files.json", content=body, headers={"Content-Type": kind}).status_code


def test_files_come_as_they_were_sent(sending: TestClient) -> None:
    """Their bytes are the same, and their names are the last part of what was sent."""
    sent = [("files", ("C:\\x\\a.csv", b"12345")), ("files", ("../b.jpg", b"x" * 2_000_000))]
    answer = sending.post("/files.json", files=sent)
    assert answer.json() == {"a.csv": 5, "b.jpg": 2_000_000}


def test_an_empty_file_is_told_as_one(sending: TestClient) -> None:
    """A named file without content is an error."""
    empty = sending.post("/files.json", files=[("files", ("a.csv", b""))])
    assert empty.status_code == 422
    assert empty.json()["error"]["message"] == "There is nothing in a.csv."


@pytest.mark.parametrize("kind", [KIND, "application/x-www-form-urlencoded"])
def test_too_much_is_broken_off_in_one_sentence(
    sending: TestClient, monkeypatch: pytest.MonkeyPatch, kind: str, tmp_path: Path
) -> None:
    """While it arrives, and without anything kept, whether or not its length was said before."""
    monkeypatch.setattr(uploads, "MOST_WITH_FILES", 3_000_000)
    drawn = 0

    def endless() -> Iterator[bytes]:
        nonlocal drawn
        yield part("a.jpg", b"")[:-2]
        for _ in range(1000):
            drawn += 1
            yield b"x" * 100_000

    for content in (endless(), part("a.jpg", b"x" * 4_000_000)):
        answer = sending.post("/files.json", content=content, headers={"Content-Type": kind})
        assert answer.status_code == 413
        assert answer.json()["error"]["message"] == "That is more than this page takes."
    assert list(tmp_path.iterdir()) == []


def test_the_limit_is_what_it_says(sending: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    """A body of exactly the limit is taken, one more byte isn't."""
    monkeypatch.setattr(uploads, "MOST_WITH_FILES", len(WHOLE))
    assert post(sending, WHOLE) == 200
    monkeypatch.setattr(uploads, "MOST_WITH_FILES", len(WHOLE) - 1)
    assert post(sending, WHOLE) == 413


def test_a_form_without_files_takes_none(
    sending: TestClient, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """However it is written, it is as large as typed words are."""
    monkeypatch.setattr(uploads, "MOST_WITHOUT", 1_500_000)
    large = part("a.jpg", b"x" * 2_000_000, field="name") + f"--{BOUNDARY}--\r\n".encode()
    for content in (large, iter([large])):
        answer = sending.post("/form.json", content=content, headers={"Content-Type": KIND})
        assert answer.status_code == 413
    assert post(sending, large, "application/x-www-form-urlencoded") == 413
    assert sending.post("/form.json", data={"name": "Kelp"}).json() == {"name": "Kelp"}
    assert list(tmp_path.iterdir()) == []


def test_every_form_that_asks_for_a_file_takes_it(visit: TestClient) -> None:
    """The addresses that files can be sent to are those that the bench describes so."""
    ways = visit.get("/openapi.json").json()["paths"].items()
    kinds = {
        path: list(way.get("post", {}).get("requestBody", {}).get("content", {}))
        for path, way in ways
    }
    described = {path for path, kind in kinds.items() if kind == ["multipart/form-data"]}
    assert paths_with_files(PAGES) == described
    assert {"/sheet/read", "/history/restore"} < described


@pytest.mark.parametrize("said", ["200000001", "9" * 5_000])
def test_what_says_that_it_is_too_long_is_not_even_begun(said: str) -> None:
    """Where a request tells its length, nothing of it is read before that is judged."""

    async def reads(scope: Scope, receive: Receive, send: Send) -> None:
        await receive()

    async def never() -> Message:
        pytest.fail("it was read")

    layer = BoundedBody(reads, with_files=frozenset({"/files"}))
    scope: Scope = {
        "type": "http",
        "path": "/files",
        "query_string": b"",
        "headers": [(b"content-length", said.encode())],
    }
    with pytest.raises(HTTPException) as refused:
        layer(scope, never, never).send(None)  # type: ignore[attr-defined]  a coroutine
    assert refused.value.status_code == 413


@pytest.mark.parametrize("path", ["/kits?name=", "/kits.json?name=", "/kits/"])
def test_an_address_has_an_end(visit: TestClient, path: str) -> None:
    """One longer than any of the bench is refused in a sentence, whatever it leads to."""
    answer = visit.get(path + "9" * 50_000)
    assert answer.status_code == 414
    assert "That address is longer than any that the bench has." in answer.text


@pytest.mark.parametrize(
    ("body", "kind"),
    [
        (b"", KIND),
        (WHOLE, "multipart/form-data"),
        (WHOLE, "multipart/form-data; boundary="),
        (WHOLE, f"multipart/form-data; boundary={'x' * 300}"),
        (WHOLE, "multipart/form-data; boundary=other"),
        (WHOLE, "text/plain"),
        (WHOLE, "application/json"),
        (WHOLE[:-20], KIND),
        (WHOLE.replace(b'name="files"', b"nome"), KIND),
        (WHOLE.replace(b"\r\n", b"\n"), KIND),
        (b"--" * 10_000, KIND),
        (f"--{BOUNDARY}\r\n".encode() + b"X: y\r\n" * 5000, KIND),
        (f"--{BOUNDARY}\r\n".encode() + b"X: " + b"y" * 100_000, KIND),
        (part("a", b"") * 1001, KIND),
        (b"files=a&files=b&&&=%zz", "application/x-www-form-urlencoded"),
    ],
)
def test_what_is_malformed_is_the_senders_fault(
    sending: TestClient, body: bytes, kind: str, tmp_path: Path
) -> None:
    """It is answered as such, never as ours, and leaves no file."""
    assert 400 <= post(sending, body, kind) < 500
    assert list(tmp_path.iterdir()) == []


def spoiled(chance: random.Random) -> bytes:
    """Return the whole body with something cut, doubled or changed."""
    body = bytearray(WHOLE + part("c.tif", b"x" * chance.choice([0, 10, 1_500_000])))
    for _ in range(chance.randint(1, 6)):
        place = chance.randrange(len(body)) if body else 0
        match chance.randrange(4):
            case 0:
                del body[place:]
            case 1:
                del body[place : place + chance.randint(1, 40)]
            case 2:
                body[place:place] = body[place : place + 60]
            case _:
                body[place : place + 1] = bytes([chance.randrange(256)])
    return bytes(body)


@pytest.mark.skipif(not DESCRIPTORS.exists(), reason="open files are counted on Linux only")
def test_hundreds_of_malformed_uploads_leave_nothing_open(
    sending: TestClient, tmp_path: Path
) -> None:
    """No crash, no file in the folder, no descriptor; ten thousand run in benchmarks/uploads.py."""
    chance = random.Random(19)
    assert post(sending, WHOLE) == 200
    before = len(list(DESCRIPTORS.iterdir()))
    statuses = {post(sending, spoiled(chance)) for _ in range(300)}
    assert max(statuses) < 500
    assert len(list(DESCRIPTORS.iterdir())) <= before
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "name", ["a" * 500, "\u202egpj.exe", "a\r\nb.csv", "/", "", "...", "\ud800"]
)
def test_a_name_can_be_shown_whatever_it_was(name: str) -> None:
    """It has no path, no line end, no sign that turns the text about, and is short."""
    shown = shown_name(name)
    assert 0 < len(shown) <= 100
    assert not set("/\\\r\n\u202e") & set(shown)
    shown.encode()


def test_the_body_of_a_look_is_not_judged() -> None:
    """What is only looked at has no body that counts, broken off or not."""
    sent: list[Message] = []

    async def look(scope: Scope, receive: Receive, _send: Send) -> None:
        sent.append(await receive())

    async def receive() -> Message:
        return {"type": "http.request", "body": b"broken off", "more_body": False}

    async def send(_message: Message) -> None:
        return None

    headers = [(b"content-type", b"multipart/form-data; boundary=x")]
    scope = {"type": "http", "method": "GET", "path": "/", "query_string": b"", "headers": headers}
    with start_blocking_portal() as apart:  # a browser's test may have left a loop in this thread
        apart.call(BoundedBody(look, with_files={"/"}), scope, receive, send)
    assert sent == [{"type": "http.request", "body": b"broken off", "more_body": False}]
