"""Answer a form that is refused with the page it stands on, filled as it was sent.

Which page that is, the browser says (Referer), or the form itself, where it came back once before;
where neither does, the page above the address that the form is sent to is likely.
The page is asked for here as a browser would ask for it, and the form in it filled.
"""

import itertools
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from html import escape
from html.parser import HTMLParser
from urllib.parse import unquote, urlsplit

from fastapi import Request
from fastapi.responses import HTMLResponse
from starlette.datastructures import Headers, UploadFile
from starlette.types import Message

from laydown.web.rendering import environment

EMPTY = frozenset({"br", "hr", "img", "input", "link", "meta"})
"""Elements without content (HTML, section 13.1.2), of those that our pages have."""
Attributes = Mapping[str, str | None]


@dataclass(slots=True, eq=False)
class PageElement:
    """An element of a page."""

    tag: str
    attributes: Attributes
    """As written; an attribute without a value has None."""
    parent: "PageElement | None"
    """What it lies in; None for the page itself."""
    begins: int = 0
    inner: int = 0
    ends: int = 0
    """Where in the text it begins, its content begins, and its content ends."""
    content: "list[PageElement | str]" = field(default_factory=list)
    """Elements and texts, in their order."""

    def get(self, name: str) -> str:
        """Return the value of an attribute; empty where it has none."""
        return self.attributes.get(name) or ""

    def all(self, *tags: str) -> "Iterator[PageElement]":
        """Yield the elements in it, those of some tags or all, in the order of the page."""
        for part in self.content:
            if isinstance(part, PageElement):
                if not tags or part.tag in tags:
                    yield part
                yield from part.all(*tags)

    def around(self, tag: str = "") -> "Iterator[PageElement]":
        """Yield the elements that it lies in, those of a tag or all, the nearest first."""
        above = self.parent
        while above is not None:
            if tag in {"", above.tag}:
                yield above
            above = above.parent

    def text(self, *, but: frozenset[str] = frozenset()) -> str:
        """Return the text in it, without that of some tags."""
        parts = (
            part if isinstance(part, str) else "" if part.tag in but else part.text(but=but)
            for part in self.content
        )
        return " ".join(" ".join(parts).split())


def start_tag(tag: str, attributes: Attributes) -> str:
    """Write a start tag.

    >>> start_tag("input", {"value": "<a>", "checked": None})
    '<input value="&lt;a&gt;" checked>'
    """
    told = (
        name if value is None else f'{name}="{escape(value)}"' for name, value in attributes.items()
    )
    return f"<{' '.join([tag, *told])}>"


def read_page(page: str) -> PageElement:
    """Read a page."""
    reader = _PageReader(page)
    reader.feed(page)
    reader.close()
    return reader.root


class _PageReader(HTMLParser):
    """Builds the tree of a page while it is read."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.root = self._open = PageElement("", {}, None, ends=len(page))
        self._lines = [0]
        for line in page.split("\n"):
            self._lines.append(self._lines[-1] + len(line) + 1)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == self._open.tag == "option":
            self._close(self._here())
        begins = self._here()
        made = PageElement(tag, dict(attrs), self._open, begins)
        made.inner = made.ends = begins + len(self.get_starttag_text() or "")
        self._open.content.append(made)
        if tag not in EMPTY:
            self._open = made

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in EMPTY:
            self._close(self._here())

    def handle_endtag(self, tag: str) -> None:
        if tag == self._open.tag or any(self._open.around(tag)):
            while self._open.tag != tag:
                self._close(self._here())
            self._close(self._here())

    def handle_data(self, data: str) -> None:
        self._open.content.append(data)

    def _close(self, ends: int) -> None:
        self._open.ends = ends
        self._open = self._open.parent or self.root

    def _here(self) -> int:
        line, column = self.getpos()
        return self._lines[line - 1] + column


FROM = "form_from"
"""A hidden field of a form that came back: the page that it stands on, for the next time."""
FIELDS = ("input", "select", "textarea")
UNTYPED = frozenset({"file", "submit", "button", "reset", "image"})
"""Kinds of input that a page can't fill in."""
TICKED = frozenset({"checkbox", "radio"})
NO_LABEL = frozenset({"small", "select", "textarea", "datalist", "option"})
"""What stands in a label beside the name of the field."""
Sent = tuple[tuple[str, str], ...]
"""Names and values of fields, in the order in which a form sends them."""


