"""What all pages share while the bench is open: the library, and how a request finds it."""

from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Request

from laydown.app.opening import Library


@dataclass(frozen=True, slots=True, eq=False)
class Desk:
    """The open bench.

    Parameters
    ----------
    library
        The one library of this bench.
    hosts
        What a browser may call this server, as ``host:port``; any other name is refused.
    """

    library: Library
    hosts: frozenset[str]


def desk_of(request: Request) -> Desk:
    """Return the desk of the server that a request reached."""
    desk: Desk = request.app.state.desk
    return desk


def library_of(request: Request) -> Library:
    """Return the library of the server that a request reached."""
    return desk_of(request).library


AtDesk = Annotated[Desk, Depends(desk_of)]
AtLibrary = Annotated[Library, Depends(library_of)]
"""What a page's function names to be handed the desk, or its library."""
