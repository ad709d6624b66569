"""The library's changes and copies, long work, and the phone."""

from typing import Annotated

import segno
from fastapi import APIRouter, Depends, File, Form, Query, Request, Response, UploadFile

from laydown.app import library as library_tasks
from laydown.app.encoding import from_text
from laydown.app.jobs import Job
from laydown.errors import BadFileError, NotLetInError, UnknownNameError
from laydown.web import long_work
from laydown.web.asking import Number, NumberSent
from laydown.web.desk import AtDesk, AtJobs, AtLibrary
from laydown.web.faces import Beside, changes, go_to, json_of, of_library, shows
from laydown.web.files import file_sent, hands
from laydown.web.form_again import FormSent, page_of
from laydown.web.phone import COOKIE, FROM_PHONE, PAIR, Phone, address_of, cookie_of, in_two
from laydown.web.rendering import render

router = APIRouter()


def next_ones(library: AtLibrary) -> Beside:
    """Return the changes that undo and redo take next; None for none, and others' are not mine."""
    return {
        "undo": next(iter(library.history(own=True)), None),
        "redo": next(iter(library.history(undone=True)), None),
    }


shows(router, "/history", "history.html.j2", beside=next_ones, under="changes")(
    of_library(library_tasks.list_history)
)
undo, redo = of_library(library_tasks.undo_change), of_library(library_tasks.redo_change)
changes(router, "/history/undo", "/history", "Taken back: {0.label}.")(undo)
changes(router, "/history/redo", "/history", "Done again: {0.label}.")(redo)
hands(router, "/backup", of_library(library_tasks.library_copied), bytes, "laydown backup.db")


@changes(
    router,
    "/history/restore",
    "/history",
    lambda made: (
        f"{made[0].name} is the library now. What was there before is at {made[1]}."
        + " It was from an older laydown, and is brought up to date." * made[2]
    ),
    under="path before is_older",
)
def restore(desk: AtDesk, file: Annotated[UploadFile, File()]) -> library_tasks.Restored:
    """Put a copy in place of the library; what was there before is kept beside it."""
    sent = file_sent(file)
    if sent is None:
        raise BadFileError("No file was chosen.", hint="Choose a copy of a library.")
    return desk.jobs.while_still(
        lambda: library_tasks.restore_sent(desk.library, sent.content, sent.source)
    )


@shows(router, "/jobs", "jobs.html.j2", under="jobs")
def all_jobs(jobs: AtJobs) -> tuple[Job, ...]:
    """List the long work that is kept."""
    return jobs.all()


def _ways(jobs: AtJobs, number: Number) -> Beside:
    """Say where a job leads on to."""
    job = jobs.get(number)
    return {
        "shown_at": long_work.result_address(job),
        "mended_at": long_work.mending_address(jobs, job),
        "again": long_work.is_worth_repeating(job),
    }


@shows(router, "/job", "job.html.j2", beside=_ways)
def one_job(jobs: AtJobs, number: Number) -> Job:
    """Show how far a job has come."""
    return jobs.get(number)


def _form_of(jobs: AtJobs, number: Number) -> tuple[Job, FormSent]:
    form = jobs.form(number)
    if not form:
        raise _no_form(number)
    return jobs.get(number), from_text(form, FormSent)


def _no_form(number: int) -> UnknownNameError:
    told = f"The form of job {number} is not here any more."
    return UnknownNameError(told, hint="Ask for it anew.")


@router.get(long_work.FORM, response_class=Response)
async def form(
    request: Request, asked: Annotated[tuple[Job, FormSent], Depends(_form_of)]
) -> Response:
    """Show the form that a job was asked on, as it was filled, with what is wrong."""
    job, sent = asked
    said = job.message, job.hint, frozenset[str]()
    page = await page_of(request, sent, lambda _: said, before=job.id)
    if page is None:
        raise _no_form(job.id)
    return page


