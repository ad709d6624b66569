"""Files that a browser sends and is handed: bounded while they arrive, under their own names."""

import re
from collections.abc import Callable, Iterable
from typing import Annotated, Any, Literal, TypeGuard
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request, Response, UploadFile
from fastapi.params import File
from fastapi.routing import APIRoute
from python_multipart.multipart import parse_options_header
from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from laydown.app.reports import write_report
from laydown.app.tasks import GivenFile
from laydown.bare_picture import bare
from laydown.errors import BadFileError
from laydown.media.legible import tidy_name
from laydown.web.errors import answer_status
from laydown.web.phone import STRANGER

# Files that a browser sends: bounded while they arrive, never kept under a name from outside.
#
# A file that arrives lies in memory or, beyond a megabyte, in a file of the system's that has no
# name and is gone when it is closed, which happens with the end of the request, whatever that end
# is. Its own name is only ever shown.

MOST_WITH_FILES = 200_000_000
"""Bytes of a request that brings files along: a dozen photographs of a phone at their largest."""
MOST_WITHOUT = 2_000_000
"""Bytes of a form without files: the longest lists, pasted, as browsers write them."""
MOST_OF_STRANGERS = 500
"""Bytes of what is sent by somebody who isn't the phone: a code is a tenth of it."""
LONGEST_ADDRESS = 24_000
"""Characters of an address and what it asks: a kit's largest choice of names."""
LONGEST_LENGTH = 15
"""Digits of a length that a request says it has."""
FORM_WITH_FILES = "multipart/form-data"
ROOM_BEHIND = 16
"""Bytes of line ends and blanks that may follow the end of a form."""
LONGEST_NAME = 100
UNNAMED = "the file"


