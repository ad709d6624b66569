"""What a chart says about itself as a whole: title lines, counts, how to read it, what is left."""

from collections import Counter

from laydown.documents.entries import Entry
from laydown.match.outcome import Verdict
from laydown.plan.chart import Chart, notes_for_all
from laydown.reference.thresholds import thresholds

READING = (
    "On each gray card, left to right: the wanted color touching the predicted one, on the color of"
    " your paper; the same two as grays of their value; an empty box to color in yourself. Layers"
    " are drawn from the paper up, each in the color that shows once it lies there: the lowest is"
    " laid first. Let every coat dry unless it says “while wet”. Value runs from 0, black, to 10,"
    " white. A range or a ± is meant to hold 80 times in 100. Read"
    " the cautions at the end before you start."
)
"""How to read a row, once for the whole chart."""
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

    Examples
    --------
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


def is_invented(chart: Chart) -> bool:
    """Tell whether the chart's notes say that its data is invented."""
    return any("invented" in note.casefold() for note in chart.notes)


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