def find_form(root: PageElement, path: str, sent: Sent) -> PageElement | None:
    """Return the form of a page that is sent to a path; of several the one that sent this.

    What a form sends along by itself tells it from others like it.
    """

    def alike(form: PageElement) -> int:
        hidden = (one for one in form.all("input") if one.get("type") == "hidden")
        return len({(one.get("name"), one.get("value")) for one in hidden} & {*sent})

    forms = [form for form in root.all("form") if urlsplit(form.get("action")).path == path]
    return max(forms, key=alike, default=None)


def _fields(form: PageElement) -> dict[str, list[PageElement]]:
    """Return a form's fields by their names, in the order of the page."""
    fields: dict[str, list[PageElement]] = {}
    for one in form.all(*FIELDS):
        if one.get("name"):
            fields.setdefault(one.get("name"), []).append(one)
    return fields


def _with_form(
    page: str, form: PageElement, sent: Sent, alert: str, *, at_fault: Collection[str], address: str
) -> str:
    """Return a page with its form as it was sent, and an alert where it is seen.

    The alert is markup. It stands at the head of the form; of a form that renews a part of the page
    by itself, in that part. The page's address is kept in the form.
    """
    head, part = form.inner, _renewed(form)
    edits = [(part.inner, part.ends, alert) if part else (head, head, alert)]
    edits += [*_filled(form, sent, at_fault), *_opened(form)]
    if form.get("method") == "post" and FROM not in _fields(form):
        kept = start_tag("input", {"type": "hidden", "name": FROM, "value": address})
        edits.append((head, head, kept))
    for begins, ends, new in sorted(edits, key=lambda edit: edit[0], reverse=True):
        page = page[:begins] + new + page[ends:]
    return page


def _label(fields: Sequence[PageElement]) -> str:
    """Return what a field is called; several to be ticked are called by their legend."""
    first = fields[0]
    if len(fields) > 1 and first.get("type") in TICKED:
        legends = (one for around in first.around("fieldset") for one in around.all("legend"))
        legend = next(legends, None)
        if legend:
            return legend.text()
    label = next(first.around("label"), None)
    return label.text(but=NO_LABEL) if label else first.get("aria-label")


def _renewed(form: PageElement) -> PageElement | None:
    """Return the part of the page that a form renews, where the form isn't in it."""
    wanted = form.get("hx-select").removeprefix("#")
    *_, root = form.around()
    part = next((one for one in root.all() if wanted and one.get("id") == wanted), None)
    inside = part is not None and part.begins < form.begins < part.ends
    return None if inside else part


def _filled(form: PageElement, sent: Sent, at_fault: Collection[str]) -> list[tuple[int, int, str]]:
    left: dict[str, list[str]] = {}
    for name, value in sent:
        left.setdefault(name, []).append(value)
    all_sent = {name: frozenset(values) for name, values in left.items()}
    edits = []
    for one in itertools.chain(*_fields(form).values()):
        name, kind = one.get("name"), one.get("type")
        attributes = dict(one.attributes)
        if name in at_fault:
            attributes["aria-invalid"] = "true"
        if kind in TICKED:
            _set(attributes, "checked", one.get("value") in all_sent.get(name, ()))
        elif kind not in UNTYPED and left.get(name):
            value = left[name].pop(0)
            if one.tag == "input":
                attributes["value"] = value
            else:
                edits += _written(one, value)
        if attributes != one.attributes:
            edits.append((one.begins, one.inner, start_tag(one.tag, attributes)))
    return edits


