"""What all pages share while the bench is open: library, jobs, tables; how a request finds them."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from threading import Event
from typing import Annotated

from fastapi import Depends, Request

from laydown.app.jobs import Jobs
from laydown.app.library import Library, open_named, update_words
from laydown.app.matches.colors import Tables
from laydown.app.tasks import told_if_long, wait_words
from laydown.errors import TakesLongError
from laydown.match.ranking import Found, Wanted, Watch
from laydown.match.search.recipes import RecipeSpace
from laydown.web.guard import Keys
from laydown.web.phone import Phone

ASKED_OFTEN = 6
"""Colors that a table is made for: of markers, one that takes longer than some tenths of a second
is not, though a person may ask many more in a sitting, since a page would wait for it."""
LARGE = 20_000_000
"""Recipes that are searched within seconds whatever they are made of: more than a table holds."""


@dataclass(frozen=True, slots=True, eq=False)
class Desk:
    """The open bench."""

    library: Library
    """The one library of this bench."""
    jobs: Jobs
    """Long work on that library."""
    tables: Tables
    """Prepared searches of the kits that were asked for, so that a color is answered live."""
    hosts: frozenset[str]
    """What a browser may call this server, as ``host:port``; any other name is refused."""
    phone: Phone | None = None
    """The phone that may be let in; None where the bench answers to this computer alone."""
    closing: Event = field(default_factory=Event)
    """Set when the bench is to be closed."""
    keys: Keys = field(default_factory=Keys)
    """What opens the bench in one's own browser."""
    news: list[str] = field(default_factory=list)
    """What the next page that is shown begins with, if it has nothing else to say."""

    def find(self, space: RecipeSpace, wanted: Wanted, watch: Watch | None) -> Found:
        """Find the best recipes for one color while a page is waited for, as `tables` do.

        Raises TakesLongError soon after it began, where that takes longer than anybody waits for a
        page.
        """
        patient = told_if_long(watch, _refuse) if space.considered > LARGE else watch
        return self.tables.find(space, wanted, patient)


def _refuse(recipes: int, seconds: float) -> None:
    raise TakesLongError(
        wait_words(seconds, recipes=recipes),
        hint="Allow two steps or two coats at most, or have it done as long work.",
    )


@contextmanager
def open_desk(location: str, *, hosts: Iterable[str], phone: Phone | None = None) -> Iterator[Desk]:
    """Open a bench on a library, named as `open_named` takes it; put all away behind it."""
    library = open_named(location)
    try:
        with Jobs(location) as jobs:
            desk = Desk(library, jobs, Tables(ASKED_OFTEN), frozenset(hosts), phone)
            desk.news.extend(filter(None, [update_words(library)]))
            yield desk
    finally:
        library.close()


# Handed out at once: for any other function FastAPI sends the request through a thread.


async def desk_of(request: Request) -> Desk:
    """Return the desk of the server that a request reached."""
    desk: Desk = request.app.state.desk
    return desk


AtDesk = Annotated[Desk, Depends(desk_of)]


async def library_of(desk: AtDesk) -> Library:
    """Return the library of the server that a request reached."""
    return desk.library


async def jobs_of(desk: AtDesk) -> Jobs:
    """Return the long work of the server that a request reached."""
    return desk.jobs


AtLibrary = Annotated[Library, Depends(library_of)]
AtJobs = Annotated[Jobs, Depends(jobs_of)]
"""What a page's function names to be handed the desk, its library or its long work."""
