"""The words for matches under other lights in the terminal."""

from collections.abc import Iterator
from textwrap import wrap
from typing import TYPE_CHECKING

from laydown.cli.columns import columns, tenths
from laydown.cli.terms import WIDTH

if TYPE_CHECKING:
    from laydown.app.check_light import ColorUnderLights, LightChecked
    from laydown.plan.lights import UnderLight


def checked(found: "LightChecked") -> str:
    """Say which matches hold: a table of all, then what to know of those that break."""
    from laydown.plan.light_words import summary_words

    head = f"“{found.title}” from {found.kit} on {found.paper}, matched for {found.day.name}"
    parts = [head]
    if len(found.colors) > 1:
        parts += [table(found), summary_words([color.check for color in found.colors])]
    parts += [_one(color, found) for color in found.colors if _worth_telling(color, found)]
    parts += ["\n".join(wrap(note, WIDTH)) for note in found.notes]
    return "\n\n".join(parts)


def table(found: "LightChecked") -> str:
    """Lay out every color's verdict under every light, with how far off it is there."""
    rows = [
        [color.target.name, tenths(color.check.by_day.difference.delta_e)]
        + [f"{seen.holding} {tenths(seen.difference.delta_e)}" for seen in color.check.lights]
        + ["estimated" if color.estimated else ""]
        for color in found.colors
    ]
    return columns(["color", "by day", *(one.short for one in found.lights), ""], rows)


def _worth_telling(color: "ColorUnderLights", found: "LightChecked") -> bool:
    from laydown.plan.lights import Holding

    return len(found.colors) == 1 or color.check.holding is Holding.BREAKS


def _one(color: "ColorUnderLights", found: "LightChecked") -> str:
    from laydown.media.recipe import format_recipe
    from laydown.plan.light_words import verdict_words
    from laydown.plan.lights import Holding

    recipe = format_recipe(color.check.recipe) or "nothing: the bare paper"
    alone = len(found.colors) == 1
    lines = [f"{color.target.name}: {recipe}", *_wrapped(verdict_words(color.check))]
    for seen in (color.check.by_day, *color.check.lights):
        if alone or seen is color.check.by_day or seen.holding is not Holding.HOLDS:
            lines += _under(seen, found)
    lines += [line for text in _advice(color) for line in _wrapped(text)]
    return "\n".join(lines)


def _under(seen: "UnderLight", found: "LightChecked") -> Iterator[str]:
    """Say what is seen under one light: its verdict, the looks of both, and what is off."""
    from laydown.app.light_report import look_words, off_words
    from laydown.plan.light_words import change_words

    by_day = seen.light == found.day
    yield f"  {seen.light.name} ({seen.light.cie})" + ("" if by_day else f": {seen.holding}")
    change = "" if by_day else f"; the match {change_words(seen)}"
    yield from _wrapped(f"The color wanted looks {look_words(seen)}{change}.", "    ")
    yield from _wrapped(f"Off: {off_words(seen, found.tolerance)}.", "    ")


def _wrapped(text: str, margin: str = "  ") -> list[str]:
    return wrap(text, WIDTH, initial_indent=margin, subsequent_indent=margin)


def _advice(color: "ColorUnderLights") -> Iterator[str]:
    from laydown.media.recipe import format_recipe
    from laydown.plan.light_words import instead_words, verdict_sentence

    if color.instead and color.instead_check:
        day = color.instead_check.by_day.difference
        yield (
            f"Instead: {format_recipe(color.instead.prediction.recipe)}."
            f" {verdict_sentence(color.instead_check)}; by day {day.words}"
            f" ({day.delta_e:.1f})."
        )
    if color.steadiest:
        yield instead_words(color.steadiest)
    if color.estimated:
        yield f"Estimated, since {'; '.join(color.estimated)}."