@router.get("/job/result.json", response_class=Response)
def result(jobs: AtJobs, number: Number) -> Response:
    """Give what a job found, as the command line would have written it."""
    return json_of(jobs.result(number), under=long_work.NAMED_AS.get(jobs.get(number).task, ""))


@changes(router, "/job/cancel", long_work.job_address)
def cancel(jobs: AtJobs, number: NumberSent) -> Job:
    """Stop a job at its next step."""
    return jobs.cancel(number)


@changes(router, "/job/again", long_work.job_address, "{0.title} was begun again.")
def again(jobs: AtJobs, number: NumberSent) -> Job:
    """Do once more what a job was asked."""
    return jobs.again(number)


@changes(router, "/job/remove", "/jobs", "It is put away.", under="number")
def remove(jobs: AtJobs, number: NumberSent) -> int:
    """Put a job away that is over, with what it found."""
    jobs.remove(number)
    return number


LONGEST_CODE = 40
DRAWN = {"scale": 6, "border": 4, "dark": "#000", "light": "#fff", "svgclass": "code"}
"""How the QR code is drawn: pixels per module, and the quiet zone that the standard asks for."""
Code = Annotated[str, Query(max_length=LONGEST_CODE)]
SentCode = Annotated[str, Form(max_length=LONGEST_CODE)]


@shows(router, "/phone", "phone.html.j2")
def at_the_bench(desk: AtDesk) -> Beside:
    """Show whether a phone was let in, and the code for one that wants to be.

    The code is written in two halves and drawn, with the address, as a QR code (SVG); it stands for
    so many minutes, rounded up. Where there is none, and where the bench isn't open to a phone, the
    texts are empty.
    """
    phone, code = desk.phone, desk.phone.code if desk.phone else ""
    address = f"http://{phone.host}{PAIR}" if phone else ""
    picture = segno.make_qr(f"{address}?code={code}", error="m")  # ISO/IEC 18004
    return {
        "is_open": phone is not None,
        "is_paired": phone is not None and phone.is_paired,
        "address": address,
        "code": in_two(code) if code else "",
        "minutes": phone.seconds_left // 60 + 1 if phone and code else 0,
        "picture": picture.svg_inline(**DRAWN) if code else "",
    }


@changes(router, "/phone/code", "/phone")
def new_code(desk: AtDesk) -> Beside:
    """Make a code; a phone that was let in before is let in no longer."""
    _opened(desk).make_code()
    return at_the_bench(desk)


@changes(router, "/phone/forget", "/phone", "The phone is out.")
def forget(desk: AtDesk) -> Beside:
    """Let the phone in no longer."""
    _opened(desk).forget()
    return at_the_bench(desk)


@router.get(PAIR, response_class=Response)
def on_the_phone(request: Request, desk: AtDesk, code: Code = "") -> Response:
    """Ask on the phone for the code; a code in the address is filled in, and still has to be sent.

    Looking changes nothing, so that a browser that looks ahead doesn't use the code up.
    """
    phone = desk.phone
    let_in = phone is not None and phone.knows(
        cookie_of(request.scope), address=address_of(request.scope)
    )
    return render(request, "pair.html.j2", code=code, let_in=let_in)


@router.post(PAIR, status_code=303, response_class=Response)
def let_in(request: Request, desk: AtDesk, code: SentCode = "") -> Response:
    """Let the phone in that sends the code."""
    if FROM_PHONE not in request.scope:
        raise NotLetInError(
            "This is the bench itself, not a phone.", hint="Open the address on the phone."
        )
    secret = _opened(desk).let_in(code, address=address_of(request.scope))
    answer = go_to("/", "This phone is let in, until the bench is closed.")
    answer.set_cookie(COOKIE, secret, httponly=True, samesite="strict")
    return answer


def _opened(desk: AtDesk) -> Phone:
    if desk.phone is None:
        raise NotLetInError(
            "The bench is not open to a phone.",
            hint="Close it, and start it again with: laydown serve --phone",
        )
    return desk.phone
