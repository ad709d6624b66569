"""Lightfastness, and life on a wall, in the words of the terminal."""

from textwrap import wrap
from typing import TYPE_CHECKING

from laydown.cli.columns import columns, counted
from laydown.cli.terms import WIDTH

if TYPE_CHECKING:
    from laydown.app.forecast_life import LifeForecast, PartLife
    from laydown.app.list_lightfastness import ColorantRated, LightfastnessListed


def listed(found: "LightfastnessListed") -> str:
    """Put what is known of lightfastness into a table, and say of whom nothing is."""
    parts = []
    if found.colorants:
        rows = [_rated(one) for one in found.colorants]
        parts.append(columns(["colorant", "stated", "by", "forecast from", "plain coat"], rows))
    readings = [_read(one, i) for one in found.colorants for i in range(len(one.readings))]
    if readings:
        header = ["number", "colorant", "paper", "million lux-hours", "ultraviolet", "moved"]
        parts.append(columns([*header, "remark"], readings))
    if found.unknown:
        names = ", ".join(c.name for c in found.unknown)
        told = f"Nothing is known of {counted(len(found.unknown), 'colorant')}: {names}."
        parts.append("\n".join(wrap(told, WIDTH)))
    return "\n\n".join(parts) or "Nothing is known of lightfastness here."


def _rated(one: "ColorantRated") -> list[object]:
    light = " without ultraviolet" if one.filtered else " with it" if one.basis else ""
    return [one.colorant.label, one.stated, one.source, one.basis, one.said + light]


def _read(one: "ColorantRated", place: int) -> list[object]:
    from laydown.media.exposure import span_text

    read = one.readings[place]
    return [
        read.number,
        one.colorant.label,
        read.paper,
        span_text(read.dose),
        "kept out" if read.filtered else "in it",
        f"{read.difference:.1f}",
        read.remark,
    ]


def lives(found: "LifeForecast") -> str:
    """Put a forecast into words, what goes first at the head."""
    from laydown.app.life_report import BESIDE, life_report

    report = life_report(found)
    known = [_life(part) for part in found.parts if part.noticeable]
    header = ["part", "recipe", "goes first", "just noticeable", "clear"]
    parts = [
        report.title,
        *("\n".join(wrap(line, WIDTH)) for line in report.lead if line != BESIDE),
    ]
    if known:
        parts += [columns(header, known), "\n".join(wrap(BESIDE, WIDTH))]
    for section in report.sections[bool(known) :]:
        lines = [
            line
            for row in section.rows
            for line in wrap(f"{row.head}: {row.text}" if row.head else row.text, WIDTH - 2)
        ]
        parts.append("\n".join([section.title, *(f"  {line}" for line in lines)]))
    return "\n\n".join(parts)


def _life(part: "PartLife") -> list[object]:
    from laydown.app.life_report import part_name
    from laydown.media.recipe import format_recipe

    first = f"{part.first.rpartition('/')[2]} ({part.because})"
    recipe = format_recipe(part.recipe)
    return [part_name(part), recipe, first, part.noticeable_said, part.clear_said]
