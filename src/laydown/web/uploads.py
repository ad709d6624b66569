"""Files that a browser sends: bounded while they arrive, never kept under a name from outside.

A file that arrives lies in memory or, beyond a megabyte, in a file of the system's that has no name
and is gone when it is closed, which happens with the end of the request, whatever that end is. Its
own name is only ever shown.
"""

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeGuard

from fastapi import UploadFile
from python_multipart.multipart import parse_options_header
from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from laydown.errors import BadFileError
from laydown.web.language import tell

MOST_WITH_FILES = 200_000_000
"""Bytes of a request that brings files along: a dozen photographs of a phone at their largest."""
MOST_WITHOUT = 2_000_000
"""Bytes of any other request."""
ROOM_BEHIND = 16
"""Bytes of line ends and blanks that may follow the end of a form."""
LONGEST_NAME = 100
UNNAMED = "the file"


class BoundedBody:
    """An ASGI layer that breaks off a request that sends too much, or stops in the middle.

    A form with files ends with its own mark (RFC 2046, section 5.1.1). One that broke off before
    it would be taken with its last file missing, and is refused instead.

    Parameters
    ----------
    application
        What lies behind it, which turns the statuses 400 and 413 into sentences.
    """

    def __init__(self, application: ASGIApp) -> None:
        self.application = application

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on with its body counted."""
        if scope["type"] == "http":
            headers = Headers(scope=scope)
            receive = _counted(receive, most_of(headers), end_of(headers))
        await self.application(scope, receive, send)


def most_of(headers: Headers) -> int:
    """Return how many bytes a request may send, by what it says that it sends.

    Examples
    --------
    >>> most_of(Headers({"content-type": "application/json"}))
    2000000
    """
    kind = headers.get("content-type", "").lower().lstrip()
    return MOST_WITH_FILES if kind.startswith("multipart/form-data") else MOST_WITHOUT


def end_of(headers: Headers) -> bytes:
    r"""Return how the body of a request has to end; nothing for one that brings no files along.

    Examples
    --------
    >>> end_of(Headers({"content-type": "multipart/form-data; boundary=x"}))
    b'\r\n--x--'
    """
    kind, options = parse_options_header(headers.get("content-type", ""))
    boundary = options.get(b"boundary", b"")
    return b"\r\n--" + boundary + b"--" if kind == b"multipart/form-data" and boundary else b""


def _counted(receive: Receive, most: int, end: bytes) -> Receive:
    came, tail = 0, b"\r\n"

    async def counted() -> Message:
        nonlocal came, tail
        message = await receive()
        body = message.get("body", b"")
        came, tail = came + len(body), (tail + body)[-len(end) - ROOM_BEHIND :]
        if came > most:
            raise HTTPException(413)
        if not message.get("more_body", False) and not tail.rstrip().endswith(end):
            raise HTTPException(400)
        return message

    return counted


@dataclass(frozen=True, slots=True)
class SentFile:
    """A file that was sent: its content, and its name for sentences."""

    content: bytes
    name: str


def sent_file(upload: UploadFile) -> SentFile:
    """Return a file that was sent.

    Raises
    ------
    BadFileError
        When there is nothing in it.
    """
    sent = SentFile(upload.file.read(), shown_name(upload.filename or ""))
    if not sent.content:
        raise BadFileError(
            tell("There is nothing in %(name)s.", name=sent.name),
            hint=tell("Choose the file once more."),
        )
    return sent


def sent_files(uploads: Iterable[UploadFile]) -> tuple[SentFile, ...]:
    """Return the files that were sent; a field that was left empty is none."""
    return tuple(sent_file(upload) for upload in uploads if is_chosen(upload))


def is_chosen(upload: UploadFile | None) -> TypeGuard[UploadFile]:
    """Return whether a field for a file is there and was not left empty."""
    return upload is not None and bool(upload.filename or upload.size)


def sent_pictures(uploads: Iterable[UploadFile | None]) -> tuple[SentFile, ...]:
    """Return the pictures that were sent.

    Raises
    ------
    BadFileError
        When none was chosen.
    """
    sent = sent_files(upload for upload in uploads if upload is not None)
    if not sent:
        raise BadFileError(
            tell("No picture was chosen."), hint=tell("Choose one, or take a photograph.")
        )
    return sent


def shown_name(name: str) -> str:
    r"""Return what a file is called in sentences: the last part of its name, fit to be shown.

    Examples
    --------
    >>> shown_name("C:\\photos\\sheet 4.jpg"), shown_name("../../etc/passwd"), shown_name("\x00")
    ('sheet 4.jpg', 'passwd', 'the file')
    """
    last = name.replace("\\", "/").rsplit("/", 1)[-1]
    seen = "".join(
        sign for sign in last if unicodedata.category(sign)[0] not in "CZ" or sign == " "
    )
    return seen.strip()[:LONGEST_NAME] or UNNAMED
