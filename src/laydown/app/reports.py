"""Put what was found of runs, ranges and kits into the form of a document."""

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from laydown.app import buying, encoding, runs
from laydown.app.light import checking, life
from laydown.app.supplies import kits
from laydown.color.naming import color_name
from laydown.color.screen import screen_color
from laydown.documents.files.csv import write_csv
from laydown.documents.print import layout, reports
from laydown.errors import BadFileError
from laydown.match.acceptance import closeness
from laydown.media.legible import capital, legible
from laydown.media.recipe_words import name_words, recipe_words
from laydown.plan.kit.choice import PurchaseOutcome
from laydown.plan.kit.problem import Offer
from laydown.plan.run import ranges
from laydown.plan.run.runs import Mending, Run, Shade
from laydown.plan.run.triads import Tone, run_words, shade_words, tone_words, triad_words
from laydown.reference.thresholds import close_enough

ACROSS = 9
"""Colorants of a hue side by side."""
MOST_PATCHES = 12
"""Shown of a set."""
BAND_NAMES = ("light", "middle", "dark")
FORMS = ("pdf", "html", "csv", "json", "svg")
Result = (
    runs.RunsFound
    | runs.PartnersFound
    | runs.GradientFound
    | runs.RangesCompared
    | buying.KitsChosen
    | life.LifeForecast
    | checking.LightChecked
    | kits.BoxLaidOut
)


def write_report(found: Result, form: str = "pdf", *, page: str = "A4") -> bytes:
    """Write what was found as PDF, for a page, HTML, CSV or JSON; plots as SVG too."""
    if form == "json":
        return (encoding.to_json(found) + "\n").encode()
    if form == "svg":
        return legible(ranges.svg(_plots(found))).encode()
    if form == "csv" and isinstance(found, checking.LightChecked):
        return checking.light_csv(found).encode()
    report = report_of(found)
    if form == "csv":
        rows = (row for section in report.sections for row in _csv_rows(section))
        return write_csv(["section", "what", "says"], rows).encode()
    if form == "html":
        return legible(reports.report_html(report)).encode()
    return reports.report_pdf(report, page=page)


def _plots(found: Result) -> ranges.Plot:
    if isinstance(found, runs.RangesCompared):
        sides = found.comparison.first.name, found.comparison.second.name
        return ranges.side_by_side(" and ".join(sides), found.comparison.plots)
    if isinstance(found, kits.BoxLaidOut):
        return ranges.side_by_side(found.label, report_of(found).sections[-1].plots)
    raise BadFileError("Only a box and two sets compared have a plot.", hint="Write it as .pdf.")


def report_of(found: Result) -> reports.Report:
    """Return the report of a result."""
    makers: dict[type, Callable[..., reports.Report]] = {
        runs.RunsFound: _runs,
        runs.PartnersFound: _partners,
        runs.GradientFound: _gradient,
        runs.RangesCompared: _compared,
        buying.KitsChosen: _kits,
        checking.LightChecked: checking.light_report,
        life.LifeForecast: life.life_report,
        kits.BoxLaidOut: _box,
    }
    return makers[type(found)](found)


def _csv_rows(section: reports.Section) -> Iterator[tuple[str, str, str]]:
    for row in section.rows:
        yield section.title, row.head, row.text
    for head, _, cells in section.lines:
        for column, cell in zip(section.columns, cells, strict=True):
            yield section.title, f"{column} {head}", ", ".join(cell.words)


def _runs(found: runs.RunsFound) -> reports.Report:
    sections = [
        reports.Section(
            "Light, middle, dark",
            columns=("light", "middle", "dark"),
            lines=tuple((triad.name, "", tuple(map(_tone, triad.tones))) for triad in found.triads),
        ),
        reports.Section("Runs, from light to dark", tuple(map(_run, found.runs))),
    ]
    if found.gaps:
        sections.append(reports.Section("What would fill gaps", tuple(map(_mending, found.gaps))))
    if found.alone:
        names = ", ".join(shade.name for shade in found.alone)
        sections.append(
            reports.Section("Without neighbors", (reports.ReportRow("In no run", names),))
        )
    if found.runs:
        sections.append(reports.Section("Numbers", tuple(map(_run_in_numbers, found.runs))))
    return reports.Report(
        f"Shading runs of {found.kit}",
        (f"On {found.paper}.", *found.notes),
        tuple(sections),
        layout.SHOWN_COLORS,
    )


def _tone(tone: Tone) -> reports.GridCell:
    shown = (screen_color(tone.shade.lab),) if tone.shade else ()
    return reports.GridCell((tone_words(tone),), shown, beside=True)


