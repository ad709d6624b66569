"""A picture's plan to color by numbers: as PDF, HTML and SVG."""

import base64
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from html import escape
from types import MappingProxyType
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from reportlab.platypus import Flowable, Spacer, Table
from reportlab.platypus import Image as Shown

from laydown.color.arrays import FloatArray
from laydown.color.lab import WHITE_D50, lab_from_xyz
from laydown.color.screen import screen_pixels
from laydown.color.value import grays, luminance_from_value
from laydown.documents.print import entries, layout, outlines, reports
from laydown.documents.print.entries import TIGHT, shade
from laydown.documents.print.layout import MM, PENCIL, Pen, text
from laydown.documents.print.outlines import Border, PlacedNumber, leader
from laydown.documents.print.reports import ReportRow, Section
from laydown.errors import BadFileError
from laydown.media.legible import capital
from laydown.opencv import cv2
from laydown.plan.chart import supplies
from laydown.plan.picture.picture import PicturePlan
from laydown.plan.picture.recipes import painted
from laydown.sheet.page import CellBox

TRACE = "Pale outline: color on this page, or trace it onto your own paper."
READING = (
    "Each number in the drawing is one color of the list. Lay its steps as they are written, let"
    " every coat dry, and try them in the empty box first, on your own paper. The picture goes from"
    " dark to light in steps: step 1 is the darkest."
)


@dataclass(frozen=True, slots=True)
class PlanColorRow:
    """A color of a plan, ready to be set."""

    number: int
    """As it stands in the regions."""
    wanted: entries.ShownColor
    facts: str
    """Its value step, how much of the picture it covers, and where."""
    entry: entries.Entry | None
    """Its recipe and how it is judged; None where no kit was asked."""
    values_only: bool = False

    @property
    def shown(self) -> tuple[str, ...]:
        """Screen colors of what is wanted and, beside it, of what the recipe makes.

        Where values alone were matched they are grays.
        """
        made = [self.wanted, *([self.entry.predicted] if self.entry else [])]
        return tuple(one.gray if self.values_only else one.fill for one in made)

    @property
    def gray(self) -> str:
        """Screen color of the gray of its value: the recipe's where there is one."""
        return self.entry.predicted.gray if self.entry else self.wanted.gray


def plan_rows(plan: PicturePlan) -> tuple[PlanColorRow, ...]:
    """Put the colors of a plan into words; in a plan of values alone, its steps from the lightest.

    The recipes are those of the first of its kits.
    """
    if not plan.palette:
        steps = reversed(range(plan.values.steps))
        return tuple(_value_row(plan, count, step) for count, step in enumerate(steps, start=1))
    matches = plan.kits[0].matches if plan.kits else (None,) * len(plan.palette)
    shared = frozenset(plan.kits[0].notes) if plan.kits else frozenset()
    gray = _values_only(plan)
    rows = []
    for color, match in zip(plan.palette, matches, strict=True):
        entry = entries.entry_of(color.number, match, (), shared) if match else None
        facts = _facts(plan, color.value_step, color.share, _places(plan, color.number))
        rows.append(PlanColorRow(color.number, shade(color.lab), facts, entry, gray))
    return tuple(rows)


def numbers_of(plan: PicturePlan) -> dict[int, str]:
    """Return what to print in each region, by its own number."""
    steps = plan.values.steps
    return {
        region.number: str(region.color if plan.palette else steps - region.value_step)
        for region in plan.values.regions
    }


def _value_row(plan: PicturePlan, count: int, step: int) -> PlanColorRow:
    share = sum(r.share for r in plan.values.regions if r.value_step == step)
    light = WHITE_D50 * float(luminance_from_value(plan.values.levels[step])) / 100
    return PlanColorRow(count, shade(lab_from_xyz(light)), _facts(plan, step, share, ""), None)


def _facts(plan: PicturePlan, step: int, share: float, places: str) -> str:
    covered = f"{share:.0f}{TIGHT}%" if share >= 0.5 else f"under 1{TIGHT}%"
    told = f"Step {step + 1} of {plan.values.steps} from dark to light, {covered} of the picture"
    return f"{told}; {places}" if places else told


