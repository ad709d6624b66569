"""The first visit: what is owned, on what, what is wanted; or the demo, marked as invented."""

from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Form, Response

from laydown.app.add_demo import DemoAdded, add_demo
from laydown.app.begin_kit import BeginKit, KitBegun, begin_kit
from laydown.app.remove_demo import DemoRemoved, remove_demo
from laydown.demo.files import LESSON_FILE, read_bytes
from laydown.web.asking import LONGEST, MediumSent, medium_of
from laydown.web.desk import AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import changes, enter, go_to, json_of
from laydown.web.fields import lines_of, names_of
from laydown.web.pages.sheets import BEGUN, sheet_address

router = APIRouter()
MONTH = 30 * 24 * 3600
MOST_TEXT = 100_000
MOST_KEPT = 1000
"""Characters of what was wanted that the cookie keeps."""
Line = Annotated[str, Form(max_length=LONGEST)]
Lines = Annotated[str, Form(max_length=MOST_TEXT)]


def asked_to_begin(
    names: Lines,
    paper: Annotated[str, Form(min_length=1, max_length=LONGEST)],
    kit: Line = "mine",
    medium: MediumSent = "",
    wanted: Lines = "",
) -> BeginKit:
    """Read what somebody begins with."""
    return BeginKit(
        names_of(names),
        paper,
        kit.strip() or "mine",
        medium=medium_of(medium),
        wanted=tuple(lines_of(wanted)),
    )


def _begun(library: AtLibrary, asked: Annotated[BeginKit, Depends(asked_to_begin)]) -> KitBegun:
    return begin_kit(library, asked)


def _to_the_sheet(
    asked: Annotated[BeginKit, Depends(asked_to_begin)],
    begun: Annotated[KitBegun, Depends(_begun)],
) -> Response:
    """Lead to the sheet; what was wanted is kept for when it has been read."""
    number = begun.printed.sheet.number
    answer = go_to(sheet_address(number), f"Your first sheet is ready: number {number}.")
    kept = urlencode({"kit": begun.kit, "wanted": "\n".join(asked.wanted)[:MOST_KEPT]})
    answer.set_cookie(BEGUN, kept, max_age=MONTH, httponly=True, samesite="strict")
    return answer


def _as_data(begun: Annotated[KitBegun, Depends(_begun)]) -> Response:
    return json_of(begun)


enter(router, "POST", "/begin", begin_kit, page=_to_the_sheet, data=_as_data)


@changes(
    router,
    "/demo",
    leads_to=lambda _: "/",
    says=lambda made: f"The demo is in: {made.swatches} swatches, all of them invented.",
)
def put_demo_in(library: AtLibrary) -> DemoAdded:
    """Put the demo's invented ranges, papers and kits into the library."""
    return add_demo(library)


@changes(
    router,
    "/demo/remove",
    leads_to=lambda _: "/",
    says=lambda _: "The demo is out again.",
)
def take_demo_out(library: AtLibrary) -> DemoRemoved:
    """Take the demo out of the library again."""
    return remove_demo(library)


@router.get("/demo/lesson", response_class=Response)
def demo_lesson() -> Response:
    """Hand over the demo's lesson, a list of colors to make a chart of."""
    return file_of(read_bytes(LESSON_FILE), LESSON_FILE)
