"""The forecast of life on a wall as a report to print."""

from collections.abc import Sequence

from laydown.app.forecast_life import LifeForecast, PartLife
from laydown.app.life_advice import Swap
from laydown.documents.report import Report, Row, Section
from laydown.media.exposure import Exposure, span_text
from laydown.media.recipe import format_recipe
from laydown.plan.life_plot import life_plot
from laydown.plan.life_words import dose_words
from laydown.plan.plots import Plot

BESIDE = (
    "“Just noticeable” is what one sees with a fresh piece held beside it; “clear” is twice that."
)
FEWEST_LINES, MOST_LINES = 2, 40
"""A plot of fewer ranges says nothing, and one of more is no page."""
FOOT = "A forecast is a range, never a promised lifetime."


def light_words(exposure: Exposure) -> str:
    """Say the light on a wall in a sentence.

    Examples
    --------
    >>> from laydown.media.exposure import Span
    >>> light_words(Exposure(Span(150.0, 150.0), filtered=True))
    '150 lux for 8 hours on 365 days a year, ultraviolet kept out'
    """
    kept = "kept out" if exposure.filtered else "in it"
    return (
        f"{span_text(exposure.lux)} lux for {exposure.hours:g} hours on {exposure.days:g} days a"
        f" year, ultraviolet {kept}"
    )


def part_name(part: PartLife | Swap) -> str:
    """Return what to call a part: its place in the picture, then its color."""
    place = " ".join(word for word in (part.passage, part.role) if word)
    return f"{place}: {part.name}" if place else part.name


def life_report(found: LifeForecast) -> Report:
    """Return the report of a forecast."""
    known = [part for part in found.parts if part.noticeable]
    unknown = [part for part in found.parts if not part.noticeable]
    lead = (
        (
            f"Colors from {found.kit} on {found.paper}, in {light_words(found.exposure)}:"
            f" {dose_words(found.yearly)} a year."
        ),
        BESIDE,
    )
    rows = tuple(_part_row(part, f"{number}. ") for number, part in enumerate(known, 1))
    sections = [Section("What goes first", rows, _plots(known))]
    if unknown:
        sections.append(Section("No forecast", tuple(_part_row(part) for part in unknown)))
    if found.swaps:
        sections.append(Section("What to lay instead", tuple(map(_swap_row, found.swaps))))
    sections.append(Section("How to show it", tuple(Row("", line) for line in found.showing)))
    sections.append(Section("What this rests on", tuple(Row("", line) for line in found.notes)))
    title = found.title if found.title == "Life on a wall" else f"Life on a wall: {found.title}"
    return Report(title, lead, tuple(s for s in sections if s.rows), FOOT)


def _plots(parts: Sequence[PartLife]) -> tuple[Plot, ...]:
    """Return the ranges of the parts that go first as a plot, as many as a page holds."""
    shown = [(part.noticeable, part.color.screen) for part in parts[:MOST_LINES] if part.noticeable]
    if len(shown) < FEWEST_LINES:
        return ()
    spans, fills = zip(*shown, strict=True)
    title = "From when to when each part changes just noticeably; hollow: beyond what is known here"
    return (life_plot(title, spans, fills),)


def _part_row(part: PartLife, number: str = "") -> Row:
    laid = format_recipe(part.recipe) or "the bare paper"
    if part.noticeable is None:
        return Row(part_name(part), f"{laid}: {part.life.why_not}.", (part.color.screen,))
    first = part.first.rpartition("/")[2]
    return Row(
        f"{number}{part_name(part)}",
        f"{laid} (value {part.color.value:.1f}, {part.color.words}). Just noticeable"
        f" {part.noticeable_said}; clear {part.clear_said}. {first} goes first ({part.because}).",
        (part.color.screen,),
    )


def _swap_row(swap: Swap) -> Row:
    name = f"{part_name(swap)}, instead of {swap.instead_of.rpartition('/')[2]}"
    if swap.recipe is None:
        return Row(name, swap.words)
    return Row(name, f"{format_recipe(swap.recipe)}. {swap.words}", box=True)