def _places(plan: PicturePlan, color: int) -> str:
    """Name the passages and roles that a color serves, as somebody assigned them."""
    named = [
        f"{region.passage}, {region.role}" if region.role else region.passage
        for region in plan.values.regions
        if region.color == color and region.passage
    ]
    return "; ".join(dict.fromkeys(named))


def lead(plan: PicturePlan) -> str:
    """Say what the plan is for."""
    if not plan.kits:
        return "The values and colors of a picture, light to dark, before any kit is chosen."
    kit = plan.kits[0]
    aim = "its values, with whatever hues the kit holds" if kit.values_only else "its colors"
    return f"What to lay from {kit.kit} on {kit.paper} for {aim}."


def size_words(plan: PicturePlan) -> str:
    """Say how large the picture is and what it is made of."""
    values = plan.values
    colors = f", {len(plan.palette)} colors" if plan.palette else ""
    return (
        f"{values.width:.0f} × {values.height:.0f} mm: {values.steps} steps from dark to light"
        f"{colors}, {len(values.regions)} regions."
    )


def losses(plan: PicturePlan) -> tuple[str, ...]:
    """Say what this kit can't reach, and what the plan itself has left out."""
    if not plan.kits:
        return ()
    kit, rows = plan.kits[0], {row.number: row for row in plan_rows(plan)}
    told = [
        f"{n}, {rows[n].wanted.words}: {_lowered(entry.off) if (entry := rows[n].entry) else ''}"
        for n in kit.lost.out_of_reach
    ]
    told += [f"{a} and {b} come out nearly alike." for a, b in kit.lost.merged]
    kept = f"{kit.lost.steps_kept:.0%}".replace("%", f"{TIGHT}%")
    told.append(
        f"Light and dark: {kept} of the area stays in its step; it is off by"
        f" {kit.lost.mean_value:.1f} of a value (0 black to 10 white) on average."
    )
    if not kit.values_only:
        told.append(
            f"Color: the area is off by ΔE {kit.lost.mean:.1f} on average, and number"
            f" {kit.lost.worst_color} by {kit.lost.worst:.1f}, the most."
        )
    told.append(
        "Before any kit: the plan, with its few flat colors, is off from the picture by"
        f" ΔE {kit.lost.flattened:.1f} on average."
    )
    return tuple(told)


def _lowered(words: str) -> str:
    return words[:1].lower() + words[1:]


def notes_of_plan(plan: PicturePlan) -> tuple[str, ...]:
    """Return what holds for the whole plan, each once."""
    own = plan.kits[0].notes if plan.kits else ()
    return tuple(dict.fromkeys([*plan.notes, *own]))


def views_of_plan(plan: PicturePlan) -> tuple[tuple[str, FloatArray], ...]:
    """Return the picture as it is, as planned, and as a kit makes it, in color and in values.

    What each is called, and its pixels' CIELAB, shape (row, column, 3).
    """
    shown = [("The picture", plan.seen), ("Its values", grays(plan.seen))]
    shown += [("The plan", painted(plan))] if plan.palette else []
    shown.append(("The plan's values", _stepped(plan)))
    for kit in plan.kits:
        made = painted(plan, kit.shown)
        shown += [(f"From {kit.kit}", made), (f"{kit.kit}, its values", grays(made))]
    return tuple(shown[1::2] if _values_only(plan) else shown)


def _values_only(plan: PicturePlan) -> bool:
    return bool(plan.kits) and all(kit.values_only for kit in plan.kits)


def _stepped(plan: PicturePlan) -> FloatArray:
    """Return the picture in the mean gray of each value step; white where nothing is colored."""
    light = luminance_from_value(plan.values.levels)
    table = np.full(1 + max((r.number for r in plan.values.regions), default=0), 100.0)
    for region in plan.values.regions:
        table[region.number] = light[region.value_step]
    return lab_from_xyz(table[plan.values.labels][..., None] / 100 * WHITE_D50)


VIEWS_APART = 4.0
"""Between small pictures [mm]."""
LEGEND_FINE = 6.0
"""Pixels of a small picture [per mm]."""


