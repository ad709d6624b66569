"""The page that answers: one HTML file that says what to use, whatever one owns of its ranges.

All about color is worked out before. The page holds, for each color, the ways that
`laydown.match.minimal` lists, and a small script that finds the first that needs nothing else than
what is ticked. It asks for nothing over any network, which its content policy forbids.
"""

import zlib
from base64 import b64encode
from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from hashlib import sha256
from importlib.resources import files
from json import dumps
from math import atan2
from string import ascii_lowercase, ascii_uppercase, digits
from typing import TypeVar

import numpy as np
import segno

from laydown.color.arrays import FloatArray
from laydown.color.screen import screen_color
from laydown.color.value import value_from_lab
from laydown.documents.files.lessons import IN_PAGE
from laydown.documents.print.layout import template
from laydown.documents.print.page_pairs import PairsWritten
from laydown.match.outcome import Target
from laydown.match.pairs import NO_PAIRS, BestPairs
from laydown.match.question import Way
from laydown.match.words import is_gray
from laydown.media.legible import legible
from laydown.media.recipe import Colorant, Recipe, Step
from laydown.plan.run.runs import at_value
from laydown.reference.thresholds import thresholds

LETTERS = ascii_uppercase + ascii_lowercase + digits + "-_"
"""Each six ticks in an address."""
MILLI = 1000
"""Costs are written in thousandths, values in tenths."""
PageCode = tuple[str, str, tuple[Colorant, ...]]
"""Where the page stands on the web; and a kit that is ticked when it is opened by this code: its
name, empty for none, and what it holds."""
PageWay = tuple[Way, tuple[str, ...], str, str]
"""One way to a color; what to do, a sentence a step; what stays off, and how sure that is, as
sentences."""


@dataclass(frozen=True, slots=True, eq=False)
class PageList:
    """What is listed for a color."""

    ways: tuple[PageWay, ...]
    """The one to be taken where one can, first."""
    exact: float
    """Up to what cost all ways are listed."""
    pairs: BestPairs = NO_PAIRS
    """Of pairs of colorants those that are not, however much they cost."""
    named: bool = False
    """Whether the first way is to lay the colorant by whose name the color was asked."""


@dataclass(frozen=True, slots=True, eq=False)
class PageColor:
    """A wanted color."""

    target: Target
    note: str
    """As the lesson has them."""
    listed: PageList
    near: tuple[Colorant, ...] = ()
    """Colorants near to it, at whose presence recipes count as going against the sense of the
    trade; empty where that is the same for all."""
    apart: PageList | None = None
    """What is listed where none of those is at hand; None where there are none."""


@dataclass(frozen=True, slots=True, eq=False)
class AnswerPage:
    """What a page holds."""

    title: str
    """Of the lesson or the range."""
    paper: str
    paper_lab: FloatArray
    """What is colored on, and its color, shape (3,)."""
    notes: tuple[str, ...]
    """Sentences for its head."""
    colorants: tuple[tuple[Colorant, FloatArray], ...]
    """All that students may own, each with its color in one coat, shape (3,)."""
    colors: tuple[PageColor, ...]
    bound: float
    """Up to how much above the best of all a way may cost to be sure to be listed."""
    every_pair: bool = False
    """Whether of two steps all are listed, whatever they cost; else up to twice as much above."""
    further: str = ""
    """What is said of a color that a kit can't come near: what isn't listed that may be nearer."""
    unreached: tuple[str, ...] = ()
    """Names of colors that nothing in it comes near."""
    lesson: str = ""
    """The text of the lesson's file, to be read back; empty for none."""
    codes: tuple[PageCode, ...] = ()


Thing = TypeVar("Thing", bound=Hashable)


class _Numbered(dict[Thing, int]):
    """Numbers things in the order in which they are first asked for."""

    def __missing__(self, key: Thing) -> int:
        return self.setdefault(key, len(self))


def ticked_address(address: str, ticked: Iterable[int], count: int) -> str:
    """Return the address of a page with some of its `count` colorants ticked, as its script does.

    >>> ticked_address("https://example.org/a.html", [0, 7], 12)
    'https://example.org/a.html#own=BC'
    """
    places = set(ticked)
    sixes = (sum(1 << bit for bit in range(6) if n + bit in places) for n in range(0, count, 6))
    return f"{address}#own={''.join(LETTERS[six] for six in sixes)}"


