"""The three places of the bench: what I own, the color in hand, and what is made of both."""

PLACES = (
    (
        "My box",
        "/box",
        (
            ("Each over each", "/grid"),
            ("Twins", "/twins"),
            ("Boxes", "/kits"),
            ("Sets", "/ranges"),
            ("Papers", "/papers"),
            ("Swatches", "/swatches"),
            ("Sheets", "/sheets"),
        ),
    ),
    (
        "Color in hand",
        "/color",
        (
            ("What it makes", "/over"),
            ("What if", "/lay"),
            ("Fix it", "/fix"),
            ("Muddy?", "/muddy"),
            ("Box by box", "/boxes"),
            ("Shadow and light", "/partners"),
            ("Between two", "/gradient"),
            ("Shading runs", "/runs"),
            ("Under other lights", "/light"),
        ),
    ),
    (
        "Work",
        "/work",
        (
            ("Lessons", "/lessons"),
            ("Pictures", "/pictures"),
            ("Charts", "/charts"),
            ("Notebook", "/notebook"),
            ("What to buy", "/choosing"),
            ("Long work", "/jobs"),
            ("History", "/history"),
        ),
    ),
)
"""Each with its name, its address, and what lies in it, by name and address."""
NOWHERE = frozenset({"/", "/phone", "/find", "/demo", "/guide", "/stop"})
"""Pages that belong to none of the places."""


GUIDED = {
    "/sheets": "swatch-your-box",
    "/swatches": "swatch-your-box",
    "/sheet": "photograph-it",
    "/card": "photograph-it",
    "/color": "read-an-answer",
    "/chart": "read-an-answer",
    "/over": "why-colors-go-muddy",
    "/gradient": "why-colors-go-muddy",
    "/muddy": "why-colors-go-muddy",
    "/partners": "light-middle-dark",
    "/runs": "light-middle-dark",
    "/lesson": "teach-from-one-palette",
    "/lessons": "teach-from-one-palette",
    "/ranges": "buy-only-what-helps",
    "/choosing": "buy-only-what-helps",
    "/chosen": "buy-only-what-helps",
    "/notebook": "learn-from-what-you-tried",
    "/trial": "learn-from-what-you-tried",
    "/hand": "learn-from-what-you-tried",
}
"""Where a page of the guide helps, by the first part of an address."""


def guide_of(path: str) -> str:
    """Return the address of the guide's page that helps on a page; else of its first.

    Examples
    --------
    >>> guide_of("/lesson/conversion"), guide_of("/papers")
    ('/guide?page=teach-from-one-palette', '/guide')
    """
    name = GUIDED.get("/" + path.strip("/").partition("/")[0])
    return f"/guide?page={name}" if name else "/guide"


def place_of(path: str) -> int | None:
    """Return the number of the place that a page lies in; None for one that lies in none.

    Examples
    --------
    >>> [place_of(path) for path in ("/kit", "/light/wall", "/trial", "/")]
    [0, 1, 2, None]
    """
    first = "/" + path.strip("/").partition("/")[0]
    if first in NOWHERE:
        return None
    if first == "/card":
        return 0
    for number, (_, address, parts) in enumerate(PLACES):
        if first == address or any(first in {of, of.removesuffix("s")} for _, of in parts):
            return number
    return 2
