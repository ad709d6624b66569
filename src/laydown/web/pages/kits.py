"""Kits: the colorants a person owns."""

from dataclasses import dataclass
from typing import Annotated, Literal
from urllib.parse import quote, urlencode

from fastapi import APIRouter, Depends, Form, Query, Request, Response
from pydantic import BaseModel, Field

from laydown.app.check_names import CheckNames, NamesChecked, check_names
from laydown.app.create_kit import KitCreated, create_kit
from laydown.app.disown_colorants import disown_colorants
from laydown.app.kit_offers import KitOffers, offers_for
from laydown.app.list_kits import Kits, list_kits
from laydown.app.own_colorants import KitChanged, OwnColorants, own_colorants
from laydown.app.remove_kit import KitRemoved, remove_kit
from laydown.app.show_kit import KitColorant, KitShown, show_kit
from laydown.web.asking import LONGEST, MOST_NAMES, Label, Name, Ticked, medium_of
from laydown.web.choices import Choices, choices_of
from laydown.web.desk import AtLibrary
from laydown.web.faces import changes, enter, go_to, json_of, shows
from laydown.web.fields import names_of
from laydown.web.rendering import render

router = APIRouter()
KitName = Annotated[str, Form(min_length=1, max_length=LONGEST)]
MOST_SHOWN = 300
"""Colorants of a kit that its page lists at once."""


def kit_address(name: str) -> str:
    """Return the page of a kit."""
    return f"/kit?name={quote(name)}"


@shows(router, "/kits", "kits.html.j2")
def kits(library: AtLibrary) -> Kits:
    """List the kits."""
    return list_kits(library)


@dataclass(frozen=True, slots=True)
class KitPage:
    """What the page of a kit shows besides.

    Parameters
    ----------
    choices
        Names to choose from.
    offers
        Colorants to tick, by what was typed.
    typed, of
        As they stand in the search: a part of a name, and a range.
    ticked
        What was ticked so far.
    shown
        Those of the kit that are listed; of a large kit not all.
    """

    choices: Choices
    offers: KitOffers
    typed: str
    of: str
    ticked: tuple[str, ...]
    shown: tuple[KitColorant, ...]


def kit(library: AtLibrary, name: Annotated[Name, Query()]) -> KitShown:
    """Show what is in a kit."""
    return show_kit(library, name)


def kit_page(
    library: AtLibrary,
    shown: Annotated[KitShown, Depends(kit)],
    typed: Name = "",
    of: Name = "",
    tick: Annotated[list[Label] | None, Query(max_length=MOST_NAMES)] = None,
) -> KitPage:
    """Return what the page of a kit shows besides."""
    owned = {one.colorant for one in shown.colorants}
    held = [one for one in shown.colorants if of in {"", one.colorant.range}]
    return KitPage(
        choices_of(library),
        offers_for(library, owned, typed=typed, range_name=of),
        typed,
        of,
        tuple(dict.fromkeys(tick or ())),
        tuple(held[:MOST_SHOWN]),
    )


shows(router, "/kit", "kit.html.j2", beside=kit_page)(kit)


@changes(
    router,
    "/kits",
    leads_to=lambda made: kit_address(made.name),
    says=lambda made: f"The kit {made.name} is there. Now say what is in it.",
)
def new_kit(library: AtLibrary, name: KitName) -> KitCreated:
    """Make an empty kit."""
    return create_kit(library, name)


class OwnFields(BaseModel):
    """What to put into a kit: ticked, typed one a line, or a range as a whole."""

    kit: Annotated[str, Field(min_length=1, max_length=LONGEST)]
    pasted: Annotated[str, Field(max_length=100_000)] = ""
    tick: Annotated[list[Label], Field(max_length=MOST_NAMES)] = []
    range: Annotated[list[Label], Field(max_length=MOST_NAMES)] = []
    new_range: Annotated[str, Field(max_length=LONGEST)] = ""
    medium: Literal["", "marker", "pencil", "wash"] = ""

    def asked(self) -> OwnColorants:
        """Return what they say."""
        names = tuple(name for name in (*self.tick, *names_of(self.pasted)) if name)
        ranges = tuple(name for name in self.range if name)
        medium = medium_of(self.medium)
        return OwnColorants(self.kit, names, ranges, self.new_range.strip(), medium)


@dataclass(frozen=True, slots=True)
class NamesAsked:
    """What names mean that were put into a kit.

    Parameters
    ----------
    asked
        What is to be put in.
    address
        Of the page that asks what the unclear ones mean.
    """

    asked: OwnColorants
    address: str


def own_of(fields: Annotated[OwnFields, Query()]) -> OwnColorants:
    """Read what an address says is to be put into a kit."""
    return fields.asked()


def own_sent(fields: Annotated[OwnFields, Form()]) -> OwnColorants:
    """Read what a form says is to be put into a kit."""
    return fields.asked()


def unclear(library: AtLibrary, asked: Annotated[OwnColorants, Depends(own_of)]) -> NamesChecked:
    """Say which names are clear, and what the others may have meant."""
    return check_names(library, CheckNames(asked.names))


def _names_asked(asked: Annotated[OwnColorants, Depends(own_of)]) -> NamesAsked:
    named = {"kit": asked.kit, "tick": asked.names, "range": asked.ranges}
    return NamesAsked(asked, f"/kit/own?{urlencode(named, doseq=True)}")


shows(router, "/kit/own", "unclear.html.j2", beside=_names_asked)(unclear)
ToOwn = Annotated[OwnColorants, Depends(own_sent)]


def own_page(request: Request, library: AtLibrary, asked: ToOwn) -> Response:
    """Put colorants into a kit, or ask what the names mean that aren't clear."""
    checked = check_names(library, CheckNames(asked.names))
    if checked.unclear and not asked.new_range:
        return render(request, "unclear.html.j2", answer=checked, beside=_names_asked(asked))
    made = own_colorants(library, asked)
    told = f"{len(made.changed)} put in; the kit now holds {made.colorants}."
    return go_to(kit_address(made.kit), told)


def own_data(library: AtLibrary, asked: ToOwn) -> Response:
    """Put colorants into a kit, all of them or none."""
    return json_of(own_colorants(library, asked))


enter(router, "POST", "/kit/own", own_colorants, page=own_page, data=own_data)


@changes(
    router,
    "/kit/disown",
    leads_to=lambda made: kit_address(made.kit),
    says=lambda made: f"{len(made.changed)} taken out; the kit now holds {made.colorants}.",
)
def disown(library: AtLibrary, kit: KitName, tick: Ticked) -> KitChanged:
    """Take colorants out of a kit."""
    return disown_colorants(library, OwnColorants(kit, tuple(tick)))


@changes(
    router,
    "/kit/remove",
    leads_to=lambda _: "/kits",
    says=lambda made: f"{made.name} is gone.",
)
def remove(library: AtLibrary, kit: KitName) -> KitRemoved:
    """Remove a kit; its colorants and their swatches stay."""
    return remove_kit(library, kit)
