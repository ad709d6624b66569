"""Where the web door catches errors: each becomes one sentence, a way on and a status.

This is one of the three places where errors are caught.
"""

import logging
from typing import Any
from urllib.parse import urlsplit

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from laydown import errors
from laydown.web.language import marked, tell
from laydown.web.rendering import render

STATUS = {
    errors.UnknownNameError.slug: 404,
    errors.DuplicateNameError.slug: 409,
    errors.NothingToUndoError.slug: 409,
    errors.TooLargeError.slug: 413,
    errors.NotLetInError.slug: 403,
}
"""Statuses by slug; any other error that a person can mend is 422."""
FAULT = marked("This is a fault of laydown, not yours. Nothing of it was kept.")
SENTENCES = {
    400: marked("What was sent can't be read."),
    404: marked("There is no such page here."),
    405: marked("This page does not take that kind of request."),
    413: marked("That is more than this page takes."),
}

FIELD_FAULTS = {
    "missing": marked("“%(field)s” is not filled in"),
    "string_too_short": marked("“%(field)s” is not filled in"),
    "string_too_long": marked("“%(field)s” takes at most %(max_length)s characters"),
    "_parsing": marked("“%(field)s” is not such a number as is asked for"),
    "int_from_float": marked("“%(field)s” must be a whole number"),
    "finite_number": marked("“%(field)s” is too large"),
    "less_than_equal": marked("“%(field)s” is at most %(le)s"),
    "greater_than_equal": marked("“%(field)s” is at least %(ge)s"),
    "literal_error": marked("“%(field)s” is one of %(expected)s"),
}
"""What is wrong with a field, by a part of the name that the check of it gives the fault."""


def catch_errors(application: FastAPI) -> None:
    """Have an application turn every error into a sentence."""
    application.add_exception_handler(errors.LaydownError, _mendable)
    application.add_exception_handler(RequestValidationError, _unclear)
    application.add_exception_handler(HTTPException, _refused)
    application.add_exception_handler(Exception, _fault)


def answer_error(request: Request, status: int, slug: str, message: str, hint: str) -> Response:
    """Answer with an error, as JSON where JSON was asked for, else as a page."""
    if request.url.path.endswith(".json"):
        body = {"error": {"slug": slug, "message": message, "hint": hint}}
        return JSONResponse(body, status_code=status)
    return render(
        request,
        "error.html.j2",
        status=status,
        message=message,
        hint=hint,
        back=_back(request),
        sent=request.method == "POST",
    )


def _mendable(request: Request, error: Exception) -> Response:
    assert isinstance(error, errors.LaydownError)
    status = STATUS.get(error.slug, 422)
    return answer_error(request, status, error.slug, error.message, error.hint)


def _unclear(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    told = dict.fromkeys(_fault_of(one) for one in error.errors())
    message = tell("This can't be read: %(fields)s.", fields="; ".join(told))
    return answer_error(request, 422, "usage", message, tell("Go back and change what is named."))


def _fault_of(one: dict[str, Any]) -> str:
    """Say what is wrong with one field: as people say it where we know the kind of fault."""
    named = _field(one["loc"])
    for kind, sentence in FIELD_FAULTS.items():
        if kind in one["type"]:
            return tell(sentence, field=named, **one.get("ctx", {}))
    return f"{named}: {one['msg'].lower()}"


def _field(place: tuple[int | str, ...]) -> str:
    return str(place[-1]) if place else tell("the request")


def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    sentence = SENTENCES.get(error.status_code)
    told = tell(sentence) if sentence else str(error.detail)
    answer = answer_error(
        request, error.status_code, "usage", told, tell("Begin from the first page.")
    )
    answer.headers.update(error.headers or {})
    return answer


def _fault(request: Request, error: Exception) -> Response:
    logging.getLogger("laydown").error("A page failed.", exc_info=error)
    return answer_error(
        request, 500, "fault", tell(FAULT), tell("Try again; if it stays, please report it.")
    )


def _back(request: Request) -> str:
    """Return the page of this server that a person came from, else the first page.

    A form may be sent to the very address of its page; a page that can't be shown leads elsewhere.
    """
    came = urlsplit(request.headers.get("referer", ""))
    same = request.method == "GET" and came.path == request.url.path
    if came.netloc != request.headers.get("host") or same:
        return "/"
    return came.path + (f"?{came.query}" if came.query else "")
