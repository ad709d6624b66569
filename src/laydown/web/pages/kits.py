"""Kits: the colorants a person owns."""

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Query

from laydown.app.create_kit import KitCreated, create_kit
from laydown.app.disown_colorants import disown_colorants
from laydown.app.list_kits import Kits, list_kits
from laydown.app.own_colorants import KitChanged, OwnColorants, own_colorants
from laydown.app.remove_kit import KitRemoved, remove_kit
from laydown.app.show_kit import KitShown, show_kit
from laydown.web.asking import LONGEST, MOST_NAMES, Name
from laydown.web.choices import choices_of
from laydown.web.desk import AtLibrary
from laydown.web.faces import changes, shows
from laydown.web.fields import lines_of

router = APIRouter()
KitName = Annotated[str, Form(min_length=1, max_length=LONGEST)]
Pasted = Annotated[str, Form(max_length=100_000)]
Ticked = Annotated[list[str], Form(max_length=MOST_NAMES)]


def kit_address(name: str) -> str:
    """Return the page of a kit."""
    return f"/kit?name={quote(name)}"


@shows(router, "/kits", "kits.html.j2")
def kits(library: AtLibrary) -> Kits:
    """List the kits."""
    return list_kits(library)


@shows(router, "/kit", "kit.html.j2", beside=choices_of)
def kit(library: AtLibrary, name: Annotated[Name, Query()]) -> KitShown:
    """Show what is in a kit."""
    return show_kit(library, name)


@changes(
    router,
    "/kits",
    leads_to=lambda made: kit_address(made.name),
    says=lambda made: f"The kit {made.name} is there. Now say what is in it.",
)
def new_kit(library: AtLibrary, name: KitName) -> KitCreated:
    """Make an empty kit."""
    return create_kit(library, name)


def _told(changed: KitChanged, done: str) -> str:
    return f"{len(changed.changed)} {done}; the kit now holds {changed.colorants}."


@changes(
    router,
    "/kit/own",
    leads_to=lambda made: kit_address(made.kit),
    says=lambda made: _told(made, "put in"),
)
def own(
    library: AtLibrary,
    kit: KitName,
    pasted: Pasted = "",
    name: Ticked = [],  # noqa: B006  FastAPI copies it
    range: Ticked = [],  # noqa: A002, B006  the trade's word; FastAPI copies it
) -> KitChanged:
    """Put colorants into a kit: ticked, typed one a line, or a range as a whole."""
    return own_colorants(library, OwnColorants(kit, (*name, *lines_of(pasted)), tuple(range)))


@changes(
    router,
    "/kit/disown",
    leads_to=lambda made: kit_address(made.kit),
    says=lambda made: _told(made, "taken out"),
)
def disown(library: AtLibrary, kit: KitName, name: Ticked) -> KitChanged:
    """Take colorants out of a kit."""
    return disown_colorants(library, OwnColorants(kit, tuple(name)))


@changes(
    router, "/kit/remove", leads_to=lambda _: "/kits", says=lambda made: f"{made.name} is gone."
)
def remove(library: AtLibrary, kit: KitName) -> KitRemoved:
    """Remove a kit; its colorants and their swatches stay."""
    return remove_kit(library, kit)
