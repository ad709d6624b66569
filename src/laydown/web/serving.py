"""Open the bench: bind to this computer, make the search ready, and answer until closed."""

import gc
import os
import secrets
import socket
import threading
import time
import webbrowser
from collections.abc import Callable

import uvicorn
from fastapi import FastAPI

from laydown.app.ready_search import is_compiled, warm_up
from laydown.errors import LaydownError
from laydown.web.application import create_application, read_fields
from laydown.web.desk import Desk, open_desk
from laydown.web.home_network import home_address
from laydown.web.phone import Phone
from laydown.web.running import HERE

USUAL_PORT = 8017
"""Any free number would do; a port stays the same so that a bookmark holds."""
FIRST_TIME = (
    "The search is being made ready for this computer, which takes a minute or two and is done"
    " once: pages open meanwhile, but a first recipe has to wait for it."
)
LAST_PAGE = 1.0
"""How long a bench that is being closed still answers, so that its last page is drawn [s]."""


def names_of(port: int) -> frozenset[str]:
    """Return what this computer's own browser may call a server at a port.

    Examples
    --------
    >>> sorted(names_of(8017))
    ['127.0.0.1:8017', 'localhost:8017']
    """
    return frozenset({f"{HERE}:{port}", f"localhost:{port}"})


def bind(port: int, address: str = HERE) -> socket.socket:
    """Take a port at an address of this computer; any that is free for 0.

    Raises
    ------
    LaydownError
        When it is taken.
    """
    # asyncio sends at once (TCP_NODELAY) only where a socket says that it is TCP
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    if os.name == "posix":  # elsewhere it would let a second program take the same port
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((address, port))
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

    Parameters
    ----------
    location
        Of the library, as `open_named` takes it.
    port
        To listen at; 0 for any free one.
    browser
        Whether to open the person's own browser at it.
    for_phone
        Whether to listen in the home network, too, for one phone.
    say
        Told where the bench is.
    """
    home = home_address() if for_phone else ""
    listeners = [bind(port)]
    taken = listeners[0].getsockname()[1]
    address, phone = f"http://{HERE}:{taken}/", None
    if for_phone:
        listeners.append(bind(taken, home))
        phone = Phone(f"{home}:{taken}", clock=time.monotonic, draw=secrets.randbelow)
        phone.make_code()
        address += "phone"
    is_first = not is_compiled(tables=True)
    with open_desk(location, hosts=names_of(taken), phone=phone) as desk:
        application = create_application(desk)
        read_fields(application)
        threading.Thread(target=_get_ready, daemon=True).start()
        say(f"The bench is open at {address} (Ctrl-C closes it).")
        if is_first:
            say(FIRST_TIME)
        if browser:
            threading.Timer(0.5, webbrowser.open, [address]).start()
        _run(application, desk, listeners)


def _get_ready() -> None:
    """Warm up, and have the garbage collector pass over what will stay.

    Else a full collection goes through every object of the libraries, a fifth of a second in the
    middle of some page.
    """
    warm_up(tables=True)
    gc.collect()
    gc.freeze()


def _run(application: FastAPI, desk: Desk, listeners: list[socket.socket]) -> None:
    config = uvicorn.Config(
        application, log_level="warning", proxy_headers=False, server_header=False
    )
    server = uvicorn.Server(config)

    def close_when_asked() -> None:
        desk.closing.wait()
        time.sleep(LAST_PAGE)
        server.should_exit = True

    threading.Thread(target=close_when_asked, daemon=True).start()
    server.run(sockets=listeners)
