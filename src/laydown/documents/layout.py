"""Where things stand on a printed chart, in millimetres; nothing here draws or measures type.

The origin is the page's top left corner and y runs downwards, as one reads.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType

PAGES = MappingProxyType({"A4": (210.0, 297.0), "Letter": (215.9, 279.4)})
"""Width and height [mm]: ISO 216, and ANSI/ASME Y14.1 size A (8.5 by 11 inches)."""
MARGIN = 14.0
"""Paper left bare at each side [mm]; home printers can't reach the last 3 to 6."""
HEAD = 13.0
"""Bare paper above the text, the page's running head in it [mm]."""
FOOT = 17.0
"""Bare paper below the text, the page's foot in it [mm]."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle: its top left corner, width and height [mm]."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Its lower edge."""
        return self.y + self.height

    def moved(self, x: float, y: float) -> "Box":
        """Return it moved to the right and down."""
        return Box(self.x + x, self.y + y, self.width, self.height)


def text_area(page: tuple[float, float]) -> Box:
    """Return the part of a page that the chart fills.

    Examples
    --------
    >>> text_area(PAGES["A4"])
    Box(x=14.0, y=13.0, width=182.0, height=267.0)
    """
    width, height = page
    return Box(MARGIN, HEAD, width - 2 * MARGIN, height - HEAD - FOOT)


@dataclass(frozen=True, slots=True)
class Card:
    """The gray card of a row, with the patches mounted on it; all boxes relative to the row.

    Parameters
    ----------
    card
        The neutral gray that colors are judged against.
    ground
        The paper's own color, under the two patches.
    wanted, predicted
        The two colors, edge to edge: a difference shows best where they touch.
    wanted_gray, predicted_gray
        Their values as grays, edge to edge too.
    trial
        Left unprinted, to color in.
    """

    card: Box
    ground: Box
    wanted: Box
    predicted: Box
    wanted_gray: Box
    predicted_gray: Box
    trial: Box


CARD = Card(
    card=Box(0.0, 0.0, 68.0, 25.0),
    ground=Box(2.5, 2.5, 30.0, 17.0),
    wanted=Box(4.5, 4.5, 13.0, 13.0),
    predicted=Box(17.5, 4.5, 13.0, 13.0),
    wanted_gray=Box(35.0, 4.5, 6.0, 13.0),
    predicted_gray=Box(41.0, 4.5, 6.0, 13.0),
    trial=Box(49.5, 2.5, 16.0, 17.0),
)
"""The card as printed in each row [mm]."""

GAP = 4.0
"""Between the columns of a row [mm]."""
LAYERS_WIDTH = 56.0
"""Column of the drawn layers [mm]."""


@dataclass(frozen=True, slots=True)
class Columns:
    """Left edges and widths of a row's columns, relative to the text area [mm]."""

    layers: float
    layers_width: float
    words: float
    words_width: float


def columns(width: float) -> Columns:
    """Return a row's columns beside the card; what a wider page has more goes to the words.

    Examples
    --------
    >>> columns(182.0)
    Columns(layers=72.0, layers_width=56.0, words=132.0, words_width=50.0)
    """
    layers = CARD.card.width + GAP
    words = layers + LAYERS_WIDTH + GAP
    return Columns(layers, LAYERS_WIDTH, words, width - words)


@dataclass(frozen=True, slots=True)
class Block:
    """A piece of the chart that must not be parted by a page's end.

    Parameters
    ----------
    height
        What it takes up [mm].
    passage
        The number of the passage it belongs to, or -1: a page that goes on with a passage repeats
        its heading.
    heading
        Whether it is a heading, which never stands alone at a page's end.
    """

    height: float
    passage: int = -1
    heading: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """Where a block stands: its number, page, upper edge, and whether it repeats a heading."""

    block: int
    page: int
    y: float
    again: bool = False


def paginate(blocks: Sequence[Block], height: float) -> tuple[Place, ...]:
    """Put blocks on pages, in order.

    A heading goes to the next page unless the block after it fits too. Where a page's end falls
    within a passage, the passage's heading is repeated on the next page. A block higher than a page
    gets one of its own.

    Parameters
    ----------
    blocks
        From first to last; a passage's heading comes before its rows.
    height
        Of the text area [mm].

    Returns
    -------
    tuple of Place
        Blocks in order, with repeated headings between them; y from the text area's upper edge.

    Examples
    --------
    >>> rows = [Block(10, 0, True), Block(40, 0), Block(40, 0)]
    >>> [(place.block, place.page, place.again) for place in paginate(rows, 60)]
    [(0, 0, False), (1, 0, False), (0, 1, True), (2, 1, False)]
    """
    headings = {b.passage: i for i, b in enumerate(blocks) if b.heading and b.passage >= 0}
    places: list[Place] = []
    page, y = 0, 0.0
    for number, block in enumerate(blocks):
        if y > 0 and y + _with_next(blocks, number) > height:
            page, y = page + 1, 0.0
            again = headings.get(block.passage, number)
            if not block.heading and again < number:
                places.append(Place(again, page, y, again=True))
                y += blocks[again].height
        places.append(Place(number, page, y))
        y += block.height
    return tuple(places)


def _with_next(blocks: Sequence[Block], number: int) -> float:
    """Return the height of a block, of a heading's followers too up to the first that is none."""
    height = blocks[number].height
    while blocks[number].heading and number + 1 < len(blocks):
        number += 1
        height += blocks[number].height
    return height