def legend(plan: PicturePlan, warnings: tuple[str, ...]) -> tuple[Section, ...]:
    """Return the list that goes with a plan of one kit or none: what to do first, numbers last.

    The warnings say what is to be known of the way it is printed.
    """
    rows, kits = plan_rows(plan), plan.kits
    needed = supplies(kits[0].matches) if kits else ()
    notes = (*warnings, *notes_of_plan(plan))
    numbers = tuple(
        ReportRow(
            f"{row.number}",
            f"Wanted: {row.wanted.numbers}.{f' {row.entry.sure}' if row.entry else ''}",
        )
        for row in rows
    )
    sections = (
        Section("Colors and recipes" if kits else "Colors", tuple(map(_color_row, rows))),
        Section(
            "What you need",
            tuple(ReportRow(*entries.supply_words(*supply), tick=True) for supply in needed),
        ),
        Section("What is lost", _listed(losses(plan))),
        Section(layout.HEADING_CAUTIONS, _listed(layout.CAUTIONS)),
        Section("How it was planned", _listed(notes)),
        Section("Numbers", numbers),
    )
    return tuple(section for section in sections if section.rows)


def _listed(texts: Sequence[str]) -> tuple[ReportRow, ...]:
    return tuple(ReportRow("", text) for text in texts)


def _color_row(row: PlanColorRow) -> ReportRow:
    """Set a color: what is wanted touching what one gets, then the gray of its value, and a box."""
    entry = row.entry
    head = f"Number {row.number}: {entry.recipe if entry else row.wanted.words}"
    keys = ("wanted", "you get", "its value") if entry else ("wanted", "its value")
    gray = () if row.gray in row.shown else (row.gray,)
    said = [f"{row.facts}."]
    if entry:
        mud = [f"Mud: {entry.mud}"] if entry.mud else []
        judged = f"{capital(entry.verdict)}: {_lowered(entry.in_short or entry.off)}"
        said = [f"For {row.wanted.words}.", judged, *mud, *said]
    patches = (*row.shown, *gray)
    return ReportRow(head, " ".join(said), patches, box=True, keys=keys[: len(patches)])


def _views(plan: PicturePlan, measure: float) -> Table:
    """Set small pictures: what each is in color above what it is in values."""
    views = views_of_plan(plan)
    above, below = (views, ()) if _values_only(plan) else (views[::2], views[1::2])
    wide = (measure - VIEWS_APART * (len(above) - 1)) / max(len(above), 3)
    high = wide * plan.values.height / plan.values.width
    if high > wide:
        wide, high = wide * wide / high, wide
    rows = [[_view(*view, wide, high) for view in row] for row in (above, below)]
    rows[1] += [[]] * (len(above) - len(below))
    widths = [(wide + VIEWS_APART) * MM] * len(above)
    looks = [*layout.FLUSH, ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5 * MM)]
    return Table(rows, widths, style=looks, hAlign="LEFT")


def _view(title: str, lab: FloatArray, wide: float, high: float) -> list[Flowable]:
    size = (max(1, round(wide * LEGEND_FINE)), max(1, round(high * LEGEND_FINE)))
    content = io.BytesIO()
    Image.fromarray(cv2.resize(screen_pixels(lab), size, interpolation=cv2.INTER_AREA)).save(
        content, "PNG"
    )
    return [Shown(content, wide * MM, high * MM, hAlign="LEFT"), text(title, reports.KEY)]


PAPERS = MappingProxyType({"A3": (297.0, 420.0), "A5": (148.0, 210.0), **layout.PAGES})
"""Width and height of the papers known by name [mm]."""
SIDES = (140.0, 1500.0)
"""Least and most of a side of a paper [mm]: the list needs the one, printers end before the other.
"""
OWN = re.compile(r"(\d+(?:\.\d+)?)\s*[x×]\s*(\d+(?:\.\d+)?)")
PLAN_EDGE = 9.0
"""Left bare at the sides and the top of a drawing; home printers can't reach the last 3 to 6 [mm].
"""
PLAN_FOOT = 13.0
"""Below a drawing, one line of text in it [mm]."""
Fitted: TypeAlias = tuple[tuple[float, float], CellBox, float]
"""Width and height of a sheet as it is drawn on, upright or on its side [mm]; where the picture
lies; and how large that is against what was planned, at most 1."""


