"""Open the bench: bind to this computer, make the search ready, and answer until closed."""

import asyncio
import gc
import logging
import os
import secrets
import socket
import threading
import time
import webbrowser
from collections import deque
from collections.abc import Callable
from functools import partial
from importlib.resources import files
from typing import cast

import uvicorn
from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles

import laydown
from laydown.errors import LaydownError
from laydown.match.search.tables import is_compiled, warm_up
from laydown.web.connections import BoundedConnection, Bounds, RoomForConnections
from laydown.web.desk import Desk, open_desk
from laydown.web.errors import catch_errors
from laydown.web.files import BoundedBody, paths_with_files
from laydown.web.guard import Guard, OwnBrowser
from laydown.web.pages import PAGES
from laydown.web.phone import Phone, PhoneDoor, home_address
from laydown.web.running import HERE, key_left, opening_address

USUAL_PORT = 8017
"""Any free number would do; a port stays the same so that a bookmark holds."""
FIRST_TIME = (
    "The search is being made ready for this computer, which takes a minute or two and is done"
    " once: pages open meanwhile, but a first recipe has to wait for it."
)
BACKLOG = 16
"""Connections that are taken from a listening socket at once, before they are counted."""
LONGEST_HEAD = 64_000
"""Bytes of an address and what goes with it: a long one is sent twice, as the page before, too."""
MOST_SAID = 100
"""Messages that are remembered, so as not to be said again."""
LAST_PAGE = 1.0
"""How long a bench that is being closed still answers, so that its last page is drawn [s]."""


def names_of(port: int) -> frozenset[str]:
    """Return what this computer's own browser may call a server at a port.

    >>> sorted(names_of(8017))
    ['127.0.0.1:8017', 'localhost:8017']
    """
    return frozenset({f"{HERE}:{port}", f"localhost:{port}"})


def bind(port: int, address: str = HERE) -> socket.socket:
    """Take a port at an address of this computer; any that is free for 0.

    Raises LaydownError when it is taken.
    """
    # asyncio sends at once (TCP_NODELAY) only where a socket says that it is TCP
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if os.name == "posix":  # elsewhere it would let a second program take the same port
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((address, port))
        listener.listen(BACKLOG)  # a browser that comes too early waits, and isn't refused
    except OSError as error:
        listener.close()
        raise LaydownError(
            f"Port {port} can't be used: {error.strerror}.",
            hint="The bench may be open already; else name another port.",
            command="--port",
        ) from error
    return listener


def serve(
    location: str,
    *,
    port: int = USUAL_PORT,
    browser: bool = True,
    for_phone: bool = False,
    say: Callable[[str], None],
) -> None:
    """Serve the bench until it is closed.

    `location`: of the library, as `open_named` takes it. `port`: to listen at; 0 for any free one.
    `browser`, `for_phone`: whether to open the person's own browser at it, and to listen in the
    home network, too, for one phone. `say`: told where the bench is.
    """
    home = home_address() if for_phone else ""
    listeners = [bind(port)]
    taken = listeners[0].getsockname()[1]
    phone = None
    if for_phone:
        listeners.append(bind(taken, home))
        phone = Phone(f"{home}:{taken}", clock=time.monotonic, draw=secrets.randbelow)
        phone.make_code()
    is_first = not is_compiled()
    with open_desk(location, hosts=names_of(taken), phone=phone) as desk:
        application = create_application(desk)
        threading.Thread(target=_get_ready, daemon=True).start()
        address = opening_address(taken, desk.keys.secret)
        say(f"The bench is open at {address} (Ctrl-C closes it).")
        if is_first:
            say(FIRST_TIME)
        if browser:
            once = opening_address(taken, desk.keys.make_ticket())
            threading.Timer(0.5, webbrowser.open, [once]).start()
        with key_left(taken, desk.keys.secret):
            _run(application, desk, listeners)


def _get_ready() -> None:
    """Warm up, and have the garbage collector pass over what will stay.

    Else a full collection goes through every object of the libraries, a fifth of a second in the
    middle of some page.
    """
    warm_up()
    gc.collect()
    gc.freeze()


def server_of(application: FastAPI, desk: Desk, bounds: Bounds) -> uvicorn.Server:
    """Return the server of a bench, which its sockets are still to be given to."""
    phone = desk.phone
    room = RoomForConnections(bounds, is_phone=phone.is_at if phone else lambda _: False)
    config = uvicorn.Config(
        application,
        # a class, says uvicorn, and calls it as what makes a connection
        http=cast("type[asyncio.Protocol]", partial(BoundedConnection, room=room)),
        ws="none",
        log_level="warning",
        proxy_headers=False,
        server_header=False,
        backlog=BACKLOG,
        h11_max_incomplete_event_size=LONGEST_HEAD,
    )
    return uvicorn.Server(config)


def _run(application: FastAPI, desk: Desk, listeners: list[socket.socket]) -> None:
    server, once = server_of(application, desk, Bounds()), Once()
    for name in ("uvicorn.error", "asyncio"):
        logging.getLogger(name).addFilter(once)

    def close_when_asked() -> None:
        desk.closing.wait()
        time.sleep(LAST_PAGE)
        server.should_exit = True

    threading.Thread(target=close_when_asked, daemon=True).start()
    server.run(sockets=listeners)


class Once(logging.Filter):
    """Lets each message pass once, so that no stranger fills the log by doing it again."""

    def __init__(self) -> None:
        super().__init__()
        self._latest: deque[tuple[str, str]] = deque(maxlen=MOST_SAID)

    def filter(self, record: logging.LogRecord) -> bool:
        """Return whether a message, with the same error, is not among the latest."""
        error = record.exc_info[1] if record.exc_info else None
        said = record.getMessage(), repr(error)
        if said in self._latest:
            return False
        self._latest.append(said)
        return True


def create_application(desk: Desk) -> FastAPI:
    """Make the application of one desk."""
    application = FastAPI(
        title="laydown", version=laydown.__version__, docs_url=None, redoc_url=None
    )
    application.state.desk = desk
    application.mount("/static", StaticFiles(directory=str(files("laydown.web") / "static")))
    fonts = files("laydown.documents") / "fonts"  # those that printed pages are set in
    application.mount("/fonts", StaticFiles(directory=str(fonts)))
    for router in PAGES:  # as they are: FastAPI's own way would read all their fields once more
        application.router.routes += router.routes
    catch_errors(application)
    application.add_middleware(BoundedBody, with_files=paths_with_files(PAGES))
    first = "/" if desk.phone is None else "/phone"
    application.add_middleware(OwnBrowser, keys=desk.keys, first=first)
    hosts = desk.hosts
    if desk.phone is not None:
        application.add_middleware(PhoneDoor, phone=desk.phone)
        hosts |= {desk.phone.host}
    application.add_middleware(Guard, hosts=hosts)
    return application
