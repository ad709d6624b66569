"""Open the bench: bind to this computer alone, make the search ready, and answer until stopped."""

import socket
import threading
import webbrowser
from collections.abc import Callable

import uvicorn

from laydown.app.ready_search import warm_up
from laydown.errors import LaydownError
from laydown.web.application import create_application
from laydown.web.desk import open_desk

HERE = "127.0.0.1"
USUAL_PORT = 8017
"""Any free number would do; a port stays the same so that a bookmark holds."""


def names_of(port: int) -> frozenset[str]:
    """Return what this computer's own browser may call a server at a port.

    Examples
    --------
    >>> sorted(names_of(8017))
    ['127.0.0.1:8017', 'localhost:8017']
    """
    return frozenset({f"{HERE}:{port}", f"localhost:{port}"})


def bind(port: int) -> socket.socket:
    """Take a port of this computer; the next free one for 0.

    Raises
    ------
    LaydownError
        When it is taken.
    """
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((HERE, port))
    except OSError as error:
        listener.close()
        raise LaydownError(
            f"Port {port} can't be used: {error.strerror}.",
            hint="The bench may be open already; else name another with --port.",
        ) from error
    return listener


def serve(
    location: str, *, port: int = USUAL_PORT, browser: bool = True, say: Callable[[str], None]
) -> None:
    """Serve the bench until it is stopped.

    Parameters
    ----------
    location
        Of the library, as `open_named` takes it.
    port
        To listen at; 0 for any free one.
    browser
        Whether to open the person's own browser at it.
    say
        Told where the bench is.
    """
    listener = bind(port)
    taken = listener.getsockname()[1]
    address = f"http://{HERE}:{taken}/"
    threading.Thread(target=warm_up, kwargs={"tables": True}, daemon=True).start()
    with open_desk(location, hosts=names_of(taken)) as desk:
        say(f"The bench is open at {address} (Ctrl-C closes it).")
        if browser:
            threading.Timer(0.5, webbrowser.open, [address]).start()
        config = uvicorn.Config(
            create_application(desk), log_level="warning", proxy_headers=False, server_header=False
        )
        uvicorn.Server(config).run(sockets=[listener])