def _run(run: Run) -> reports.ReportRow:
    colors = tuple(screen_color(shade.lab) for shade in run.shades)
    return reports.ReportRow(run_words(run), f"{capital(run.rating)}.", colors)


def _run_in_numbers(run: Run) -> reports.ReportRow:
    return reports.ReportRow(
        run_words(run),
        f"Value {run.shades[0].value:.1f} to {run.shades[-1].value:.1f},"
        f" steps of {run.step:.1f} give or take {run.unevenness:.1f}; hue within {run.drift:.0f}°,"
        f" chroma within {run.chroma_ratio:.1f} times.",
    )


def _mending(mend: Mending) -> reports.ReportRow:
    said = (
        f"value {mend.value:.1f}, {color_name(mend.lab)}; nearest recipe"
        f" “{recipe_words(mend.recipe)}” (off by {mend.recipe_off:.1f})"
    )
    if mend.purchase:
        said += f"; to buy: {mend.purchase} (off by {mend.purchase_off:.1f})"
    return reports.ReportRow(mend.place, f"{said}.", (screen_color(mend.lab),))


def _partners(found: runs.PartnersFound) -> reports.Report:
    triad = found.triad
    colors = tuple(screen_color(tone.shade.lab) for tone in triad.tones if tone.shade)
    rows = [reports.ReportRow(triad.name, f"{triad_words(triad)}.", colors)]
    rows += [
        reports.ReportRow(
            f"{p.role}: {p.shade.name}",
            f"{abs(p.step):.1f} value steps {'lighter' if p.step > 0 else 'darker'}, hue"
            f" {p.turn:+.0f}°. Laid over each other, the paler first:"
            f" {color_name(p.blend.lab)}"
            f"{'' if p.between else ', darker than both'}. {p.mud}".rstrip(),
            (
                screen_color(found.colorant.lab),
                screen_color(p.blend.lab),
                screen_color(p.shade.lab),
            ),
        )
        for p in found.partners
    ]
    lacking = [(role, found.lacks(role)) for role in ("highlight", "shadow")]
    rows += [reports.ReportRow(role, f"{why}.") for role, why in lacking if why]
    lead = (f"From {found.kit} on {found.paper}. Patches: itself, where they meet, the partner.",)
    title = f"Partners for {found.colorant.name}"
    return reports.Report(
        title, (*lead, *found.notes), (reports.Section("", tuple(rows)),), layout.SHOWN_COLORS
    )


def _gradient(found: runs.GradientFound) -> reports.Report:
    made = found.gradient
    rows = [
        reports.ReportRow(
            shade_words(one),
            f"value {one.value:.1f}, {color_name(one.lab)}",
            (screen_color(one.lab),),
        )
        for one in made.shades
    ]
    lead = (f"From {found.kit} on {found.paper}.", found.words, *found.notes)
    title = f"From {made.first.name} to {made.second.name}"
    return reports.Report(title, lead, (reports.Section("", tuple(rows)),), layout.SHOWN_COLORS)


def _compared(found: runs.RangesCompared) -> reports.Report:
    made = found.comparison
    sections = [reports.Section("What each has, in one coat", (), made.plots)]
    for side in (made.first, made.second):
        sections.append(_alone(side))
    pairs = [
        reports.ReportRow(
            f"{a.first} – {a.second}",
            f"Off by {a.difference:.1f}.",
            (screen_color(a.first_lab), screen_color(a.second_lab)),
        )
        for a in made.agreements
    ]
    shown = (*pairs[:6], *pairs[-6:]) if len(pairs) > 12 else tuple(pairs)
    sections.append(reports.Section("Pairs that agree best, and worst", shown))
    sections.append(
        reports.Section("Numbers", tuple(_facts(side) for side in (made.first, made.second)))
    )
    counted = (
        f"On {found.paper}, in two steps of up to two coats. Each patch below is a color that one"
        " makes and the other can't; the word says how many of its colors are like that."
    )
    lead = (counted, *made.words)
    title = f"{made.first.name} and {made.second.name} compared"
    return reports.Report(title, lead, tuple(sections), layout.SHOWN_COLORS)