def paper_size(text: str) -> tuple[float, float]:
    """Return the width and height of a paper [mm]: A3, A4, A5, Letter, or width x height in mm.

    Raises `BadFileError` for a paper that is not known, or too small or too large.

    >>> paper_size("a5"), paper_size("240 x 320")
    ((148.0, 210.0), (240.0, 320.0))
    """
    named = {name.casefold(): size for name, size in PAPERS.items()}
    key = text.strip().casefold()
    if key in named:
        return named[key]
    own = OWN.fullmatch(key)
    if own and all(SIDES[0] <= float(side) <= SIDES[1] for side in own.groups()):
        return float(own[1]), float(own[2])
    raise BadFileError(
        f"{text!r} is no paper that can be printed on.",
        hint=f"Say {', '.join(sorted(PAPERS))}, or width x height in mm, each from {SIDES[0]:.0f} "
        f"to {SIDES[1]:.0f}: 240x320.",
    )


def drawing_page(paper: tuple[float, float], picture: tuple[float, float]) -> Fitted:
    """Lay a picture in the middle of a sheet, turned on its side where that shows it larger.

    Both are width and height [mm]; a picture is made smaller where it doesn't fit.

    >>> size, box, scale = drawing_page((210.0, 297.0), (250.0, 150.0))
    >>> size, box.width, scale
    ((297.0, 210.0), 250.0, 1.0)
    """
    return max(_fitted(paper, picture), _fitted(paper[::-1], picture), key=lambda page: page[2])


def _fitted(paper: tuple[float, float], picture: tuple[float, float]) -> Fitted:
    room = (paper[0] - 2 * PLAN_EDGE, paper[1] - PLAN_EDGE - PLAN_FOOT)
    scale = min(1.0, *(free / side for free, side in zip(room, picture, strict=True)))
    wide, high = (side * scale for side in picture)
    left, top = PLAN_EDGE + (room[0] - wide) / 2, PLAN_EDGE + (room[1] - high) / 2
    return paper, CellBox(left, top, wide, high), scale


LINE = 0.22
"""Weight of the borders [mm]."""
LEADER = 0.12
"""Weight of a line that leads from a number to its region [mm]."""
POINT = 0.5
"""Size of the point at its end [mm]."""


@dataclass(frozen=True, slots=True, eq=False)
class PlanDrawing:
    """What is drawn of a plan: its borders and numbers, at the size it is printed in."""

    paper: tuple[float, float]
    """Width and height, upright or as it was asked for [mm]."""
    size: tuple[float, float]
    box: CellBox
    scale: float
    """See `Fitted`."""
    borders: tuple[Border, ...]
    numbers: tuple[PlacedNumber, ...]
    """In millimetres from the picture's upper left corner."""
    unnumbered: int
    """How many regions lie in too dense a crowd for a number."""


def draw_plan(
    plan: PicturePlan, paper: tuple[float, float], *, within: float = outlines.WITHIN
) -> PlanDrawing:
    """Find what is to be drawn of a plan on a paper, so wide and high [mm].

    Lines lie no farther than `within` from the plan's own borders [mm].
    """
    values = plan.values
    size, box, scale = drawing_page(paper, (values.width, values.height))
    borders = outlines.outlines(values.labels, width=box.width, within=within)
    numbers = outlines.place_numbers(values.labels, numbers_of(plan), picture_width=box.width)
    unnumbered = len(values.regions) - len(numbers)
    return PlanDrawing(paper, size, box, scale, borders, numbers, unnumbered)


def print_warnings(drawing: PlanDrawing) -> tuple[str, ...]:
    """Return what is to be said of the way a plan is printed."""
    told = []
    if drawing.scale < 0.995:
        told.append(
            f"The paper is too small for it: the drawing is {drawing.scale:.0%} of the size"
            " it was planned for, and so are its smallest regions."
        )
    led = sum(number.point is not None for number in drawing.numbers)
    if led:
        few = "1 region is" if led == 1 else f"{led} regions are"
        told.append(f"{few} too small for a number inside: a line leads from it.")
    if drawing.unnumbered:
        few = "1 region has" if drawing.unnumbered == 1 else f"{drawing.unnumbered} regions have"
        told.append(
            f"{few} no number, for lack of room: plan the picture wider, or with larger regions."
        )
    return tuple(told)


