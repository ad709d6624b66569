"""A picture's plan in the words of a terminal, with a number beside every color."""

from collections.abc import Iterator
from textwrap import wrap
from typing import TYPE_CHECKING

from laydown.cli.columns import columns, counted, tenths

if TYPE_CHECKING:
    from laydown.app.paint_plan import KitPainted, PaintingShown, PartPainted
    from laydown.app.print_plan import PrintShown
    from laydown.app.show_plan import PlanShown

WIDTH = 88


def plan_in_words(shown: "PlanShown", *, regions: bool = False) -> str:
    """Put a plan into words; with its regions where they are asked for."""
    parts = [_head(shown), _palette(shown)]
    if regions:
        parts.append(_regions(shown))
    parts.append("\n".join(line for note in shown.notes for line in wrap(note, WIDTH)))
    return "\n\n".join(parts)


def _head(shown: "PlanShown") -> str:
    levels = ", ".join(tenths(level) for level in shown.levels)
    return (
        f"“{shown.title}”, {shown.width:.0f} × {shown.height:.0f} mm:"
        f" {counted(len(shown.levels), 'value step')} ({levels} from dark to light),"
        f" {counted(len(shown.palette), 'color')}, {counted(len(shown.regions), 'region')}"
    )


def _palette(shown: "PlanShown") -> str:
    rows = [
        [
            c.number,
            c.color.words,
            tenths(c.color.value),
            c.value_step,
            f"{c.share:.1f} %",
            c.regions,
            c.color.screen,
        ]
        for c in shown.palette
    ]
    return columns(["color", "looks", "value", "step", "area", "regions", "screen"], rows)


def _regions(shown: "PlanShown") -> str:
    rows = [
        [
            r.number,
            r.palette_color,
            r.passage,
            r.role,
            tenths(r.color.value),
            f"{r.share:.1f} %",
            r.color.words,
        ]
        for r in shown.regions
    ]
    return columns(["region", "color", "passage", "role", "value", "area", "looks"], rows)


def painting_in_words(shown: "PaintingShown") -> str:
    """Put what kits make of a picture into words."""
    return "\n\n".join("\n".join(_kit(shown, kit)) for kit in shown.kits)


def print_in_words(shown: "PrintShown") -> str:
    """Put what is printed into words: on what paper, how large, and what the list holds."""
    wide, high = shown.page
    plan = shown.painting.plan
    size = f"{plan.width * shown.scale:.0f} × {plan.height * shown.scale:.0f} mm"
    sheet = f"Drawn {size} large on a sheet of {wide:.0f} × {high:.0f} mm."
    told = "\n".join(line for said in (sheet, *shown.warnings) for line in wrap(said, WIDTH))
    listed = painting_in_words(shown.painting) if shown.painting.kits else plan_in_words(plan)
    return f"{listed}\n\n{told}"


def _kit(shown: "PaintingShown", kit: "KitPainted") -> Iterator[str]:
    what = ", values alone" if kit.values_only else ""
    yield f"“{shown.plan.title}” from {kit.kit} on {kit.paper}{what}"
    yield ""
    yield columns(*(_by_value(shown, kit) if kit.values_only else _by_color(shown, kit)))
    yield ""
    yield from wrap(" ".join(_lost(kit)), WIDTH)
    for note in kit.notes:
        yield from wrap(note, WIDTH)


def _by_color(shown: "PaintingShown", kit: "KitPainted") -> tuple[list[str], list[list[object]]]:
    header = ["color", "wanted", "area", "recipe", "off", "what is off", "verdict"]
    rows = [
        [
            *_wanted(shown, part),
            tenths(part.candidate.difference.delta_e),
            part.candidate.difference.words,
            part.candidate.verdict.value,
        ]
        for part in kit.parts
    ]
    return header, rows


def _by_value(shown: "PaintingShown", kit: "KitPainted") -> tuple[list[str], list[list[object]]]:
    header = ["color", "wanted", "area", "recipe", "gives", "off in value"]
    rows = [
        [
            *_wanted(shown, part),
            f"{part.color.words}, value {tenths(part.color.value)}",
            tenths(part.candidate.difference.value),
        ]
        for part in kit.parts
    ]
    return header, rows


def _wanted(shown: "PaintingShown", part: "PartPainted") -> list[object]:
    from laydown.media.recipe import format_recipe

    color = shown.plan.palette[part.number - 1]
    return [
        part.number,
        f"{color.color.words}, value {tenths(color.color.value)}",
        f"{color.share:.1f} %",
        format_recipe(part.candidate.prediction.recipe) or "leave the paper bare",
    ]


def _lost(kit: "KitPainted") -> Iterator[str]:
    lost = kit.lost
    yield (
        f"Lost: over the picture the kit's colors are off by {lost.mean:.1f} on the mean, and by "
        f"{lost.worst:.1f} at most (CIEDE2000), in color {lost.worst_color}; by "
        f"{lost.mean_value:.1f} in value. {100 * lost.steps_kept:.0f} % of the area stays in its "
        f"value step."
    )
    if lost.out_of_reach:
        yield f"Out of reach: {_numbers(lost.out_of_reach)}."
    if lost.merged:
        pairs = "; ".join(f"{one} and {other}" for one, other in lost.merged)
        yield f"No longer told apart: {pairs}."
    yield f"Planning alone, before any kit, flattens the picture by {lost.flattened:.1f}."


def _numbers(numbers: tuple[int, ...]) -> str:
    kind = "color" if len(numbers) == 1 else "colors"
    return f"{kind} {', '.join(str(number) for number in numbers)}"
