"""Answer a form that is refused with the page it stands on, filled as it was sent.

Which page that is, the browser says (Referer), or the form itself, where it came back once before;
where neither does, the page above the address that the form is sent to is likely.
The page is asked for here as a browser would ask for it, and the form in it filled.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from urllib.parse import unquote, urlsplit

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.datastructures import Headers, UploadFile
from starlette.types import Message

from laydown.web.filled_form import FROM, Sent, find_form
from laydown.web.rendering import environment

BEFORE = "before"
"""A hidden field of forms that take files: the job that has those of the last time; 0 for none."""
ASKED_HERE = "laydown.asked_here"
"""In the scope of a request: whether the bench itself asks, for a page with a form."""
OF_THE_BODY = frozenset({b"content-type", b"content-length", b"transfer-encoding", b"expect"})


@dataclass(frozen=True, slots=True)
class Said:
    """What is wrong, in words, and which fields of a form it is about."""

    message: str
    hint: str
    at_fault: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class FormSent:
    """A form as a browser sent it.

    Parameters
    ----------
    path
        That it was sent to.
    addresses
        Of this bench, where it may stand, the likeliest first.
    fields
        Names and values, in their order, but for files.
    files
        Whether files came along.
    """

    path: str
    addresses: tuple[str, ...]
    fields: Sent
    files: bool


async def form_sent(request: Request) -> FormSent:
    """Return the form that a request brings."""
    got = request.method == "GET"
    all_ = request.query_params.multi_items() if got else (await request.form()).multi_items()
    fields = tuple((name, value) for name, value in all_ if isinstance(value, str))
    files = any(isinstance(value, UploadFile) and value.filename for _, value in all_)
    return FormSent(request.url.path, tuple(_addresses(request, dict(fields))), fields, files)


async def form_again(
    request: Request, status: int, say: Callable[[Mapping[str, str]], Said]
) -> HTMLResponse | None:
    """Return the page of the form that a request came from, filled; None where there is none.

    Parameters
    ----------
    request
        What was refused.
    status
        Of the answer.
    say
        From the labels of the form's fields, by their names, to what is wrong.
    """
    if ASKED_HERE in request.scope:
        return None
    return await page_of(request, await form_sent(request), say, status=status)


async def page_of(
    request: Request,
    sent: FormSent,
    say: Callable[[Mapping[str, str]], Said],
    *,
    status: int = 200,
    before: int = 0,
) -> HTMLResponse | None:
    """Return the page that a form stands on, filled as it was sent; None where it is gone.

    Parameters
    ----------
    request
        That is answered.
    sent
        The form.
    say
        As for `form_again`.
    status
        Of the answer.
    before
        The job that has the files which came along, where it may have them still; 0 for none.
    """
    for address in sent.addresses:
        page = await _page_at(request, address)
        form = find_form(page, sent.path, sent.fields) if page else None
        if form is None:
            continue
        said = say(form.labels())
        kept = sent.files and before > 0 and form.has(BEFORE)
        alert = _alert(request, said, files=sent.files and not kept, kept=kept)
        fields = tuple(field for field in sent.fields if field[0] != BEFORE)
        fields += ((BEFORE, str(before if kept else 0)),)
        filled = form.filled(fields, alert, at_fault=said.at_fault, address=address)
        return HTMLResponse(filled, status_code=status)
    return None


def _alert(request: Request, said: Said, *, files: bool, kept: bool) -> str:
    """Return what is wrong as markup; a form that renews its page by itself keeps the focus."""
    return (
        environment()
        .get_template("parts/refused.html.j2")
        .render(
            message=said.message,
            hint=said.hint,
            focused="hx-request" not in request.headers,
            files=files,
            kept=kept,
        )
    )


def _addresses(request: Request, sent: Mapping[str, str]) -> Iterator[str]:
    """Yield where the form may stand, the likeliest first, as addresses of this bench."""
    came = urlsplit(request.headers.get("referer", ""))
    own = request.url.path
    if request.method == "GET":
        yield own  # what was asked there before need not be answered once more
    kept = sent.get(FROM, "")
    if kept.startswith("/"):
        yield kept
    if came.netloc == request.headers.get("host"):
        yield came.path + (f"?{came.query}" if came.query else "")
    if request.method != "GET":
        yield own
    yield own.rpartition("/")[0] or "/"  # where no browser said: the page above


async def _page_at(request: Request, address: str) -> str:
    """Return the text of a page of this bench; empty where it is none, or can't be shown."""
    path, _, query = address.partition("?")
    headers = [(name, value) for name, value in request.scope["headers"] if name not in OF_THE_BODY]
    scope = {
        **request.scope,
        "method": "GET",
        "path": unquote(path),
        "raw_path": path.encode(),
        "query_string": query.encode(),
        "headers": headers,
        ASKED_HERE: True,
    }
    answered: list[Message] = []

    async def receive() -> Message:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Message) -> None:
        answered.append(message)

    await request.app(scope, receive, send)
    begun, *rest = answered
    kind = Headers(raw=begun["headers"]).get("content-type", "")
    if begun["status"] != 200 or not kind.startswith("text/html"):
        return ""
    return b"".join(message.get("body", b"") for message in rest).decode()
