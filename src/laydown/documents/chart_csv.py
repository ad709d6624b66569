"""A chart as CSV, for a spreadsheet: one line a color, numbers apart from words."""

from laydown.color.arrays import FloatArray
from laydown.color.naming import color_name
from laydown.color.value import value_from_lab
from laydown.documents.csv_table import write_csv
from laydown.match.outcome import Candidate, Match
from laydown.media.recipe import Recipe, format_recipe
from laydown.plan.chart import Chart
from laydown.plan.sureness import difference_range, value_margin

COLUMNS = (
    *("number", "passage", "role", "name", "verdict", "off", "recipe", "instructions"),
    *("acceptance", "delta_e", "delta_e_low", "delta_e_high", "value_off", "value_margin"),
    *("hue_off", "chroma_off", "wanted_L", "wanted_a", "wanted_b", "wanted_value", "wanted_name"),
    *("predicted_L", "predicted_a", "predicted_b", "predicted_value", "predicted_name"),
    *("single", "single_delta_e", "mud", "cleaner", "tolerance", "kit", "paper", "notes"),
)
"""In their order."""


def chart_csv(chart: Chart) -> str:
    """Write a chart as CSV (RFC 4180), one line for each match.

    Recipes are in the form one types, with ranges where the chart uses more than one. Numbers have
    the digits that are known: CIELAB, values and ΔE one after the point, chances two. Text that
    a spreadsheet would take for a formula gets an apostrophe before it.

    Parameters
    ----------
    chart
        With its matches in order.

    Examples
    --------
    ``chart_csv(chart).splitlines()[0]`` names the columns.
    """
    used = {c.range for m in chart.matches for c in m.best.prediction.recipe.colorants}
    rows = [_row(n, match, chart, len(used) > 1) for n, match in enumerate(chart.matches, start=1)]
    return write_csv(COLUMNS, (row.values() for row in rows))


def _row(number: int, match: Match, chart: Chart, with_range: bool) -> dict[str, str]:
    def typed(recipe: Recipe) -> str:
        return format_recipe(recipe, with_range=with_range)

    target, best = match.target, match.best
    row = {
        "number": str(number),
        "passage": target.passage,
        "role": target.role,
        "name": target.name,
        "verdict": str(best.verdict),
        "off": best.difference.words,
        "recipe": typed(best.prediction.recipe),
        "instructions": " ".join(best.instructions),
        **_sure(match),
        **_color("wanted", target.lab),
        **_color("predicted", best.prediction.lab),
        "single": typed(match.single.prediction.recipe),
        "single_delta_e": _tenth(match.single.difference.delta_e),
        "mud": best.mud.words if best.mud else "",
        "cleaner": typed(best.mud.cleaner) if best.mud and best.mud.cleaner else "",
        "tolerance": chart.tolerance,
        "kit": chart.kit,
        "paper": chart.paper.name,
        "notes": " ".join(dict.fromkeys((*chart.notes, *match.notes))),
    }
    return {column: row[column] for column in COLUMNS}


def _sure(match: Match) -> dict[str, str]:
    best: Candidate = match.best
    seen, off = best.prediction, best.difference
    low, high = difference_range(match.target.lab, seen.lab, best.covariance)
    return {
        "acceptance": f"{best.acceptance:.2f}",
        "delta_e": _tenth(off.delta_e),
        "delta_e_low": _tenth(low),
        "delta_e_high": _tenth(high),
        "value_off": _tenth(off.value),
        "value_margin": _tenth(value_margin(seen.lab, best.covariance)),
        "hue_off": "" if off.hue is None else f"{off.hue:z.0f}",
        "chroma_off": _tenth(off.chroma),
    }


def _color(which: str, lab: FloatArray) -> dict[str, str]:
    return {
        f"{which}_L": _tenth(lab[0]),
        f"{which}_a": _tenth(lab[1]),
        f"{which}_b": _tenth(lab[2]),
        f"{which}_value": _tenth(float(value_from_lab(lab))),
        f"{which}_name": color_name(lab),
    }


def _tenth(value: float) -> str:
    text = f"{value:.1f}"
    return "0.0" if text == "-0.0" else text
