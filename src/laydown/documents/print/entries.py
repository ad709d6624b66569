"""A chart in words and screen colors, the same for paper and for the screen.

Numbers are rounded here, once, to what is known of them.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import sqrt
from typing import TypeAlias

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance
from laydown.color.naming import color_name
from laydown.color.screen import is_on_screen, screen_color
from laydown.color.value import value_from_lab
from laydown.match.acceptance import acceptance_words
from laydown.match.outcome import Candidate, Match, Origin, Target, Verdict
from laydown.match.words import NOTHING_OFF
from laydown.media.laydown import Wait
from laydown.media.legible import capital
from laydown.media.recipe import Colorant, Medium, Recipe, Step
from laydown.media.recipe_words import WHILE_WET, name_words, recipe_words, step_words
from laydown.plan.chart import Chart, notes_for_all, supplies
from laydown.plan.notebook import difference_range, value_margin
from laydown.reference.thresholds import thresholds

TIGHT = "\u00a0"
"""A space at which no line breaks, between a sign and its number."""
NUMBERS = re.compile(r"#[0-9a-f]{3,6}$|(lab|xyz):", re.I)
"""A name that is only a color in numbers."""
AMOUNTS = (
    (r"a quarter of a value step too", "a little too"),
    (r"(half a value step|three quarters of a value step) too", "too"),
    (r"(one value step|a step and [a-z ]+ of value|\S+ value steps) too", "much too"),
)
"""How far off in value, as it is said beside two grays that show it."""
MOST_ALTERNATIVES = 1
"""Further recipes shown beside the best and the single one; a chart is no list of everything."""


@dataclass(frozen=True, slots=True)
class ShownColor:
    """A color as it is shown and said."""

    fill: str
    """The nearest color of a screen, ``#rrggbb``."""
    inside: bool
    """Whether a screen can show it truly."""
    gray: str
    """The gray of its value, ``#rrggbb``."""
    words: str
    numbers: str
    """Value and CIELAB, with the digits that are known."""


Layer: TypeAlias = tuple[str, tuple[str, ...]]
"""One step as it is drawn: what to do, such as “2 coats Kelp”; and its color alone on the paper,
then with each later step over it, ``#rrggbb``, or none where nobody worked them out."""


def own_fill(layer: Layer) -> str:
    """Return a step's color alone on the paper; white where it is unknown."""
    return layer[1][0] if layer[1] else "#ffffff"


def layers_of(recipe: Recipe, strokes: Sequence[FloatArray]) -> tuple[Layer, ...]:
    """Return a recipe's layers, bottom first.

    The strokes are as `plan.chart.Chart.layers` has them for the recipe; empty where unknown.
    """
    known: Sequence[Iterable[FloatArray]] = strokes or [()] * len(recipe.steps)
    below = (None, *recipe.steps)[: len(recipe.steps)]
    return tuple(
        (step_words(step, under), tuple(screen_color(lab) for lab in labs))
        for step, under, labs in zip(recipe.steps, below, known, strict=True)
    )


def stroke_areas(
    layers: Sequence[Layer],
) -> Iterator[tuple[tuple[float, float, float, float], str]]:
    """Yield what is to be painted, in order: x, y, width and height in a unit square, and the fill.

    Each stroke begins a little to the right of and below the one before, so that its own color
    stays bare at two corners, and steps that follow each other overlap in every way they can.

    >>> list(stroke_areas([("1 coat Kelp", ("#334433",))]))
    [((0.0, 0.0, 1.0, 1.0), '#334433')]
    """
    count = len(layers)
    offset = 0.0 if count < 2 else 1.0 / (count + 1.5)
    side = 1.0 - (count - 1) * offset
    for over in range(count):
        for first, (_, fills) in enumerate(layers[: count - over]):
            if over < len(fills):
                start = (first + over) * offset
                reach = first * offset + side - start
                yield (start, start, reach, reach), fills[over]


