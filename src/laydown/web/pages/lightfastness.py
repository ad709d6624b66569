"""Lightfastness: classes as makers state them, and the range's own list of them in and out."""

from dataclasses import dataclass
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, File, Form, Response, UploadFile

from laydown.app.export_lightfastness import ExportLightfastness, export_lightfastness
from laydown.app.import_lightfastness import (
    ImportLightfastness,
    LightfastnessImported,
    import_lightfastness,
)
from laydown.app.list_lightfastness import (
    ColorantRated,
    LightfastnessListed,
    ListLightfastness,
    list_lightfastness,
)
from laydown.app.rate_lightfastness import (
    LightfastnessRated,
    RateLightfastness,
    rate_lightfastness,
)
from laydown.errors import BadFileError, UnknownNameError
from laydown.media.colorant import Colorant
from laydown.web.asking import LONGEST, MOST_NAMES, Name, Ticked
from laydown.web.choices import Choices, choices_of
from laydown.web.desk import AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import changes, shows
from laydown.web.fields import names_of
from laydown.web.pages.light import Place
from laydown.web.rendering import count_words
from laydown.web.uploads import sent_files

router = APIRouter()
CLASSES = "/light/classes"
ON_A_PAGE = 40
Line = Annotated[str, Form(max_length=LONGEST)]


def _asked(
    kit: Name = "",
    range: Name = "",  # noqa: A002  the trade's word
) -> ListLightfastness:
    if kit and range:
        raise UnknownNameError(
            "Name a kit or a range, not both.", hint="Leave one of the two empty."
        )
    return ListLightfastness(kit, range)


AskedFor = Annotated[ListLightfastness, Depends(_asked)]


def known(library: AtLibrary, asked: AskedFor) -> LightfastnessListed:
    """List what is known of colorants' lightfastness, and of which nothing is."""
    return list_lightfastness(library, asked)


@dataclass(frozen=True, slots=True, eq=False)
class Around:
    """What the page of classes shows besides.

    Parameters
    ----------
    asked
        Of which kit or range.
    choices
        Names to choose from.
    skip
        How many colorants stand before the first one shown.
    shown
        Those of which something is known that are listed.
    unknown
        Those of which nothing is, to be ticked.
    """

    asked: ListLightfastness
    choices: Choices
    skip: int
    shown: tuple[ColorantRated, ...]
    unknown: tuple[Colorant, ...]

    def link(self, skip: int) -> str:
        """Return the address of the colorants that begin at one."""
        named = {"kit": self.asked.kit, "range": self.asked.range}
        fields = {name: text for name, text in named.items() if text}
        return f"{CLASSES}?{urlencode({**fields, 'skip': skip})}"

    @property
    def earlier(self) -> str:
        """The address of the colorants before these."""
        return self.link(max(self.skip - ON_A_PAGE, 0))


def around(
    library: AtLibrary,
    asked: AskedFor,
    found: Annotated[LightfastnessListed, Depends(known)],
    skip: Place = 0,
) -> Around:
    """Choose which colorants are shown."""
    shown = found.colorants[skip : skip + ON_A_PAGE]
    return Around(asked, choices_of(library), skip, shown, found.unknown[:MOST_NAMES])


shows(router, CLASSES, "lightfastness.html.j2", beside=around)(known)


def _rated(done: LightfastnessRated) -> str:
    return count_words(
        "%(fastness)s: %(num)s colorant changed.",
        "%(fastness)s: %(num)s colorants changed.",
        len(done.changed),
        fastness=done.fastness,
    )


@changes(router, "/light/rate", leads_to=lambda _: CLASSES, says=_rated)
def rate(
    *,
    library: AtLibrary,
    grade: Annotated[str, Form(min_length=1, max_length=LONGEST)],
    pasted: Annotated[str, Form(max_length=100_000)] = "",
    tick: Ticked = [],  # noqa: B006  FastAPI copies it
    range: Ticked = [],  # noqa: A002, B006  the trade's word; FastAPI copies it
    source: Line = "",
) -> LightfastnessRated:
    """State a class for colorants, all of them or, if one name is unknown, none."""
    names = tuple(name for name in (*tick, *names_of(pasted)) if name)
    ranges = tuple(name for name in range if name)
    if not names and not ranges:
        raise UnknownNameError(
            "No colorant was named.",
            hint="Tick some, type names one a line, or choose a range.",
        )
    return rate_lightfastness(library, RateLightfastness(grade, names, ranges, source))


def _came(done: LightfastnessImported) -> str:
    return (
        f"{done.new_classes} of {done.classes} classes and {done.new_readings} of "
        f"{done.readings} window readings were new."
    )


@changes(router, "/light/import", leads_to=lambda _: CLASSES, says=_came)
def bring_in(library: AtLibrary, file: Annotated[UploadFile, File()]) -> LightfastnessImported:
    """Bring classes and window readings in from a file: all of it, or nothing."""
    sent = next(iter(sent_files([file])), None)
    if sent is None:
        raise BadFileError("No file was chosen.", hint="Choose a CSV file.")
    return import_lightfastness(library, ImportLightfastness(sent.content, sent.name))


@router.get(f"{CLASSES}/file", response_class=Response)
def hand_out(
    library: AtLibrary,
    range: Name = "",  # noqa: A002  the trade's word
) -> Response:
    """Hand classes and window readings out as a file that brings the same in again."""
    made = export_lightfastness(library, ExportLightfastness(range))
    return file_of(made.text.encode(), f"{range or 'lightfastness'} classes.csv")