def _alone(side: ranges.RangeSide) -> reports.Section:
    """Show by hue and value what a range alone reaches: a typical color, and how much of it all."""
    known = {(r.hue, r.band): r for r in side.reach if r.alone}
    bands = [band for band in BAND_NAMES if any(b == band for _, b in known)]
    hues = dict.fromkeys(hue for hue, _ in known)
    lines = [
        (hue, "", tuple(_reach_cell(known.get((hue, band))) for band in bands)) for hue in hues
    ]
    title = f"What {side.name} makes and the other can't"
    return reports.Section(title, columns=tuple(bands), lines=tuple(lines))


def _reach_cell(reach: ranges.Reach | None) -> reports.GridCell:
    if reach is None:
        return reports.GridCell(("–",))
    share = reach.alone / reach.colors
    return reports.GridCell((ranges.share_words(share),), (screen_color(reach.lab),))


def _facts(side: ranges.RangeSide) -> reports.ReportRow:
    return reports.ReportRow(
        side.name,
        f"{side.colorants} colorants, {side.recipes:,} recipes; chroma {side.mean_chroma:.0f}"
        f" on the mean, {side.most_chroma:.0f} at most; value {side.darkest:.1f} to"
        f" {side.lightest:.1f}; hull of {side.volume / 1000:.0f} thousand cubic units of CIELAB.",
    )


def _box(found: kits.BoxLaidOut) -> reports.Report:
    """Show a box by hue, each hue from light to dark, and as a wheel."""
    labs = np.array([shade.lab for shade in found.shades]).reshape(-1, 3)
    rows = tuple(row for hue, own in shades_by_hue(found.shades) for row in _hue_rows(hue, own))
    nothing = np.empty((0, 3))
    plots = (
        ranges.hue_chroma_wheel("Around: hue. Outward: from gray to vivid.", labs, nothing),
        ranges.hue_value_page("Upward: from dark to light. Across: hue.", labs, nothing),
    )
    clear = f" Colorless: {', '.join(found.blenders)}." if found.blenders else ""
    lead = (f"One coat of each on {found.paper}, each hue from light to dark.{clear}", *found.notes)
    sections = (reports.Section("", rows), reports.Section("", (), plots))
    return reports.Report(found.label, lead, sections, layout.SHOWN_COLORS)


def shades_by_hue(shades: Sequence[Shade]) -> tuple[tuple[str, list[Shade]], ...]:
    """Return the hues that some shades have, and of each its shades from light to dark."""
    hues: dict[str, list[Shade]] = {name: [] for name in ranges.HUE_NAMES}
    labs = np.array([shade.lab for shade in shades]).reshape(-1, 3)
    for hue, one in zip(ranges.hue_names(labs), shades, strict=True):
        hues[hue].append(one)
    listed = {hue: sorted(own, key=lambda one: (-one.value, one.name)) for hue, own in hues.items()}
    return tuple((hue, own) for hue, own in listed.items() if own)


def _hue_rows(hue: str, listed: Sequence[Shade]) -> Iterator[reports.ReportRow]:
    for first in range(0, len(listed), ACROSS):
        row = listed[first : first + ACROSS]
        patches = tuple(screen_color(one.lab) for one in row)
        told = f"{hue}, darker" if first else hue
        ends = dict.fromkeys(f"{one.value:.0f}" for one in (row[0], row[-1]))
        yield reports.ReportRow(
            told, f"value {' to '.join(ends)}", patches, keys=tuple(one.name for one in row)
        )


def _kits(found: buying.KitsChosen) -> reports.Report:
    sections = tuple(s for group in found.groups for s in _group(found, group))
    lead = (
        f"For {' and '.join(found.lessons)} on {found.paper}. You make a color where it comes"
        f" {close_enough(found.tolerance)}."
    )
    return reports.Report("Supplies", (lead,), sections, layout.SHOWN_COLORS)


def _group(found: buying.KitsChosen, group: buying.KitGroup) -> tuple[reports.Section, ...]:
    choice = group.choice
    bought = tuple(
        reports.ReportRow(
            *_bought(offer, choice.wishes.currency),
            tuple(screen_color(group.labs[place]) for place in offer.colorants[:MOST_PATCHES]),
            tick=True,
        )
        for offer in choice.chosen.bought
    )
    extras = tuple(
        reports.ReportRow(name, money(price, choice.wishes.currency), tick=True)
        for name, price in choice.wishes.extras
    )
    owned = tuple(
        reports.ReportRow(c.name, f"{c.range}, owned already")
        for c in sorted(choice.wishes.owned, key=lambda c: c.label)
    )
    *lines, in_numbers = kit_lines(group, found.out_of)
    facts = tuple(reports.ReportRow("", line) for line in lines)
    made = tuple(
        reports.ReportRow(
            name_words(c.name),
            f"{capital(c.words)}. {capital(closeness(c.acceptance))}.",
            (screen_color(c.wanted), screen_color(c.lab)),
            keys=("wanted", "you get"),
        )
        for c in choice.chosen.colors
    )
    numbers = (
        reports.ReportRow("", in_numbers),
        *(
            reports.ReportRow(name_words(c.name), f"Off by {c.difference:.1f}.")
            for c in choice.chosen.colors
        ),
    )
    return (
        reports.Section(
            f"{group.label}: to {'take' if found.out_of else 'buy'}",
            (*bought, *extras, *owned, *facts),
        ),
        reports.Section(f"{group.label}: the colors wanted, and what you get", made),
        reports.Section(f"{group.label}: numbers", numbers),
    )


