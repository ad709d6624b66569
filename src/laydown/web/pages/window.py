"""Tests in one's own window: what light did to plain coats, measured before and after."""

from dataclasses import dataclass
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, File, Form, UploadFile

from laydown.app.add_window_test import (
    AddWindowTest,
    WindowTest,
    WindowTestAdded,
    add_window_test,
)
from laydown.app.forget_window_test import ForgetWindowTest, forget_window_test
from laydown.app.list_lightfastness import (
    LightfastnessListed,
    ListLightfastness,
    list_lightfastness,
)
from laydown.app.read_sheet import PictureFile
from laydown.errors import LightfastnessError
from laydown.media.exposure import Exposure, Span, dose_in_all, parse_span
from laydown.web.asking import LONGEST, LONGEST_RECIPE
from laydown.web.choices import Choices, choices_of
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.faces import changes, shows
from laydown.web.long_work import LARGEST, JobNumber, found_by, starts
from laydown.web.rendering import count_words
from laydown.web.uploads import SentFile, sent_files, sent_pictures

router = APIRouter()
WINDOW = "/light/window"
CENTURY = 36_525
Line = Annotated[str, Form(max_length=LONGEST)]
Typed = Annotated[str, Form(max_length=LONGEST_RECIPE)]
Days = Annotated[float | None, Form(gt=0, le=CENTURY, allow_inf_nan=False)]


def _choices(library: AtLibrary) -> Choices:
    return choices_of(library)


@shows(router, WINDOW, "window.html.j2", beside=_choices)
def readings(library: AtLibrary) -> LightfastnessListed:
    """List all window readings, and what follows from them."""
    return list_lightfastness(library, ListLightfastness())


@dataclass(frozen=True, slots=True)
class InWindow:
    """What a form says of every way to note a test.

    Parameters
    ----------
    dose
        In all since the beginning [million lux-hours].
    filtered
        Whether ultraviolet was kept out.
    paper, noise, remark
        As `AddWindowTest` has them.
    """

    dose: Span
    filtered: bool
    paper: str
    noise: float
    remark: str


def in_window(
    *,
    dose: Line = "",
    lux: Line = "",
    hours: Annotated[float, Form(gt=0, le=24, allow_inf_nan=False)] = 8.0,
    days: Days = None,
    glass: Annotated[Literal["none", "plain", "filter"], Form()] = "none",
    paper: Line = "",
    noise: Annotated[float, Form(ge=0, le=20, allow_inf_nan=False)] = 0.0,
    remark: Line = "",
) -> InWindow:
    """Read how much light fell on a test: as a dose, or as light, hours and days."""
    if bool(dose) == bool(lux):
        raise LightfastnessError(
            "Say the light once.",
            hint="As a dose, or as lux with hours a day and days.",
        )
    if dose:
        so_far = parse_span(dose, "dose in million lux-hours")
    elif days is None:
        raise LightfastnessError("For how many days has it hung there?", hint="Say the days, too.")
    else:
        so_far = dose_in_all(Exposure(parse_span(lux, "light in lux"), hours), days)
    return InWindow(so_far, glass == "filter", paper, noise, remark)


InLight = Annotated[InWindow, Depends(in_window)]


def _noted(done: WindowTestAdded) -> str:
    said = [_moved(test) for test in done.tests[:3]]
    if len(done.tests) > len(said):
        said.append(f"and {len(done.tests) - len(said)} more")
    if done.repeated:
        said.append(
            count_words(
                "%(num)s reading was known already",
                "%(num)s readings were known already",
                done.repeated,
            )
        )
    return "; ".join(said) + "."


def _moved(test: WindowTest) -> str:
    return f"{test.colorant.label} moved by %(difference).1f (CIEDE2000)"


@changes(router, WINDOW, leads_to=lambda _: WINDOW, says=_noted)
def note(
    *,
    library: AtLibrary,
    light: InLight,
    colorant: Line = "",
    before: Typed = "",
    after: Typed = "",
    file: UploadFile | None = None,
) -> WindowTestAdded:
    """Note what light did to a coat: its color typed, or swatches measured now in a file."""
    sent = next(iter(sent_files([file] if file else [])), None)
    if (sent is None) != bool(after) or bool(colorant) != bool(after):
        raise LightfastnessError(
            "What was measured isn't clear.",
            hint="Name a colorant and type its color now, or choose a file of swatches.",
        )
    return add_window_test(library, _to_note(light, colorant, before, after, sent))


def _to_note(
    light: InWindow, colorant: str, before: str, after: str, sent: SentFile | None
) -> AddWindowTest:
    return AddWindowTest(
        dose=light.dose,
        filtered=light.filtered,
        colorant=colorant,
        before=before,
        after=after,
        file=sent.content if sent else None,
        source=sent.name if sent else "",
        paper=light.paper,
        noise=light.noise,
        remark=light.remark,
    )


def _called(asked: AddWindowTest) -> str:
    names = ", ".join(picture.source for picture in asked.pictures)
    return f"Reading {names} from the window"


@starts(
    router,
    "/light/window/sheet",
    task="add_window_test",
    shown_at="/light/window/noted",
    title=_called,
)
def note_sheet(light: InLight, pictures: Annotated[list[UploadFile], File()]) -> AddWindowTest:
    """Read sheets that hung in a window, each plain coat against its first reading."""
    sent = tuple(PictureFile(one.content, one.name) for one in sent_pictures(pictures))
    return AddWindowTest(
        dose=light.dose,
        filtered=light.filtered,
        pictures=sent,
        noise=light.noise,
        remark=light.remark,
    )


@shows(router, "/light/window/noted", "window_noted.html.j2")
def noted(jobs: AtJobs, job: JobNumber) -> WindowTestAdded:
    """Show what was read from sheets that hung in a window."""
    return found_by(jobs, job, WindowTestAdded)


@changes(
    router,
    "/light/forget",
    leads_to=lambda _: WINDOW,
    says=lambda gone: f"Forgotten: {_moved(gone)}.",
)
def forget(library: AtLibrary, number: Annotated[int, Form(ge=1, le=LARGEST)]) -> WindowTest:
    """Take a window reading out."""
    return forget_window_test(library, ForgetWindowTest(number))