@dataclass(frozen=True, slots=True)
class Entry:
    """A row of a chart, ready to be set."""

    number: int
    """From 1, in the order of the chart."""
    name: str
    passage: str
    role: str
    wanted: ShownColor
    predicted: ShownColor
    layers: tuple[Layer, ...]
    """The recipe, bottom first."""
    recipe: str
    """The same in one line."""
    instructions: tuple[str, ...]
    """What to do, one sentence a step."""
    verdict: Verdict
    off: str
    """What stays off, as a sentence, value first."""
    in_short: str
    """The same, for whoever colors; empty where nothing stays off that they would mind."""
    sure: str
    """The same in numbers, with their uncertainty."""
    chance: str
    """Of an observer's acceptance, as a sentence."""
    single: str
    """What one colorant alone does, as a sentence; empty where the recipe has no more than one."""
    others: tuple[str, ...]
    """Further recipes, one sentence each."""
    mud: str
    """The warning with its cleaner path, or empty."""
    notes: tuple[str, ...]
    """What else holds for this row alone."""


def entries(chart: Chart) -> tuple[Entry, ...]:
    """Put every match of a chart into words and screen colors."""
    shared = frozenset(notes_for_all(chart))
    layers = chart.layers or ((),) * len(chart.matches)
    rows = zip(chart.matches, layers, strict=True)
    return tuple(entry_of(n, match, labs, shared) for n, (match, labs) in enumerate(rows, start=1))


def entry_of(
    number: int, match: Match, strokes: Sequence[FloatArray], shared: frozenset[str]
) -> Entry:
    """Put one match into words and screen colors, but for notes that are said elsewhere (`shared`).

    The strokes are as `Chart.layers` has them for the match; empty where unknown.
    """
    best, target = match.best, match.target
    wanted = shade(target.lab, covariance=target.covariance, rough=target.origin is Origin.SCREEN)
    predicted = shade(best.prediction.lab, covariance=best.prediction.covariance)
    is_longer = match.single is not best and best.prediction.recipe.length > 1
    told = (best.prediction.recipe, match.single.prediction.recipe)
    others = [other for other in match.alternatives if other.prediction.recipe not in told]
    notes = [note for note in dict.fromkeys(match.notes) if note not in shared]
    return Entry(
        number=number,
        name=name_of(target),
        passage=target.passage,
        role=target.role,
        wanted=wanted,
        predicted=predicted,
        layers=layers_of(best.prediction.recipe, strokes),
        recipe=capital(recipe_words(best.prediction.recipe)),
        instructions=best.instructions,
        verdict=best.verdict,
        off=f"{capital(best.difference.words)}.",
        in_short=off_in_short(best),
        sure=_sure(target, best),
        chance=f"{capital(acceptance_words(best.acceptance))}.",
        single=f"One colorant alone: {_brief(match.single)}" if is_longer else "",
        others=tuple(map(_brief, others[:MOST_ALTERNATIVES])),
        mud=best.mud.words if best.mud else "",
        notes=(*_notes_on_screens(wanted, predicted), *notes),
    )


def name_of(target: Target) -> str:
    """Return what to call a wanted color on paper: its name, or how it looks where that is numbers.

    >>> name_of(Target("lab:45,-4,-38", np.array([45.0, -4.0, -38.0])))
    'moderate blue'
    """
    if NUMBERS.match(target.name):
        return color_name(target.lab)
    return name_words(target.name)


def shade(
    lab: FloatArray, *, covariance: FloatArray | None = None, rough: bool = False
) -> ShownColor:
    """Put a color, shape (3,), into words, numbers and the nearest a screen can do.

    Without a covariance it is known for certain. Where it is rough, no digit after the point is
    known, whatever the covariance says.
    """
    spread = sqrt(float(np.trace(covariance)) / 3.0) if covariance is not None else 0.0
    digits = 0 if rough or spread >= 0.5 else 1
    told = ", ".join(number(float(v), digits) for v in lab)
    value = number(float(value_from_lab(lab)), 1)
    margin = value_margin(lab, covariance) if covariance is not None else 0.0
    strays = f" ±{TIGHT}{max(margin, 0.1):.1f}" if margin > 0.01 else ""
    return ShownColor(
        fill=screen_color(lab),
        inside=is_on_screen(lab),
        gray=screen_color(np.array([min(float(lab[0]), 100.0), 0.0, 0.0])),
        words=color_name(lab),
        numbers=f"value {value}{strays}, Lab {told}",
    )


