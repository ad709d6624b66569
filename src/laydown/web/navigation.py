"""The places of the bench, in the order in which work goes."""

from dataclasses import dataclass

from laydown.web.language import marked


@dataclass(frozen=True, slots=True)
class Place:
    """A page that can be reached from everywhere.

    Parameters
    ----------
    address
        Of the page.
    name
        As it stands in the list; the templates translate it.
    """

    address: str
    name: str


@dataclass(frozen=True, slots=True)
class Group:
    """Places that belong together."""

    name: str
    places: tuple[Place, ...]


PLACES = (
    Group(
        marked("What I have"),
        (
            Place("/kits", marked("Kits")),
            Place("/papers", marked("Papers")),
            Place("/swatches", marked("Swatches")),
            Place("/sheets", marked("Sheets")),
        ),
    ),
    Group(
        marked("What I want"),
        (
            Place("/color", marked("One color")),
            Place("/charts", marked("Charts")),
            Place("/lessons", marked("Lessons")),
            Place("/pictures", marked("Pictures")),
            Place("/light", marked("Light")),
        ),
    ),
    Group(
        marked("What I learn"),
        (
            Place("/runs", marked("Shading runs")),
            Place("/ranges", marked("Ranges")),
            Place("/choosing", marked("What to buy")),
            Place("/notebook", marked("Notebook")),
            Place("/jobs", marked("Long work")),
        ),
    ),
)
"""Three groups: supplies, wishes, and what comes of both."""
