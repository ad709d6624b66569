"""Which matches hold under other lights, as a report to print and as a table of numbers."""

from collections.abc import Iterator

from laydown.app.answer_words import acceptance_words
from laydown.app.check_light import ColorUnderLights, LightChecked
from laydown.color.arrays import FloatArray
from laydown.color.light_names import DAY
from laydown.color.naming import color_name
from laydown.color.screen import screen_color
from laydown.color.value import value_from_lab
from laydown.documents.cautions import SHOWN_COLORS
from laydown.documents.csv_table import write_csv
from laydown.documents.report import Report, Row, Section
from laydown.documents.report_grid import Cell, Grid, GridLine
from laydown.media.recipe import format_recipe
from laydown.plan.light_words import (
    change_words,
    index_words,
    instead_words,
    summary_words,
    verdict_sentence,
    verdict_words,
)
from laydown.plan.lights import Holding, UnderLight

HOW_TO_READ = (
    (
        "Each pair of patches is the color wanted and, to its right, the match, as an eye used to"
        " that light sees them; under it how far apart they are there (CIEDE2000), and both values."
    ),
    (
        "Holds: the light alone does nothing one would notice. Drifts: one sees it, and it can be"
        " borne. Breaks: off by more than the tolerance there, though by day it wasn't; or, where"
        " it was by day, noticeably further off."
    ),
    (
        "The index is the special metamerism index (ISO 18314-4; CIE 15) from daylight D50 to the"
        " light: how far the pair comes apart once what is off by day is taken out. The range holds"
        " it 80 times in 100."
    ),
)
COLUMNS = (
    *("passage", "role", "name", "recipe", "light", "cie", "verdict", "off", "what_is_off"),
    *("apart", "index", "index_low", "index_high", "acceptance", "wanted_L", "wanted_a"),
    *("wanted_b", "wanted_value", "match_L", "match_a", "match_b", "match_value"),
    *("instead", "estimated", "kit", "paper", "tolerance"),
)


def light_report(found: LightChecked) -> Report:
    """Return the report of a check."""
    moved = [color for color in found.colors if color.steadiest]
    sections = [
        Section("Which matches hold", grid=_grid(found)),
        Section(
            "Those that don't, and what to lay", tuple(r for c in moved for r in _rows(c, found))
        ),
        Section("The lights", tuple(_lights(found))),
        Section("How to read it", tuple(Row("", text) for text in (*HOW_TO_READ, *found.notes))),
    ]
    lead = (
        (
            f"From {found.kit} on {found.paper}, matched for {found.day.name} ({found.day.cie}),"
            f" tolerance “{found.tolerance}”."
        ),
        _summary(found),
    )
    title = f"{found.title}, under other lights"
    return Report(title, lead, tuple(s for s in sections if s.rows or s.grid), SHOWN_COLORS)


def _summary(found: LightChecked) -> str:
    checks = [color.check for color in found.colors]
    return summary_words(checks) if len(checks) > 1 else f"It {verdict_words(checks[0])}."


def _grid(found: LightChecked) -> Grid:
    names = tuple(f"{one.short} ({one.cie})" for one in (found.day, *found.lights))
    return Grid(names, tuple(_line(color) for color in found.colors))


def _line(color: ColorUnderLights) -> GridLine:
    place = " ".join(word for word in (color.target.passage, color.target.role) if word)
    recipe = format_recipe(color.check.recipe) or "the bare paper"
    remark = f"{place}: {recipe}" if place else recipe
    remark += " (estimated)" if color.estimated else ""
    cells = (_cell(color.check.by_day, "by day"), *map(_cell_of, color.check.lights))
    return GridLine(color.target.name, remark, cells)


def _cell_of(seen: UnderLight) -> Cell:
    return _cell(seen, str(seen.holding))


def _cell(seen: UnderLight, word: str) -> Cell:
    patches = (_fill(seen.wanted), _fill(seen.lab))
    strong = word == Holding.BREAKS
    values = " / ".join(f"{float(value_from_lab(lab)):.1f}" for lab in (seen.wanted, seen.lab))
    return Cell((word, f"{seen.difference.delta_e:.1f} off", f"value {values}"), patches, strong)