def paper_shade(chart: Chart) -> ShownColor:
    """Return the color of a chart's paper."""
    return shade(lab_from_reflectance(chart.paper.reflectance))


def number(value: float, digits: int) -> str:
    """Write a number with a true minus sign, and never a minus before zero.

    >>> number(-0.04, 1), number(-3.25, 1), number(7.0, 0)
    ('0.0', '−3.2', '7')
    """
    text = f"{value:.{digits}f}"
    if float(text) == 0.0:
        return text.lstrip("-")
    return text.replace("-", "−")


def span(low: float, high: float) -> str:
    """Write a range of differences, to one digit after the point only where it is narrow.

    >>> span(1.2, 3.9), span(0.31, 0.94), span(2.0, 2.4)
    ('1 to 4', '0.3 to 0.9', '2.0 to 2.4')
    """
    digits = 1 if high - low < 1.0 else 0
    ends = f"{low:.{digits}f}", f"{high:.{digits}f}"
    return ends[0] if ends[0] == ends[1] else " to ".join(ends)


def _sure(target: Target, best: Candidate) -> str:
    seen = best.prediction
    margin = max(value_margin(seen.lab, best.covariance), 0.1)
    steps = best.difference.value
    sign = "+" if round(steps, 1) > 0 else ""
    low, high = difference_range(target.lab, seen.lab, best.covariance)
    return f"Value {sign}{number(steps, 1)} ±{TIGHT}{margin:.1f}; ΔE likely {span(low, high)}."


def off_in_short(best: Candidate) -> str:
    """Say what stays off, for whoever colors: without steps of value; empty where nothing does."""
    off = best.difference.words
    if best.verdict is Verdict.SAME or off == NOTHING_OFF:
        return ""
    for amount, plain in AMOUNTS:
        off = re.sub(amount, plain, off)
    return f"Will be {off}."


def _brief(candidate: Candidate) -> str:
    far = candidate.difference.delta_e
    shown = f"{far:.0f}" if far >= 1.0 else "under 1"
    recipe = recipe_words(candidate.prediction.recipe)
    return f"{recipe} – {candidate.difference.words} (ΔE{TIGHT}{shown})."


def _notes_on_screens(wanted: ShownColor, predicted: ShownColor) -> tuple[str, ...]:
    which = {
        (False, True): "The wanted color is",
        (True, False): "The predicted color is",
        (False, False): "Both colors are",
    }.get((wanted.inside, predicted.inside))
    if which is None:
        return ()
    return (f"{which} beyond what screens and most printers show: the patch is the nearest.",)


TOOLS = {Medium.MARKER: "marker", Medium.PENCIL: "pencil", Medium.WASH: "pan"}
"""What a colorant of a medium is called."""
TO_LAY = (
    "Each bold name is a color of the picture. Under it stands what to lay: the top line first, the"
    " next one over it. The number says how often to fill the whole shape."
)
DRYING = "Let it dry each time"
TO_COMPARE = "The grays show only how light or dark. Each row has, from left to right:"
"""How to read a row, once for the whole chart."""
KEYS = (
    *("wanted", "you get", "wanted, in gray", "you get, in gray"),
    *("try it here first", "beside each line: what it gives by itself on bare paper"),
)
"""What each patch of a row is: the two colors, their grays, the box, and the small framed one."""


def reading(chart: Chart) -> str:
    """Say how to read a row and what to do; of drying only where something needs it."""
    steps = [step for match in chart.matches for step in match.best.prediction.recipe.steps]
    laid = [step for step in steps if isinstance(step, Step)]
    dries = any(step.colorant.medium is not Medium.PENCIL for step in laid)
    wet = any(step.laydown.wait is Wait.WET for step in laid)
    drying = f"{DRYING}{f', unless it says “{WHILE_WET}”' * wet}." if dries else ""
    return " ".join(filter(None, (TO_LAY, drying, TO_COMPARE)))