def _written(one: PageElement, value: str) -> list[tuple[int, int, str]]:
    """Write a text into its field, or choose it."""
    if one.tag == "textarea":
        lead = "\n" if value.startswith(("\n", "\r")) else ""  # HTML leaves out the first line end
        return [(one.inner, one.ends, lead + escape(value))]
    edits = []
    for option in one.all("option"):
        attributes = dict(option.attributes)
        _set(attributes, "selected", attributes.get("value", option.text()) == value)
        edits.append((option.begins, option.inner, start_tag("option", attributes)))
    return edits


def _set(attributes: dict[str, str | None], name: str, on: bool) -> None:
    attributes.pop(name, None)
    if on:
        attributes[name] = None


def _opened(form: PageElement) -> list[tuple[int, int, str]]:
    """Unfold what is folded around a form and in it, for what is wrong may lie there."""
    folded = [*form.around("details"), *form.all("details")]
    return [
        (one.begins, one.inner, start_tag("details", {**one.attributes, "open": None}))
        for one in folded
        if "open" not in one.attributes
    ]


BEFORE = "before"
"""A hidden field of forms that take files: the job that has those of the last time; 0 for none."""
ASKED_HERE = "laydown.asked_here"
"""In the scope of a request: whether the bench itself asks, for a page with a form."""
OF_THE_BODY = frozenset({b"content-type", b"content-length", b"transfer-encoding", b"expect"})


Said = tuple[str, str, frozenset[str]]
"""What is wrong, what to do about it, and the names of the fields of a form that it is about."""
Say = Callable[[Mapping[str, str]], Said]
"""Leads from the labels of a form's fields, by their names, to what is wrong."""


@dataclass(frozen=True, slots=True)
class FormSent:
    """A form as a browser sent it."""

    path: str
    """That it was sent to."""
    addresses: tuple[str, ...]
    """Of this bench, where it may stand, the likeliest first."""
    fields: Sent
    """Names and values, in their order, but for files."""
    files: bool
    """Whether files came along."""


async def form_sent(request: Request) -> FormSent:
    """Return the form that a request brings."""
    got = request.method == "GET"
    all_ = request.query_params.multi_items() if got else (await request.form()).multi_items()
    fields = tuple((name, value) for name, value in all_ if isinstance(value, str))
    files = any(isinstance(value, UploadFile) and value.filename for _, value in all_)
    return FormSent(request.url.path, tuple(_addresses(request, dict(fields))), fields, files)


async def form_again(request: Request, status: int, say: Say) -> HTMLResponse | None:
    """Return the page of the form that a request came from, filled; None where there is none."""
    if ASKED_HERE in request.scope:
        return None
    return await page_of(request, await form_sent(request), say, status=status)


async def page_of(
    request: Request, sent: FormSent, say: Say, *, status: int = 200, before: int = 0
) -> HTMLResponse | None:
    """Return the page that a form stands on, filled as it was sent; None where it is gone.

    ``before`` is the job that has the files which came along, where it may have them still; 0 for
    none.
    """
    for address in sent.addresses:
        page = await _page_at(request, address)
        form = find_form(read_page(page), sent.path, sent.fields) if page else None
        if form is None:
            continue
        named = _fields(form)
        labels = {name: label for name, same in named.items() if (label := _label(same))}
        message, hint, at_fault = say(labels)
        kept = sent.files and before > 0 and BEFORE in named
        alert = _alert(request, message, hint, files=sent.files and not kept, kept=kept)
        fields = tuple(field for field in sent.fields if field[0] != BEFORE)
        fields += ((BEFORE, str(before if kept else 0)),)
        filled = _with_form(page, form, fields, alert, at_fault=at_fault, address=address)
        return HTMLResponse(filled, status_code=status)
    return None


def _alert(request: Request, message: str, hint: str, *, files: bool, kept: bool) -> str:
    """Return what is wrong as markup; a form that renews its page by itself keeps the focus."""
    focused = "hx-request" not in request.headers
    refused = environment().get_template("parts/refused.html.j2")
    return refused.render(message=message, hint=hint, focused=focused, files=files, kept=kept)


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