FINE_PLAN_PDF = 0.18
"""Weight of the borders of the pale outline [mm]."""
PALE = "#c9c9c5"
"""Of the outline to color on: it vanishes under color."""


def write_plan_pdf(plan: PicturePlan, drawing: PlanDrawing) -> bytes:
    """Write a plan of one kit or none as a PDF file, the same bytes for the same plan.

    The numbered drawing, the pale outline, and the list, which takes as many pages as it needs.
    """
    measure = layout.text_area(drawing.paper).width
    kits = [f"{kit.kit} on {kit.paper}" for kit in plan.kits[:1]]
    source = " · ".join(filter(None, [entries.invented(notes_of_plan(plan)), *kits]))

    def opening() -> list[Flowable]:
        told = [text(line, reports.WORDS) for line in (lead(plan), size_words(plan))]
        first = text(plan.title, reports.TITLE, outline="Colors and recipes")
        return [
            first,
            *told,
            Spacer(0, 2 * MM),
            _views(plan, measure),
            Spacer(0, 2 * MM),
            text(READING, reports.WORDS),
        ]

    def numbers(pen: Pen) -> None:
        pen.bookmark("numbers", "Numbers")
        _numbered(pen, drawing)
        _foot(pen, drawing.size, f"{plan.title}: numbers of the colors in the list", source)

    def outline(pen: Pen) -> None:
        pen.bookmark("outline", "Pale outline")
        pen.lines(_placed(drawing.borders, drawing.box), color=PALE, weight=FINE_PLAN_PDF)
        _foot(pen, drawing.size, f"{plan.title}. {TRACE}", source)

    sections = legend(plan, print_warnings(drawing))
    before = [(drawing.size, draw) for draw in (numbers, outline)]
    return layout.write_pages(
        plan.title,
        opening,
        lambda: list(reports.flowing(sections, measure)),
        subject=lead(plan),
        page=drawing.paper,
        warning=layout.SHOWN_COLORS,
        source=source,
        before=before,
    )


def _placed(borders: Sequence[Border], box: CellBox) -> list[np.ndarray]:
    return [points + np.array([box.left, box.top]) for points, _ in borders]


def _numbered(pen: Pen, drawing: PlanDrawing) -> None:
    box = drawing.box
    pen.lines(_placed(drawing.borders, box), color=PENCIL, weight=LINE)
    for number in drawing.numbers:
        line = leader(number)
        if line and number.point:
            ends = np.array(line).reshape(1, 2, 2) + np.array([box.left, box.top])
            pen.lines(ends, color=PENCIL, weight=LEADER)
            x, y = (v - POINT / 2 for v in number.point)
            pen.box(CellBox(box.left + x, box.top + y, POINT, POINT), fill=PENCIL)
        left = box.left + number.x - layout.width(number.text, number.size) / 2
        base = box.top + number.y + outlines.CAP * number.size / MM / 2
        pen.text(left, base, number.text, number.size, color=layout.INK)


def _foot(pen: Pen, page: tuple[float, float], told: str, right: str) -> None:
    base, measure = page[1] - 6.0, page[0] - 2 * layout.MARGIN
    room = measure - layout.width(layout.printable(right), layout.LEAST) - 4.0
    pen.text(layout.MARGIN, base, layout.clip(told, layout.LEAST, room), layout.LEAST, color=PENCIL)
    pen.text(page[0] - layout.MARGIN, base, right, layout.LEAST, color=PENCIL, to_right=True)


RIM = 8.0
"""Round the picture and its list [mm]."""
ROW = 9.0
"""Height of a color in the list [mm]."""
WORDS_PLAN_SVG = 49.0
"""Where its words begin [mm]."""
TEXT, SMALL_SVG = 3.2, 2.6
"""Type sizes [mm]."""
ROOM = 0.9
"""Share of the width that lines fill by our typeface: that of the reader's may run wider."""