def to_take_out(chart: Chart) -> tuple[str, str]:
    """Say what to take out, and which; nothing where nothing is laid."""
    needed = [colorant for colorant, *_ in supplies(chart.matches)]
    if not needed:
        return "", ""
    count = Counter(TOOLS[colorant.medium] for colorant in needed)
    told = " and ".join(f"{many} {one}{'s' * (many > 1)}" for one, many in count.items())
    return f"Take out {told}:", f"{', '.join(colorant.name for colorant in needed)}."


def sample(rows: Sequence[Entry]) -> Entry:
    """Return the row whose patches show best how to read one: wanted and given differ the most."""

    def apart(row: Entry) -> int:
        sides = (bytes.fromhex(color.fill[1:]) for color in (row.wanted, row.predicted))
        return sum(abs(one - other) for one, other in zip(*sides, strict=True))

    return max([row for row in rows if row.layers] or rows, key=apart)


def supply_words(colorant: Colorant, recipes: int, coats: int) -> tuple[str, str]:
    """Say what a colorant that is needed is called, and what it is and is needed for."""
    uses = f"{recipes} recipe{'s' * (recipes != 1)}, {coats} coat{'s' * (coats != 1)}"
    code = f" {colorant.code}" if colorant.code else ""
    return f"{colorant.name}{code}", f"{colorant.range}, {colorant.medium}; {uses}"


MOST_SWATCHES = 6
"""How many next swatches a chart names: an evening's worth."""
INVENTED = "Invented data"
"""Said on every page of a chart whose notes say that its data is made up."""
NO_ROWS = "There are no colors in this chart yet."


def lead(chart: Chart) -> str:
    """Say what the chart answers."""
    return (
        f"What to lay from {chart.kit} on {chart.paper.name} to come as near as its colorants"
        " allow: value first, then hue, then chroma."
    )


def tolerance(chart: Chart) -> str:
    """Say how close is close enough here."""
    limit = thresholds().get(f"tolerance {chart.tolerance}")
    far = f": half of observers accept a difference of ΔE {limit:g} (CIEDE2000)" if limit else ""
    return f"Tolerance “{chart.tolerance}”{far}."


def counts(rows: tuple[Entry, ...]) -> str:
    """Say how many colors came out how.

    >>> counts(())
    'There are no colors in this chart yet.'
    """
    if not rows:
        return NO_ROWS
    found = Counter(row.verdict for row in rows)
    told = ", ".join(f"{found[verdict]} {verdict}" for verdict in Verdict if found[verdict])
    return f"{len(rows)} color{'s' if len(rows) != 1 else ''}: {told}."


def whole_notes(chart: Chart) -> tuple[str, ...]:
    """Return what holds for every row, with what is to be said of the paper."""
    notes = list(notes_for_all(chart))
    if float(chart.paper.reflectance.max()) > 1.0:
        notes.append(
            f"{chart.paper.name} glows under light with ultraviolet in it (it reflects more than"
            " falls on it in some bands): its color changes with the light more than most."
        )
    if not chart.paper.measured and not any("not measured" in note for note in notes):
        notes.append("The paper itself was not measured: a usual white is assumed.")
    return tuple(notes)


def invented(notes: Sequence[str]) -> str:
    """Return what every page says where a note says that the data is invented; else nothing."""
    return INVENTED if any("invented" in note.casefold() for note in notes) else ""


def next_swatches(chart: Chart) -> tuple[str, ...]:
    """Return the few swatches that would make most rows surer, the most asked for first.

    What each row would gain from its own swatch is left out: the sums differ from row to row.
    """
    told = [match.next_swatch.partition(" Expected:")[0] for match in chart.matches]
    asked = Counter(text for text in told if text)
    return tuple(text for text, _ in asked.most_common(MOST_SWATCHES))


def passages(rows: tuple[Entry, ...]) -> tuple[tuple[str, tuple[Entry, ...]], ...]:
    """Group rows that follow each other under their passage; one heading for those without."""
    groups: list[tuple[str, list[Entry]]] = []
    for row in rows:
        if not groups or groups[-1][0] != row.passage:
            groups.append((row.passage, []))
        groups[-1][1].append(row)
    return tuple((passage, tuple(group)) for passage, group in groups)


def passage_title(passage: str, *, alone: bool) -> str:
    """Return a passage's heading; empty where no color of the chart belongs to any."""
    return passage or ("" if alone else "Other colors")