def _fill(lab: FloatArray) -> str:
    return screen_color(lab).hex


def _rows(color: ColorUnderLights, found: LightChecked) -> Iterator[Row]:
    told = f"{verdict_sentence(color.check)}."
    if color.estimated:
        told += f" Estimated, since {'; '.join(color.estimated)}."
    yield Row(color.target.name, told)
    for seen in color.check.lights:
        if seen.holding is not Holding.HOLDS:
            yield Row("", _told(seen, found), (_fill(seen.wanted), _fill(seen.lab)))
    if color.steadiest:
        yield Row("", _instead(color), box=color.instead is not None)


def look_words(seen: UnderLight) -> str:
    """Say how the color wanted looks under a light, to an eye used to it."""
    return f"{color_name(seen.wanted)}, value {float(value_from_lab(seen.wanted)):.1f}"


def off_words(seen: UnderLight, tolerance: str) -> str:
    """Say all that is off under a light, the index, and how likely the match is accepted there."""
    index = "" if seen.light.cie == DAY else f" index {index_words(seen)};"
    return (
        f"{seen.difference.words} ({seen.difference.delta_e:.1f});{index}"
        f" {acceptance_words(seen.acceptance, tolerance)}"
    )


def _told(seen: UnderLight, found: LightChecked) -> str:
    return (
        f"Under the {seen.light.short} ({seen.light.cie}) the color wanted looks"
        f" {look_words(seen)}; the match {change_words(seen)}. Off there:"
        f" {off_words(seen, found.tolerance)}."
    )


def _instead(color: ColorUnderLights) -> str:
    said = instead_words(color.steadiest) if color.steadiest else ""
    if not (color.instead and color.instead_check):
        return said
    return (
        f"Instead: {format_recipe(color.instead.prediction.recipe)}."
        f" {verdict_sentence(color.instead_check)}. {said}"
    )


def _lights(found: LightChecked) -> Iterator[Row]:
    for one in (found.day, *found.lights):
        yield Row(f"{one.name} ({one.cie})", f"{one.kind}.")


def light_csv(found: LightChecked) -> str:
    """Return a check as CSV (RFC 4180), one line for each color and light, daylight first."""
    rows = (
        _cells(color, seen, found)
        for color in found.colors
        for seen in (color.check.by_day, *color.check.lights)
    )
    return write_csv(COLUMNS, ([row[column] for column in COLUMNS] for row in rows))


def _cells(color: ColorUnderLights, seen: UnderLight, found: LightChecked) -> dict[str, str]:
    low, high = seen.index_range
    instead = format_recipe(color.instead.prediction.recipe) if color.instead else ""
    by_day = seen is color.check.by_day
    return {
        "passage": color.target.passage,
        "role": color.target.role,
        "name": color.target.name,
        "recipe": format_recipe(color.check.recipe),
        "light": seen.light.name,
        "cie": seen.light.cie,
        "verdict": "by day" if by_day else str(seen.holding),
        "off": f"{seen.difference.delta_e:.1f}",
        "what_is_off": seen.difference.words,
        "apart": "" if by_day else seen.apart,
        "index": "" if by_day else f"{seen.index:.1f}",
        "index_low": "" if by_day else f"{low:.1f}",
        "index_high": "" if by_day else f"{high:.1f}",
        "acceptance": f"{seen.acceptance:.2f}",
        **_numbers("wanted", seen.wanted),
        **_numbers("match", seen.lab),
        "instead": instead,
        "estimated": "; ".join(color.estimated),
        "kit": found.kit,
        "paper": found.paper,
        "tolerance": found.tolerance,
    }


def _numbers(which: str, lab: FloatArray) -> dict[str, str]:
    cells = {f"{which}_{axis}": f"{number:z.1f}" for axis, number in zip("Lab", lab, strict=True)}
    return {**cells, f"{which}_value": f"{float(value_from_lab(lab)):.1f}"}