def plan_svg(plan: PicturePlan, drawing: PlanDrawing) -> str:
    """Draw a plan of one kit or none with its list below.

    A whole file, without style, script or link. Each region is a group ``region-N`` of its own,
    white, closed, that shares its borders with its neighbors.
    """
    box = drawing.box
    listed, bottom = _list_plan_svg(plan, box.width, box.height + RIM)
    wide, high = box.width + 2 * RIM, bottom + 2 * RIM
    return "\n".join(
        [
            (
                f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.2f}mm" '
                f'height="{high:.2f}mm" viewBox="{-RIM:g} {-RIM:g} {wide:.2f} {high:.2f}" '
                f'role="img" aria-label="{escape(plan.title, quote=True)}" '
                f'font-family="sans-serif" fill="{layout.INK}">'
            ),
            f"<title>{escape(plan.title)}</title>",
            f"<desc>{escape(lead(plan))}</desc>",
            *drawing_groups(plan, drawing),
            '<g id="list">',
            *listed,
            "</g>",
            "</svg>\n",
        ]
    )


def drawing_groups(plan: PicturePlan, drawing: PlanDrawing) -> Iterator[str]:
    """Draw regions, outlines and numbers, without the file around them."""
    names = {str(row.number): row for row in plan_rows(plan)}
    texts = numbers_of(plan)
    yield '<g id="regions" fill="#ffffff">'
    for region, outline in outlines.rings(drawing.borders).items():
        row = names[texts[region]]
        told = f"Region {region}: {row.number}, {row.wanted.words}"
        told += f": {row.entry.recipe}" if row.entry else ""
        path = " ".join(_path(ring) + "Z" for ring in outline)
        yield f'<g id="region-{region}" data-number="{row.number}"><title>{escape(told)}</title>'
        yield f'<path fill-rule="evenodd" d="{path}"/></g>'
    yield "</g>"
    yield (
        f'<g id="outlines" fill="none" stroke="{PENCIL}" stroke-width="{LINE:g}" '
        'stroke-linejoin="round" stroke-linecap="round">'
    )
    yield from (f'<path d="{_path(points)}"/>' for points, _ in drawing.borders)
    yield "</g>"
    yield '<g id="numbers" text-anchor="middle">'
    yield from (part for number in drawing.numbers for part in _number(number))
    yield "</g>"


def _path(points: FloatArray) -> str:
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points.tolist())


def _number(number: PlacedNumber) -> Iterator[str]:
    line = leader(number)
    if line and number.point:
        x_1, y_1, x_2, y_2 = line
        yield (
            f'<line x1="{x_1:.2f}" y1="{y_1:.2f}" x2="{x_2:.2f}" y2="{y_2:.2f}" '
            f'stroke="{PENCIL}" stroke-width="{LEADER:g}"/>'
        )
        yield f'<circle cx="{x_2:.2f}" cy="{y_2:.2f}" r="{POINT / 2:g}" fill="{PENCIL}"/>'
    size = number.size / MM
    base = number.y + outlines.CAP * size / 2
    yield f'<text x="{number.x:.2f}" y="{base:.2f}" font-size="{size:.2f}">{number.text}</text>'


def _list_plan_svg(plan: PicturePlan, measure: float, top: float) -> tuple[list[str], float]:
    """List the colors below the picture, then what holds for all of them; tell where it ends."""
    parts: list[str] = []
    for row in plan_rows(plan):
        parts += _patches_plan_svg(row, top)
        told = _lines(row, measure - WORDS_PLAN_SVG)
        for place, (line, size) in enumerate(told):
            parts.append(_text(WORDS_PLAN_SVG, top + 3.2 + 3.6 * place, line, size))
        top += max(ROW, 3.6 * len(told) + 2.0)
    care = f"{layout.HEADING_CAUTIONS}: {layout.CAUTIONS[0]}"
    for said in (
        *losses(plan),
        *notes_of_plan(plan),
        layout.SHOWN_COLORS,
        care,
        *layout.CAUTIONS[1:],
    ):
        for line in layout.wrap(said, SMALL_SVG * MM, measure * ROOM):
            top += 1.4 * SMALL_SVG
            parts.append(_text(0.0, top, line, SMALL_SVG))
        top += 0.6
    return parts, top


