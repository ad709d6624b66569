"""The places of the bench, in the order in which work goes."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class BenchPlace:
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
    places: tuple[BenchPlace, ...]


PLACES = (
    Group(
        "What I have",
        (
            BenchPlace("/kits", "Kits"),
            BenchPlace("/papers", "Papers"),
            BenchPlace("/swatches", "Swatches"),
            BenchPlace("/sheets", "Sheets"),
        ),
    ),
    Group(
        "What I want",
        (
            BenchPlace("/color", "One color"),
            BenchPlace("/charts", "Charts"),
            BenchPlace("/lessons", "Lessons"),
            BenchPlace("/pictures", "Pictures"),
            BenchPlace("/light", "Light"),
        ),
    ),
    Group(
        "What I learn",
        (
            BenchPlace("/runs", "Shading runs"),
            BenchPlace("/ranges", "Ranges"),
            BenchPlace("/choosing", "What to buy"),
            BenchPlace("/notebook", "Notebook"),
            BenchPlace("/jobs", "Long work"),
        ),
    ),
)
"""Three groups: supplies, wishes, and what comes of both."""
