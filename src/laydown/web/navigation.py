"""The places of the bench, in the order in which work goes."""

from dataclasses import dataclass


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
        "What I have",
        (
            Place("/kits", "Kits"),
            Place("/papers", "Papers"),
            Place("/swatches", "Swatches"),
            Place("/sheets", "Sheets"),
        ),
    ),
    Group(
        "What I want",
        (
            Place("/color", "One color"),
            Place("/charts", "Charts"),
            Place("/lessons", "Lessons"),
            Place("/pictures", "Pictures"),
            Place("/light", "Light"),
        ),
    ),
    Group(
        "What I learn",
        (
            Place("/runs", "Shading runs"),
            Place("/ranges", "Ranges"),
            Place("/choosing", "What to buy"),
            Place("/notebook", "Notebook"),
            Place("/jobs", "Long work"),
        ),
    ),
)
"""Three groups: supplies, wishes, and what comes of both."""
