"""The worst notebooks of trials that could be thought of.

Those that begin with "within" keep to every bound and have to be taken in, or all but.
"""

import base64
import json
import tempfile

from making import MARKS, Make, Read, filled

from laydown.app.library import open_named
from laydown.app.notebook.trials import FORM, import_trials

BOOK = 100_000_000
"""Bytes; up to twice as many are allowed, which would be tedious here."""


def take_in(data: bytes) -> object:
    """Take in a notebook."""
    with tempfile.TemporaryDirectory() as folder:
        return import_trials(open_named(f"{folder}/library.db"), data, "it")


def trials(unit: str, tail: str = "[]]}", *, size: int = BOOK) -> bytes:
    """Return a notebook whose list of trials repeats a unit."""
    head = f'{{"form":"{FORM}","photographs":[],"trials":['
    return filled(head, unit, tail, size=size)


def entry(**changed: object) -> str:
    """Return a trial of one entry with something changed, and a comma behind it."""
    told = {
        "uid": "a" * 32,
        "version": 1,
        "withdrawn": False,
        "recorded": "2026-03-04T10:00:00+00:00",
        "kit": "mine",
        "paper": "Gannet smooth",
        "recipe": "Estuary/Kelp*2",
        "reflectance": [0.5] * 36,
        "basis": "spectrum",
        "spread": 0.0,
        "measured": "typed",
        "wanted": "",
        "intended": None,
        "remark": "",
        "done": "2026-03-04",
        "fill": "usual",
        "photograph": "",
    }
    return json.dumps([told | changed], ensure_ascii=False) + ","


def many_trials(many: int, **changed: object) -> bytes:
    """Return so many whole trials."""
    unit = entry(uid="@", **changed)
    made = "".join(unit.replace("@", f"{n:032d}") for n in range(many))
    return f'{{"form":"{FORM}","photographs":[],"trials":[{made}[]]}}'.encode()


def photographs(unit: str, tail: str, *, first: str = "") -> bytes:
    """Return a notebook of no trials whose photographs repeat a unit."""
    head = f'{{"form":"{FORM}","trials":[{first}],"photographs":['
    return head.encode() + filled("", unit, tail + "]}", size=BOOK)


PIXELS = base64.b64encode(bytes(range(250)) * 12_000).decode()
TRIALS: dict[str, Make] = {
    "within: trials": lambda: many_trials(5_500),
    "within: photographs": lambda: photographs(
        f'{{"name":"a","content":"{PIXELS}"}},', '{"name":"a","content":""}'
    ),
    "within: one wide sign": lambda: photographs(
        f'{{"name":"a","content":"{PIXELS}"}},',
        '{"name":"a","content":""}',
        first=entry(remark="\U0001f58d")[:-1],
    ),
    "within: recipes of many steps": lambda: many_trials(5_500, recipe="E/Kelp;" * 29),
    "within: long remarks": lambda: many_trials(280, remark="a" * 100_000),
    "recipes of very many steps": lambda: trials(entry(recipe="E/Kelp;" * 14_000), size=29_000_000),
    "lists": lambda: trials("[],", size=29_000_000),
    "objects": lambda: trials('{"a":1},', size=29_000_000),
    "nested lists": lambda: trials("[", "", size=900_000),
    "numbers": lambda: trials("1.5,", "1]}", size=29_000_000),
    "one long number": lambda: trials("1", "]}", size=29_000_000),
    "long numbers": lambda: trials("9" * 4000 + ",", "1]}", size=29_000_000),
    "large exponents": lambda: trials("1e999999,", "1]}", size=8_000_000),
    "one long text": lambda: filled('{"form":"', "a", '"}', size=BOOK),
    "escapes": lambda: filled('{"form":"', "\\u00e9", '"}', size=29_000_000),
    "blanks": lambda: filled(f'{{"form":"{FORM}"', " ", "}", size=29_000_000),
    "one key again and again": lambda: filled("{", '"form":1,', '"form":1}', size=8_000_000),
    "a recipe of blanks": lambda: trials(
        entry(recipe=f"Estuary/Kelp{' ' * 80_000}a"), size=29_000_000
    ),
    "a number of coats of many digits": lambda: trials(
        entry(recipe=f"Estuary/Kelp*{'9' * 5_000}"), size=1_000_000
    ),
    "accents out of order": lambda: trials(entry(recipe=f"Estuary/{MARKS}"), size=29_000_000),
    "photographs without number": lambda: photographs(
        '{"name":"a","content":""},', '{"name":"a","content":""}'
    ),
    "too large": lambda: filled('{"form":"', "a", '"}', size=201_000_000),
}

KINDS: dict[str, tuple[Read, dict[str, Make]]] = {"trials": (take_in, TRIALS)}
