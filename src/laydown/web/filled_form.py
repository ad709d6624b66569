"""A form in a page, found again by what was sent, and filled with it.

A form that is refused comes back on the page that it stood on, with all that was typed in it, the
error where it belongs, and each field called as it is called there.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from urllib.parse import urlsplit

from laydown.web.page_tree import PageElement, read_page, start_tag

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


@dataclass(frozen=True, slots=True, eq=False)
class FormInPage:
    """A form, and the page it stands on.

    Parameters
    ----------
    page
        The text of the page.
    root
        The same, read.
    form
        The form in it.
    """

    page: str
    root: PageElement
    form: PageElement

    def labels(self) -> Mapping[str, str]:
        """Return what each field is called, by its name."""
        fields: dict[str, list[PageElement]] = {}
        for one in _fields(self.form):
            fields.setdefault(one.get("name"), []).append(one)
        return {name: label for name, same in fields.items() if (label := _label(same))}

    def has(self, name: str) -> bool:
        """Return whether it has a field of a name."""
        return any(one.get("name") == name for one in _fields(self.form))

    def filled(self, sent: Sent, alert: str, *, at_fault: Collection[str], address: str) -> str:
        """Return the page with the form as it was sent, and an alert where it is seen.

        Parameters
        ----------
        sent
            What was in its fields.
        alert
            Markup. It stands at the head of the form; of a form that renews a part of the page by
            itself, in that part.
        at_fault
            Names of the fields that are wrong.
        address
            Of the page, kept in the form.
        """
        head = self.form.inner
        part = _renewed(self.root, self.form)
        edits = [(part.inner, part.ends, alert) if part else (head, head, alert)]
        edits += [*_filled(self.form, sent, at_fault), *_opened(self.form)]
        if self.form.get("method") == "post" and not self.has(FROM):
            kept = start_tag("input", {"type": "hidden", "name": FROM, "value": address})
            edits.append((head, head, kept))
        text = self.page
        for begins, ends, new in sorted(edits, key=lambda edit: edit[0], reverse=True):
            text = text[:begins] + new + text[ends:]
        return text


def find_form(page: str, path: str, sent: Sent) -> FormInPage | None:
    """Return the form of a page that is sent to a path; of several the one that sent this."""
    root = read_page(page)
    forms = [form for form in root.all("form") if urlsplit(form.get("action")).path == path]
    if not forms:
        return None
    return FormInPage(page, root, max(forms, key=lambda form: len(_hidden(form) & {*sent})))


def _hidden(form: PageElement) -> set[tuple[str, str]]:
    """Return what a form sends along by itself, which tells it from others like it."""
    inputs = form.all("input")
    return {(one.get("name"), one.get("value")) for one in inputs if one.get("type") == "hidden"}


def _fields(form: PageElement) -> list[PageElement]:
    return [one for one in form.all(*FIELDS) if one.get("name")]


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


def _renewed(root: PageElement, form: PageElement) -> PageElement | None:
    """Return the part of the page that a form renews, where the form isn't in it."""
    wanted = form.get("hx-select").removeprefix("#")
    part = next((one for one in root.all() if wanted and one.get("id") == wanted), None)
    inside = part is not None and part.begins < form.begins < part.ends
    return None if inside else part


def _filled(form: PageElement, sent: Sent, at_fault: Collection[str]) -> list[tuple[int, int, str]]:
    left: dict[str, list[str]] = {}
    for name, value in sent:
        left.setdefault(name, []).append(value)
    all_sent = {name: frozenset(values) for name, values in left.items()}
    edits = []
    for one in _fields(form):
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
