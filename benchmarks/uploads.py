"""Send ten thousand malformed bodies to every form of the bench, and count what is left behind.

Run from the root of the project: ``python benchmarks/uploads.py [HOW_MANY]``. Each body is a whole
form with something cut, doubled or changed, sent in pieces to a form of the bench or to a page that
takes files; a job that one of them starts is kept, and ends at once. It ends with an error if any
answer is a fault of the server, or if a file, an open file or a thread is left. A subset runs in
``tests/web/test_uploads.py``.
"""

import asyncio
import gc
import logging
import random
import sys
import tempfile
import threading
import time
import tracemalloc
import warnings
from collections import Counter
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, File, UploadFile
from starlette.types import ASGIApp

from laydown.app import jobs
from laydown.errors import LaydownError
from laydown.web.desk import open_desk
from laydown.web.files import sent_files
from laydown.web.serving import create_application, names_of

SEED = 20261125
HOST = b"127.0.0.1:8017"
OWN: list[tuple[bytes, bytes]] = []
"""What one's own browser sends along; else nothing is read of what comes."""
BOUNDARY = b"--xxLaydownxx"
DESCRIPTORS = Path("/proc/self/fd")
FILES = "/files.json"

router = APIRouter()


@router.post(FILES)
def take(files: Annotated[list[UploadFile], File()]) -> dict[str, int]:
    """Take files, and say how many bytes each has."""
    return {sent.source: len(sent.content) for sent in sent_files(files)}


def whole_form(chance: random.Random) -> bytes:
    """Return a form with two fields and up to three files, one of them perhaps on the disk."""
    parts = [(b'name="name"', b"mine"), (b'name="number"', b"1")]
    for name in (b"a.csv", b"b.jpg", b"c.tif")[: chance.randrange(4)]:
        size = chance.choice((0, 1, 300, 5_000, 1_200_000))
        head = b'name="files"; filename="' + name + b'"\r\nContent-Type: image/jpeg'
        parts.append((head, chance.randbytes(size)))
    written = [
        BOUNDARY + b"\r\nContent-Disposition: form-data; " + h + b"\r\n\r\n" + c for h, c in parts
    ]
    return b"\r\n".join([*written, BOUNDARY + b"--\r\n"])


def spoiled(body: bytes, chance: random.Random) -> bytes:
    """Return a body with something cut, doubled or changed."""
    changed = bytearray(body)
    for _ in range(chance.randint(1, 5)):
        reach = len(changed) if chance.random() < 0.3 else min(len(changed), 400)
        place = chance.randrange(reach) if reach else 0
        match chance.randrange(4):
            case 0:
                del changed[place:]
            case 1:
                del changed[place : place + chance.randint(1, 60)]
            case 2:
                changed[place:place] = changed[place : place + 80]
            case _:
                changed[place : place + 1] = chance.randbytes(1)
    return bytes(changed)


def in_pieces(body: bytes, chance: random.Random) -> list[dict[str, Any]]:
    """Return the messages in which a body arrives; one in eight visitors goes away in between."""
    size = chance.choice((7, 1000, 64_000, 10_000_000)) if len(body) < 10_000 else 64_000
    pieces = [body[at : at + size] for at in range(0, len(body), size)] or [b""]
    messages: list[dict[str, Any]] = [
        {"type": "http.request", "body": piece, "more_body": True} for piece in pieces
    ]
    if chance.random() < 1 / 8:
        return [*messages[: chance.randint(0, len(messages))], {"type": "http.disconnect"}]
    messages[-1]["more_body"] = False
    return [*messages, {"type": "http.disconnect"}]


async def answer(application: ASGIApp, path: str, messages: list[dict[str, Any]]) -> int:
    """Send a body to an address and return the status."""
    kind = b"multipart/form-data; boundary=" + BOUNDARY[2:]
    statuses: list[int] = []
    waiting = iter(messages)

    async def receive() -> Any:
        return next(waiting, {"type": "http.disconnect"})

    async def send(message: Any) -> None:
        if message["type"] == "http.response.start":
            statuses.append(message["status"])

    scope = {
        "type": "http",
        "method": "POST",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "root_path": "",
        "scheme": "http",
        "server": ("127.0.0.1", 8017),
        "client": ("127.0.0.1", 50000),
        "headers": [(b"host", HOST), (b"content-type", kind), *OWN],
    }
    await application(scope, receive, send)
    return statuses[0] if statuses else 0


async def attack(application: ASGIApp, paths: list[str], many: int) -> Counter[int]:
    """Send so many spoiled bodies, and count the answers by status."""
    chance = random.Random(SEED)
    counted: Counter[int] = Counter()
    for _ in range(many):
        body = spoiled(whole_form(chance), chance)
        path = FILES if chance.random() < 0.5 else chance.choice(paths)
        counted[await answer(application, path, in_pieces(body, chance))] += 1
    return counted


def do_nothing(*_: object, **__: object) -> object:
    """Stand in the place of every job's task."""
    raise LaydownError("Nothing is done here.")


def main() -> int:
    """Print what came of it; return 1 where something was left behind."""
    jobs.do_with = do_nothing  # the forms are measured, not work
    logging.disable(logging.WARNING)
    warnings.simplefilter("error", ResourceWarning)
    left: list[str] = []
    sys.unraisablehook = lambda told: left.append(str(told.exc_value))
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder, "temporary")
        place.mkdir()
        tempfile.tempdir = str(place)
        with open_desk(str(Path(folder, "library.db")), hosts=names_of(8017)) as desk:
            application = create_application(desk)
            OWN.extend(
                (b"cookie", f"{name}={secret}".encode())
                for name, secret in desk.keys.cookies(8017).items()
            )
            application.include_router(router)
            described = application.openapi()["paths"]
            paths = sorted(path for path, ways in described.items() if "post" in ways)
            asyncio.run(attack(application, paths, 50))
            gc.collect()
            before = (len(list(DESCRIPTORS.iterdir())), threading.active_count())
            tracemalloc.start()
            began = time.perf_counter()
            counted = asyncio.run(attack(application, paths, many))
            seconds = time.perf_counter() - began
            gc.collect()
            most = tracemalloc.get_traced_memory()[1]
            after = (len(list(DESCRIPTORS.iterdir())), threading.active_count())
            files = list(place.iterdir())
    print(f"{many} bodies to {len(paths)} addresses in {seconds:.0f} s, seed {SEED}")
    print("answers by status:", dict(sorted(counted.items())))
    print(f"open files and threads before {before}, after {after}; files left {len(files)}")
    print(f"most memory at once {most / 1e6:.0f} MB; unclosed files {len(left)}")
    bad = any(status >= 500 for status in counted) or files or left
    return int(bool(bad) or after[0] > before[0])


if __name__ == "__main__":
    sys.exit(main())