class BoundedBody:
    """An ASGI layer that breaks off a request that sends too much, or stops in the middle.

    What is too much depends on where it is sent: to a form that takes files, to any other, or by
    somebody in the home network who isn't the phone. It is told before any of it is read where a
    request says its length, else while it comes in. What lies behind turns the statuses 400 and
    413 into sentences.

    A form with files ends with its own mark (RFC 2046, section 5.1.1). One that broke off before
    it would be taken with its last file missing, and is refused instead.
    """

    def __init__(self, application: ASGIApp, *, with_files: Iterable[str]) -> None:
        self.application = application
        self.with_files = with_files

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on with its body counted, if it is one that any page reads."""
        if scope["type"] != "http":
            await self.application(scope, receive, send)
        elif len(scope["path"]) + len(scope["query_string"]) > LONGEST_ADDRESS:
            answer = answer_status(Request(scope), 414)
            await answer(scope, receive, send)
        else:
            if scope.get("method") not in {"GET", "HEAD"}:
                headers = Headers(scope=scope)
                receive = _counted(receive, self._most_of(scope, headers), headers)
            await self.application(scope, receive, send)

    def _most_of(self, scope: Scope, headers: Headers) -> int:
        if scope.get(STRANGER):
            return MOST_OF_STRANGERS
        brings_files = headers.get("content-type", "").lower().lstrip().startswith(FORM_WITH_FILES)
        return (
            MOST_WITH_FILES if brings_files and scope["path"] in self.with_files else MOST_WITHOUT
        )


def paths_with_files(routers: Iterable[APIRouter]) -> frozenset[str]:
    """Return the addresses of all forms that take files."""
    entered = [route for router in routers for route in router.routes]
    forms = [(form.path, form.body_field) for form in entered if isinstance(form, APIRoute)]
    return frozenset(path for path, body in forms if body and isinstance(body.field_info, File))


def end_of(headers: Headers) -> bytes:
    r"""Return how the body of a request has to end; nothing for one that brings no files along.

    >>> end_of(Headers({"content-type": "multipart/form-data; boundary=x"}))
    b'\r\n--x--'
    """
    kind, options = parse_options_header(headers.get("content-type", ""))
    boundary = options.get(b"boundary", b"")
    return b"\r\n--" + boundary + b"--" if kind == FORM_WITH_FILES.encode() and boundary else b""


def _counted(receive: Receive, most: int, headers: Headers) -> Receive:
    said = headers.get("content-length", "0")
    is_too_long = len(said) > LONGEST_LENGTH or (said.isdecimal() and int(said) > most)
    end = end_of(headers)
    came, tail = 0, b"\r\n"

    async def counted() -> Message:
        nonlocal came, tail
        if is_too_long:
            raise HTTPException(413)
        message = await receive()
        body = message.get("body", b"")
        came, tail = came + len(body), (tail + body)[-len(end) - ROOM_BEHIND :]
        if came > most:
            raise HTTPException(413)
        if not message.get("more_body", False) and not tail.rstrip().endswith(end):
            raise HTTPException(400)
        return message

    return counted


def sent_file(upload: UploadFile) -> GivenFile:
    """Return a file that was sent. Raises BadFileError when there is nothing in it."""
    sent = GivenFile(upload.file.read(), shown_name(upload.filename or ""))
    if not sent.content:
        raise BadFileError(f"There is nothing in {sent.source}.", hint="Choose the file once more.")
    return sent


def sent_files(uploads: Iterable[UploadFile | None]) -> tuple[GivenFile, ...]:
    """Return the files that were sent; a field that was left empty is none."""
    return tuple(sent_file(upload) for upload in uploads if is_chosen(upload))


def file_sent(upload: UploadFile | None) -> GivenFile | None:
    """Return a file that may be sent; None where its field was left empty."""
    return sent_file(upload) if is_chosen(upload) else None


def is_chosen(upload: UploadFile | None) -> TypeGuard[UploadFile]:
    """Return whether a field for a file is there and was not left empty."""
    return upload is not None and bool(upload.filename or upload.size)


def sent_pictures(uploads: Iterable[UploadFile | None]) -> tuple[GivenFile, ...]:
    """Return the pictures that were sent, without what they tell of place, owner and time.

    Raises BadFileError when none was chosen.
    """
    sent = sent_files(uploads)
    if not sent:
        raise BadFileError("No picture was chosen.", hint="Choose one, or take a photograph.")
    return tuple(GivenFile(bare(file.content), file.source) for file in sent)


def shown_name(name: str) -> str:
    r"""Return what a file is called in sentences: the last part of its name, fit to be shown.

    >>> shown_name("C:\\photos\\sheet 4.jpg"), shown_name("../../etc/passwd"), shown_name("\x00")
    ('sheet 4.jpg', 'passwd', 'the file')
    """
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    return tidy_name(last)[:LONGEST_NAME].strip() or UNNAMED


KINDS = {
    "pdf": "application/pdf",
    "html": "text/html; charset=utf-8",
    "csv": "text/csv; charset=utf-8",
    "json": "application/json",
    "svg": "image/svg+xml",
    "png": "image/png",
    "jpg": "image/jpeg",
    "webp": "image/webp",
    "txt": "text/plain; charset=utf-8",
    "zip": "application/zip",
}
OTHER = "application/octet-stream"


def file_of(content: bytes, name: str, *, shown: bool = False) -> Response:
    """Answer with a file: saved under its name, whose ending says what it is, or shown."""
    kind = KINDS.get(name.rpartition(".")[2], OTHER)
    placed = "inline" if shown else "attachment"
    plain = re.sub(r"[^A-Za-z0-9._-]+", "-", name).strip("-") or "laydown"
    disposition = f"{placed}; filename=\"{plain}\"; filename*=UTF-8''{quote(name, safe='')}"
    return Response(content, media_type=kind, headers={"Content-Disposition": disposition})


def hands(
    router: APIRouter,
    path: str,
    question: Callable[..., Any],
    content: Callable[[Any], bytes],
    named: str,
    *,
    shown: bool = False,
) -> None:
    """Hand over as a file what a question finds, or show it; it is named after that: ``{0}``."""

    @router.get(path, response_class=Response, name=path, summary="Hand over a file.")
    def hand_over(found: Annotated[Any, Depends(question)]) -> Response:
        return file_of(content(found), named.format(found), shown=shown)


def hands_over(router: APIRouter, path: str, question: Callable[..., Any], named: str) -> None:
    """Hand over what a question finds as the file of a report, named after it: ``{0}``."""

    @router.get(path, response_class=Response, name=path, summary="Hand over what was found.")
    def hand_over(
        found: Annotated[Any, Depends(question)],
        form: Literal["pdf", "html", "csv", "json", "svg"] = "pdf",
        page: Literal["A4", "Letter"] = "A4",
    ) -> Response:
        if isinstance(found, dict):
            raise BadFileError("Nothing was asked yet.", hint="Name a color, then take the file.")
        return file_of(write_report(found, form, page=page), f"{named.format(found)}.{form}")
