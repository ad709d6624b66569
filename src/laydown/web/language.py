"""In which language the bench speaks: English in the code, any other by a catalogue of gettext.

A browser says which languages a person reads, best first; the first of them that there is a
catalogue for is spoken, English otherwise. Texts in templates are marked there (`_`, `ngettext`,
`trans`), texts in these modules by `tell`, `tell_count` and `marked`; ``tools/extract_texts.py``
finds both. What a task gives (verdicts, colors in words, errors and their hints) stays as it is.
"""

import gettext
from contextvars import ContextVar
from functools import cache
from importlib.resources import as_file, files

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Receive, Scope, Send

DOMAIN = "laydown"
ENGLISH = "en"
CATALOGUES = files("laydown.web") / "translations"
_spoken: ContextVar[str] = ContextVar("spoken", default=ENGLISH)


@cache
def languages() -> tuple[str, ...]:
    """Return the languages that the texts can be had in, English first."""
    return (ENGLISH, *sorted(entry.name for entry in CATALOGUES.iterdir() if entry.is_dir()))


@cache
def texts_in(language: str) -> gettext.NullTranslations:
    """Return the texts in a language; in English where none are translated."""
    with as_file(CATALOGUES) as folder:
        return gettext.translation(DOMAIN, folder, [language], fallback=True)


def language_of(accepted: str) -> str:
    """Choose a language by an Accept-Language header, in the order it names them.

    References
    ----------
    RFC 9110, section 12.5.4; weights are taken as falling, as browsers send them.

    Examples
    --------
    >>> language_of("en-GB,en;q=0.9"), language_of("")
    ('en', 'en')
    """
    for part in accepted.split(","):
        tag = part.split(";")[0].strip().replace("-", "_")
        for name in languages():
            if name.lower() in {tag.lower(), tag.split("_")[0].lower()}:
                return name
    return ENGLISH


def spoken() -> str:
    """Return the language of the person who is being answered."""
    return _spoken.get()


def tell(text: str, **values: object) -> str:
    """Say a text in the language of the person who is being answered.

    Parameters
    ----------
    text
        In English, with a place ``%(name)s`` for each value.
    values
        Of the places.

    Examples
    --------
    >>> tell("The kit %(name)s is there.", name="mine")
    'The kit mine is there.'
    """
    return texts_in(spoken()).gettext(text) % values


def tell_count(one: str, many: str, count: int, **values: object) -> str:
    """Say a text of one or of many, as `tell` does; ``%(num)s`` is how many.

    Examples
    --------
    >>> tell_count("%(num)s swatch", "%(num)s swatches", 2)
    '2 swatches'
    """
    return texts_in(spoken()).ngettext(one, many, count) % {"num": count, **values}


def marked(text: str) -> str:
    """Return a text as it is, marked for translation; what shows it translates it.

    Examples
    --------
    >>> marked("Kits")
    'Kits'
    """
    return text


class Speaking:
    """An ASGI layer that answers each request in the language of its browser.

    Parameters
    ----------
    application
        What lies behind it.
    """

    def __init__(self, application: ASGIApp) -> None:
        self.application = application

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on; threads that answer it take the language over from here."""
        if scope["type"] == "http":
            _spoken.set(language_of(Headers(scope=scope).get("accept-language", "")))
        await self.application(scope, receive, send)
