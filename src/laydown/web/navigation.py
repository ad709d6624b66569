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
NOWHERE = frozenset({"/", "/phone", "/find", "/demo", "/stop"})
"""Pages that belong to none of the places."""


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