def _code(page: AnswerPage, code: PageCode) -> tuple[str, str, str]:
    """Draw an address as a QR code (ISO/IEC 18004); return it with its name and the address."""
    address, name, kit = code
    if kit:
        ticked = (n for n, (colorant, _) in enumerate(page.colorants) if colorant in kit)
        address = ticked_address(address, ticked, len(page.colorants))
    drawn = segno.make_qr(address, error="m").svg_inline(border=4, dark="#000", light="#fff")
    return drawn, name, address


def write_page(page: AnswerPage) -> bytes:
    """Write a page as HTML, the same bytes for the same page."""
    folder = files("laydown.documents") / "templates"
    style, script = ((folder / f"answer_page.{end}").read_text("utf-8") for end in ("css", "js"))
    made = template("answer_page").render(
        page=page,
        policy=f"default-src 'none'; script-src '{_sha256(script)}'; style-src '{_sha256(style)}';"
        " base-uri 'none'; form-action 'none'",
        style=style,
        script=script,
        codes=[_code(page, one) for one in page.codes],
        in_page=IN_PAGE,
        lesson=_folded(page.lesson),
        data=_folded(dumps(_data(page))),
    )
    return legible(made).encode()


def _sha256(text: str) -> str:
    return f"sha256-{b64encode(sha256(text.encode()).digest()).decode()}"


def _folded(text: str) -> str:
    return b64encode(zlib.compress(legible(text).encode(), 9)).decode()


def _data(page: AnswerPage) -> dict[str, object]:
    """Return what the script reads, see docs/decisions/lessons.md."""
    places = {colorant.label: place for place, (colorant, _) in enumerate(page.colorants)}
    ranges, words = _Numbered[str](), _Numbered[str]()
    steps = _Numbered[tuple[tuple[int, ...], str]]()
    order = _by_hue([lab for _, lab in page.colorants])
    markers = [
        [c.name, c.code, ranges[c.range], screen_color(lab), round(_value(lab), 1), order[place]]
        for place, (c, lab) in enumerate(page.colorants)
    ]
    every = [one for c in page.colors for one in (c.listed, c.apart) if one is not None]
    pairs = PairsWritten(places, [one.pairs for one in every])

    def listed(ways: Iterable[PageWay]) -> list[list[object]]:
        return [
            [
                round(way.cost * MILLI),
                [steps[one] for one in zip(_needs(way.recipe, places), told, strict=True)],
                screen_color(way.lab),
                round(10 * _value(way.lab)),
                words[off],
                words[sure],
            ]
            for way, told, off, sure in ways
        ]

    def written(one: PageList) -> dict[str, object]:
        return {
            "exact": round(one.exact, 3),
            "named": one.named,
            "ways": listed(one.ways),
            "pairs": pairs.color(one.pairs),
        }

    colors = [
        {
            "name": color.target.name,
            "passage": color.target.passage,
            "role": color.target.role,
            "note": color.note,
            "fill": screen_color(color.target.lab),
            "value": round(_value(color.target.lab), 1),
            "listed": written(color.listed),
            "near": [places[colorant.label] for colorant in color.near],
            "apart": None if color.apart is None else written(color.apart),
        }
        for color in page.colors
    ]
    return {
        "key": f"laydown owned {sha256(chr(10).join(places).encode()).hexdigest()[:12]}",
        "further": page.further,
        "noticeable": thresholds()["noticeable"],
        "paper": screen_color(page.paper_lab),
        "ranges": list(ranges),
        "markers": markers,
        "steps": [[list(needs), said] for needs, said in steps],
        "words": list(words),
        "grays": _grays(),
        "colors": colors,
        "pairs": pairs.table(),
    }


def _grays() -> list[str]:
    """Return how values look in gray, from 0 to 10 by tenths."""
    return [screen_color(at_value(np.array([50.0, 0.0, 0.0]), tenth / 10)) for tenth in range(101)]


def _needs(recipe: Recipe, places: dict[str, int]) -> list[tuple[int, ...]]:
    """Return the places of each step's colorants; one empty step where nothing is laid."""
    laid = [
        tuple(places[part.colorant.label] for part in step.parts) if isinstance(step, Step) else ()
        for step in recipe.steps
    ]
    return laid or [()]


def _by_hue(labs: list[FloatArray]) -> list[int]:
    """Return each color's place in the order of hue; grays come last, from light to dark."""

    def key(place: int) -> tuple[bool, float]:
        L, a, b = labs[place].tolist()
        gray = is_gray(labs[place])
        return gray, -L if gray else atan2(b, a) % (2 * np.pi)

    order = sorted(range(len(labs)), key=key)
    return [order.index(place) for place in range(len(labs))]


def _value(lab: FloatArray) -> float:
    return float(value_from_lab(lab))