def _lines(row: PlanColorRow, measure: float) -> list[tuple[str, float]]:
    """Break what is said of a color, with its type size; other typefaces may run wider."""
    judged = f" {row.entry.verdict.capitalize()}: {row.entry.off}" if row.entry else ""
    told = f"{row.wanted.words}, {row.wanted.numbers}.{judged} {row.facts}."
    recipe = ((row.entry.recipe, TEXT),) if row.entry else ()
    return [
        (line, size)
        for text, size in (*recipe, (told, SMALL_SVG))
        for line in layout.wrap(text, size * MM, measure * ROOM)
    ]


def _text(x: float, y: float, text: str, size: float) -> str:
    return f'<text x="{x:g}" y="{y:.2f}" font-size="{size:g}">{escape(text)}</text>'


def _patches_plan_svg(row: PlanColorRow, top: float) -> Iterator[str]:
    """Draw a color's number, its patches, the gray of its value and a box; edges show anywhere."""
    base, high = top + 4.8, ROW - 2.0
    yield f'<text x="0" y="{base:.2f}" font-size="4.4" font-weight="bold">{row.number}</text>'
    wide, edge = 14.0 / len(row.shown), f' stroke="{PENCIL}" stroke-width="0.2"'
    drawn = [(9.0 + place * wide, wide, fill, "") for place, fill in enumerate(row.shown)]
    drawn += [(24.0, 7.0, row.gray, ""), (9.0, 14.0, "none", edge), (24.0, 7.0, "none", edge)]
    for x, across, fill, line in [*drawn, (32.5, 14.0, "#ffffff", edge)]:
        size = f'width="{across:.2f}" height="{high:.2f}"'
        yield f'<rect x="{x:.2f}" y="{top:.2f}" {size} fill="{fill}"{line}/>'


LONGEST = 900
"""Longer side of a picture on the page [pixels]."""
QUALITY = 88


def plan_html(plan: PicturePlan, drawing: PlanDrawing) -> str:
    """Write a plan as one HTML page, with no kit, one, or several side by side.

    The picture, the plan, and what each kit makes of it, in color and in values; the numbered
    drawing; each kit's recipes. Every color has its name, value and numbers beside it. The same
    text for the same plan.
    """
    alone = [replace(plan, kits=(kit,)) for kit in plan.kits] or [plan]
    box = drawing.box
    return layout.template("plan").render(
        plan=plan,
        size=size_words(plan),
        views=[(title, _embedded(screen_pixels(lab))) for title, lab in views_of_plan(plan)],
        kits=[_one_kit(part) for part in alone],
        view_box=f"{-RIM:g} {-RIM:g} {box.width + 2 * RIM:.2f} {box.height + 2 * RIM:.2f}",
        drawing="\n".join(drawing_groups(plan, drawing)),
        warnings=print_warnings(drawing),
        notes=notes_of_plan(plan),
        reading=READING,
        invented=entries.invented(notes_of_plan(plan)),
    )


def _one_kit(plan: PicturePlan) -> dict[str, object]:
    """Return what one kit makes of the plan; the kit is None for the plan before any."""
    kit = plan.kits[0] if plan.kits else None
    return {
        "kit": kit,
        "rows": plan_rows(plan),
        "lead": lead(plan),
        "losses": losses(plan),
        "supplies": supplies(kit.matches) if kit else (),
    }


def _embedded(pixels: NDArray[np.uint8]) -> str:
    """Return a picture as an address that holds it: flat ones as PNG, others as JPEG."""
    scale = min(1.0, LONGEST / max(pixels.shape[:2]))
    size = tuple(max(1, round(side * scale)) for side in pixels.shape[1::-1])
    small = Image.fromarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA))
    packed = {"png": io.BytesIO(), "jpeg": io.BytesIO()}
    small.save(packed["png"], "PNG", optimize=True)
    small.save(packed["jpeg"], "JPEG", quality=QUALITY, subsampling=0)
    kind, data = min(packed.items(), key=lambda form: len(form[1].getvalue()))
    return f"data:image/{kind};base64,{base64.b64encode(data.getvalue()).decode('ascii')}"
