"""Where the web door catches errors: each becomes one sentence, a way on and a status.

This is one of the three places where errors are caught.
"""

import logging
from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import urlsplit

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from laydown import errors
from laydown.web.form_again import Said, Say, form_again
from laydown.web.rendering import render

STATUS = {
    errors.UnknownNameError.slug: 404,
    errors.DuplicateNameError.slug: 409,
    errors.NothingToUndoError.slug: 409,
    errors.TooLargeError.slug: 413,
    errors.NotLetInError.slug: 403,
}
"""Statuses by slug; any other error that a person can mend is 422."""
FAULT = "This is a fault of laydown, not yours. Nothing of it was kept."
SENTENCES = {
    400: "What was sent can't be read.",
    404: "There is no such page here.",
    405: "This page does not take that kind of request.",
    413: "That is more than this page takes.",
    414: "That address is longer than any that the bench has.",
}
FIELD_FAULTS = {
    "missing": "Fill in “%(field)s”.",
    "string_too_short": "Fill in “%(field)s”.",
    "string_too_long": "Shorten “%(field)s” to at most %(max_length)s characters.",
    "too_long": "Give at most %(max_length)s in “%(field)s”.",
    "bool_parsing": "Tick “%(field)s”, or leave it.",
    "_parsing": "Write a number in “%(field)s”.",
    "int_from_float": "Write a whole number in “%(field)s”.",
    "finite_number": "Write a smaller number in “%(field)s”.",
    "less_than": "Write at most %(most)s in “%(field)s”.",
    "greater_than_equal": "Write at least %(ge)s in “%(field)s”.",
    "greater_than": "Write more than %(gt)s in “%(field)s”.",
    "literal_error": "Choose %(expected)s in “%(field)s”.",
    "enum": "Choose %(expected)s in “%(field)s”.",
}
"""How to mend a field, by a part of the name that the check of it gives the fault."""


def catch_errors(application: FastAPI) -> None:
    """Have an application turn every error into a sentence."""
    application.add_exception_handler(errors.LaydownError, _mendable)
    application.add_exception_handler(RequestValidationError, _unclear)
    application.add_exception_handler(HTTPException, _refused)
    application.add_exception_handler(Exception, _fault)


async def _answer(request: Request, status: int, slug: str, say: Say) -> Response:
    """Answer with an error: as JSON where JSON was asked for, in its form where there is one."""
    if _wants_json(request):
        return _plain(request, status, slug, *say({})[:2])
    return await form_again(request, status, say) or _plain(request, status, slug, *say({})[:2])


def _plain(request: Request, status: int, slug: str, message: str, hint: str) -> Response:
    """Answer with an error by itself."""
    if _wants_json(request):
        body = {"error": {"slug": slug, "message": message, "hint": hint}}
        return JSONResponse(body, status_code=status)
    shown = {"message": message, "hint": hint, "back": _back(request)}
    return render(request, "error.html.j2", status=status, sent=request.method == "POST", **shown)


def _wants_json(request: Request) -> bool:
    return request.url.path.endswith(".json")


def answer_status(request: Request, status: int, detail: str = "") -> Response:
    """Answer with the sentence of a status, or with a detail where there is none."""
    said = SENTENCES.get(status, detail)
    return _plain(request, status, "usage", said, "Begin from the first page.")


async def _mendable(request: Request, error: Exception) -> Response:
    assert isinstance(error, errors.LaydownError)
    status = STATUS.get(error.slug, 422)
    said = error.message, error.hint, frozenset[str]()
    return await _answer(request, status, error.slug, lambda _: said)


async def _unclear(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    faults = error.errors()
    return await _answer(request, 422, "usage", lambda labels: _said_of(faults, labels))


def _said_of(faults: Sequence[Any], labels: Mapping[str, str]) -> Said:
    """Say how to mend fields, each called as it is called in the form that they stand in."""
    places = ([part for part in one["loc"] if isinstance(part, str)] for one in faults)
    names = [place[-1] if place else "the request" for place in places]
    told = (_cure_of(one, labels.get(name, name)) for one, name in zip(faults, names, strict=True))
    return " ".join(dict.fromkeys(told)), "", frozenset(names)


def _cure_of(one: Mapping[str, Any], label: str) -> str:
    """Say how to mend one field: as people say it where we know the kind of fault."""
    told = {  # 20, not 20.0, as people write it
        name: int(bound) if isinstance(bound, float) and bound.is_integer() else bound
        for name, bound in one.get("ctx", {}).items()
    }
    told["most"] = told.get("le", told.get("lt"))
    for kind, sentence in FIELD_FAULTS.items():
        if kind in one["type"]:
            return sentence % {"field": label, **told}
    return f"Change “{label}”: {one['msg'].lower()}."


def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    answer = answer_status(request, error.status_code, error.detail)
    answer.headers.update(error.headers or {})
    return answer


def _fault(request: Request, error: Exception) -> Response:
    logging.getLogger("laydown").error("A page failed.", exc_info=error)
    return _plain(request, 500, "fault", FAULT, "Try again; if it stays, please report it.")


def _back(request: Request) -> str:
    """Return the page of this server that a person came from, else the first page.

    A form may be sent to the very address of its page; a page that can't be shown leads elsewhere.
    """
    try:
        came = urlsplit(request.headers.get("referer", ""))
    except ValueError:  # it is none
        return "/"
    same = request.method == "GET" and came.path == request.url.path
    if came.netloc != request.headers.get("host") or same:
        return "/"
    return came.path + (f"?{came.query}" if came.query else "")