def _bought(offer: Offer, currency: str) -> tuple[str, str]:
    """Return an offer's name, and its range, how many pieces it has and its price in words."""
    count = len(offer.colorants)
    of, _, name = offer.name.rpartition("/") if count == 1 else ("", "", offer.name)
    pieces = "1 piece" if count == 1 else f"1 set of {count}"
    return name, ", ".join(filter(None, (of, pieces, money(offer.price, currency))))


def money(price: int, currency: str) -> str:
    """Write a price; nothing where there are no prices.

    >>> money(1250, "EUR"), money(0, "")
    ('12.50 EUR', '')
    """
    return f"{price / 100:.2f} {currency}".strip() if price or currency else ""


def kit_lines(group: buying.KitGroup, out_of: str = "") -> tuple[str, ...]:
    """Say of a choice what it comes to, how sure it is, and what one more or fewer means.

    `out_of`: the kit that it was made out of; empty where it is to be bought.
    """
    do, done = ("take", "taken") if out_of else ("buy", "bought")
    choice = group.choice
    chosen, count = choice.chosen, len(choice.chosen.colors)
    told = money(chosen.price, choice.wishes.currency)
    price = f" for {told}" if told else ""
    many = len(chosen.bought)
    these = f"this one{price}; it makes" if many == 1 else f"these {many}{price}; they make"
    bought = f"{do.capitalize()} {these}" if many else "You make"
    lines = [
        f"{bought} {_within(chosen)}.",
        _proof(chosen),
        f"With nothing {done} you make {_within(choice.nothing)}.",
    ]
    lines += [_beside(other, chosen, do) for other in (choice.fewer, choice.more) if other]
    lines += _not_counted(group)
    lines.append(
        f"In numbers: ΔE {chosen.mean:.1f} on the mean with this choice, {choice.nothing.mean:.1f}"
        f" with nothing {done}; {choice.recipes:,} recipes, {choice.ways:,} ways to {count} colors."
    )
    return tuple(lines)


def _not_counted(group: buying.KitGroup) -> Iterator[str]:
    """Say which colors no recipe that was counted makes: out of reach, or made by a longer one."""
    if far := group.choice.unreachable:
        yield f"Too far off, whatever you buy: {', '.join(map(name_words, far))}."
    for made in group.longer:
        does = "makes" if made.near_enough else "comes nearest to"
        recipe = recipe_words(made.recipe)
        yield f"A longer recipe {does} {name_words(made.name)}: {recipe}."


def _beside(other: PurchaseOutcome, chosen: PurchaseOutcome, do: str) -> str:
    """Say what a smaller or a larger purchase comes to, and by how many it is that.

    One purchase fewer may cost a color that needs two, and then the other is of no use either.
    """
    more = len(other.bought) - len(chosen.bought)
    if {*other.bought} == {*chosen.bought}:
        return f"{'Taking' if do == 'take' else 'Buying'} more brings nothing nearer{_sure(other)}."
    told = f"{abs(more)} {'more' if more > 0 else 'fewer'}" if more else "as many"
    return f"With {told} ({len(other.bought)} to {do}) you make {_within(other)}{_sure(other)}."


def _within(outcome: PurchaseOutcome) -> str:
    return f"{outcome.near_enough} of the {len(outcome.colors)} colors"


def _sure(outcome: PurchaseOutcome) -> str:
    return "" if outcome.proven else ", perhaps more"


def _proof(outcome: PurchaseOutcome) -> str:
    if outcome.proven:
        return "No other choice does better."
    gap = 100 * (outcome.value - outcome.bound) / max(outcome.value, 1e-9)
    return (
        "Another choice may do better: the time was too short to be sure. This one counts"
        f" {outcome.value:g}, and none counts less than {outcome.bound:g} (a gap of {gap:.0f} %)."
    )
