"""The words for matches under other lights in the terminal."""

from collections.abc import Iterator
from textwrap import indent, wrap
from typing import TYPE_CHECKING

from laydown.cli.columns import columns, tenths
from laydown.cli.terms import WIDTH

if TYPE_CHECKING:
    from laydown.app.check_light import ColorUnderLights, LightChecked
    from laydown.plan.lights import LightedMatch, UnderLight


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

    recipe = format_recipe(color.check.recipe) or "nothing: the bare paper"
    lines = [f"{color.target.name}: {recipe}", f"  {verdict_words(color.check)}"]
    lines.append(indent(_lights(color.check, found), "  "))
    lines += [f"  {line}" for text in _advice(color) for line in wrap(text, WIDTH - 2)]
    return "\n".join(lines)


def _lights(check: "LightedMatch", found: "LightChecked") -> str:
    from laydown.plan.light_words import change_words, index_words

    alone = len(found.colors) == 1
    seen_by = (check.by_day, *(check.lights if alone else _moved(check)))
    rows = []
    for seen in seen_by:
        by_day = seen is check.by_day
        rows.append(
            [
                found.day.name if by_day else seen.light.name,
                "" if by_day else str(seen.holding),
                *([_look(seen)] if alone else []),
                "" if by_day else change_words(seen),
                tenths(seen.difference.delta_e),
                "" if by_day else index_words(seen),
                _accepted(seen, found),
            ]
        )
    looks = ["color wanted looks"] if alone else []
    return columns(["light", "verdict", *looks, "the match", "off", "index", ""], rows)


def _look(seen: "UnderLight") -> str:
    from laydown.color.naming import color_name
    from laydown.color.value import value_from_lab

    return f"{color_name(seen.wanted)}, value {float(value_from_lab(seen.wanted)):.1f}"


def _moved(check: "LightedMatch") -> tuple["UnderLight", ...]:
    from laydown.plan.lights import Holding

    return tuple(seen for seen in check.lights if seen.holding is not Holding.HOLDS)


def _accepted(seen: "UnderLight", found: "LightChecked") -> str:
    from laydown.app.answer_words import acceptance_words

    return acceptance_words(seen.acceptance, found.tolerance)


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
