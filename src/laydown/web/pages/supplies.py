"""Kits, papers and ranges."""

from typing import Annotated, Literal
from urllib.parse import quote, urlencode

from fastapi import APIRouter, Depends, Form, Query, Request, Response
from pydantic import BaseModel, Field

from laydown.app.encoding import named
from laydown.app.reports import shades_by_hue
from laydown.app.runs import CompareRanges, RangesCompared, by_hue, label_of, measured_shades
from laydown.app.supplies import kits as kit_tasks
from laydown.app.supplies import papers as paper_tasks
from laydown.app.supplies import ranges as range_tasks
from laydown.app.supplies.ranges import mark_pan
from laydown.media.pan_marks import MarkedPan, marks_in_words
from laydown.media.recipe import USUAL_COATS_LIMIT, Colorant, Medium, Stock, Surface
from laydown.web import asking as ask
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.faces import Beside, changes, enter, go_to, of_library, shows
from laydown.web.files import hands_over
from laydown.web.long_work import asked_by, finds, jobs_of, starts
from laydown.web.rendering import SWATCHES_AT_ONCE, render

router = APIRouter()
MOST_SHOWN = 300
"""Colorants of a kit that its page lists at once."""


def kit_address(name: str) -> str:
    """Return the page of a kit."""
    return f"/kit?name={quote(name)}"


shows(router, "/kits", "kits.html.j2", under="kits")(of_library(kit_tasks.list_kits))
kit = of_library(kit_tasks.show_kit, name=ask.Name)


def kit_page(
    library: AtLibrary,
    shown: Annotated[tuple[kit_tasks.KitColorant, ...], Depends(kit)],
    *,
    typed: ask.Name = "",
    of: ask.Name = "",
    tick: Annotated[list[ask.Label] | None, Query(max_length=ask.MOST_NAMES)] = None,
) -> Beside:
    """Return what the page of a kit shows besides."""
    owned = {one.colorant for one in shown}
    held = [one for one in shown if of in {"", one.colorant.range}]
    offers, more = kit_tasks.offers_for(library, owned, typed=typed, range_name=of)
    *_, paper = paper_tasks.usual_papers(library)
    shades = measured_shades(library, paper) if paper else ()
    return {
        "labs": {label_of(one): one.lab for one in shades},
        "offers": offers,
        "more": more,
        "typed": typed,
        "of": of,
        "ticked": tuple(dict.fromkeys(tick or ())),
        "shown": tuple(held[:MOST_SHOWN]),
    }


shows(router, "/kit", "kit.html.j2", beside=kit_page, under="colorants")(kit)


def box(library: AtLibrary, supplies: ask.SuppliesOf) -> kit_tasks.BoxLaidOut | Beside:
    """Lay out all that is in a box by its color; nothing where none of it was swatched yet."""
    kits, ranges, _ = paper_tasks.usual_papers(library)
    known = kits.get(supplies.kit) if supplies.kit else ranges
    if not known:
        return {"label": supplies.kit, "shades": (), "notes": ()}
    return kit_tasks.lay_out_box(library, supplies)


def box_page(
    library: AtLibrary,
    answer: Annotated[kit_tasks.BoxLaidOut | Beside, Depends(box)],
    supplies: ask.SuppliesOf,
    mark: Stock | None = None,
    first: ask.Count = 0,
) -> Beside:
    """Return what the page of a box shows besides: its stock, and what a touch marks there."""
    shown: Beside = {"supplies": supplies, "hues": (), "stock": {}, "mark": None}
    if not isinstance(answer, kit_tasks.BoxLaidOut):
        return shown
    kit = supplies.kit
    owned = kit_tasks.show_kit(library, kit) if kit else ()
    return shown | {
        "hues": shades_by_hue(by_hue(answer.shades)[first : first + SWATCHES_AT_ONCE]),
        "stock": {one.colorant.label: one.stock.value for one in owned},
        "stocks": tuple(Stock),
        "mark": mark if kit else None,
    }


shows(router, "/box", "box.html.j2", beside=box_page)(box)
hands_over(router, "/box/file", box, "{0.label}")
MADE = "The kit {0} is there. Now say what is in it."
changes(router, "/kits", kit_address, MADE, under="name")(
    of_library(kit_tasks.create_kit, name=ask.FullLine)
)


class OwnFields(BaseModel):
    """What to put into a kit: ticked, typed one a line, or a range as a whole."""

    kit: Annotated[str, Field(min_length=1, max_length=ask.LONGEST)]
    pasted: Annotated[str, Field(max_length=100_000)] = ""
    tick: Annotated[list[ask.Label], Field(max_length=ask.MOST_NAMES)] = []
    range: Annotated[list[ask.Label], Field(max_length=ask.MOST_NAMES)] = []
    new_range: Annotated[str, Field(max_length=ask.LONGEST)] = ""
    medium: Annotated[Medium | None, ask.Blank] = None

    @property
    def names(self) -> tuple[str, ...]:
        """What was ticked and typed."""
        return tuple(name for name in (*self.tick, *ask.names_of(self.pasted)) if name)

    @property
    def ranges(self) -> tuple[str, ...]:
        """What was named as a whole."""
        return tuple(name for name in self.range if name)

    def own(self, library: AtLibrary) -> kit_tasks.KitChanged:
        """Put it in, all of it or nothing."""
        return kit_tasks.own_colorants(
            library,
            self.kit,
            self.names,
            ranges=self.ranges,
            new_range=self.new_range.strip(),
            medium=self.medium,
        )


def unclear(library: AtLibrary, asked: Annotated[OwnFields, Query()]) -> kit_tasks.NamesChecked:
    """Say which names are clear, and what the others may have meant."""
    return kit_tasks.check_names(library, asked.names)


def _names_asked(asked: Annotated[OwnFields, Query()]) -> Beside:
    told = {"kit": asked.kit, "tick": asked.names, "range": asked.ranges}
    return {"asked": asked, "address": f"/kit/own?{urlencode(told, doseq=True)}"}


AS_CHECKED, AS_CHANGED = "found unclear", "kit changed unchanged colorants"
shows(router, "/kit/own", "unclear.html.j2", beside=_names_asked, under=AS_CHECKED)(unclear)
ToOwn = Annotated[OwnFields, Form()]


def own_page(request: Request, library: AtLibrary, asked: ToOwn) -> Response:
    """Put colorants into a kit, or ask what the names mean that aren't clear."""
    checked = kit_tasks.check_names(library, asked.names)
    if checked[1] and not asked.new_range.strip():
        answer = named(checked, AS_CHECKED)
        return render(request, "unclear.html.j2", answer=answer, beside=_names_asked(asked))
    kit, new, _, held = asked.own(library)
    return go_to(kit_address(kit), f"{len(new)} put in; the kit now holds {held}.")


def own(library: AtLibrary, asked: ToOwn) -> kit_tasks.KitChanged:
    """Put colorants into a kit, all of them or, if one name is unknown, none."""
    return asked.own(library)


enter(router, "POST", "/kit/own", own, page=own_page, under=AS_CHANGED)


def mark_stock(
    library: AtLibrary,
    kit: ask.FullLine,
    colorant: Annotated[ask.Label, Form()],
    stock: Annotated[Stock, Form()],
) -> kit_tasks.KitColorant:
    """Say that something of a kit runs low, is used up, is on loan, or is there again."""
    return kit_tasks.mark_stock(library, kit, colorant, stock)


def _mark_and_go_on(
    done: Annotated[kit_tasks.KitColorant, Depends(mark_stock)], kit: ask.FullLine
) -> Response:
    """Lead back to the box, where the next one can be marked."""
    asked = urlencode({"kit": kit, "mark": done.stock})
    return go_to(f"/box?{asked}", f"{done.colorant.name}: {done.stock}.")


enter(router, "POST", "/kit/mark", mark_stock, page=_mark_and_go_on)


@changes(
    router,
    "/kit/disown",
    lambda made: kit_address(made[0]),
    lambda made: f"{len(made[1])} taken out; the kit now holds {made[-1]}.",
    under=AS_CHANGED,
)
def disown(library: AtLibrary, kit: ask.FullLine, tick: ask.Ticked) -> kit_tasks.KitChanged:
    """Take colorants out of a kit."""
    return kit_tasks.disown_colorants(library, kit, tuple(tick))


@changes(router, "/kit/remove", "/kits", "{0} is gone.", under="name")
def remove_named_kit(library: AtLibrary, kit: ask.FullLine) -> str:
    """Remove a kit; its colorants and their swatches stay."""
    return kit_tasks.remove_kit(library, kit)


Coats = Annotated[int, Form(ge=1, le=99)]


def paper_address(name: str) -> str:
    """Return the page of a paper."""
    return f"/paper?name={quote(name, safe='')}"


shows(router, "/papers", "papers.html.j2", under="papers")(of_library(paper_tasks.list_papers))
shows(router, "/paper", "paper.html.j2")(of_library(paper_tasks.show_paper, name=ask.Name))


@shows(router, "/paper/anchors", "anchors.html.j2", under="anchors")
def anchors(
    library: AtLibrary,
    range: ask.Name,
    known_on: ask.Name = "",
    count: Annotated[int, Query(ge=1, le=99)] = paper_tasks.USUAL_COUNT,
) -> tuple[Colorant, ...]:
    """Name the colorants of a range to swatch on a new paper, so that the rest can be carried."""
    return paper_tasks.choose_anchors(library, range, paper=known_on, count=count)


@changes(router, "/papers", lambda made: paper_address(made.name), "The paper {0.name} is there.")
def new_paper(
    library: AtLibrary,
    name: ask.FullLine,
    coats_limit: Coats = USUAL_COATS_LIMIT,
    color: ask.Line = "",
    surface: Annotated[Surface, Form()] = Surface.UNSAID,
) -> paper_tasks.PaperInWords:
    """Add a paper that nothing was swatched on yet."""
    return paper_tasks.add_paper(
        library, name, coats_limit=coats_limit, color=color.strip(), surface=surface
    )


@changes(
    router,
    "/paper/edit",
    lambda made: paper_address(made.name),
    lambda made: (
        f"{made.name} bears {made.coats_limit} coats in all. Bare it is {made.color.words}."
    ),
)
def edit(
    library: AtLibrary,
    name: ask.FullLine,
    coats_limit: Annotated[int | None, Form(ge=1, le=99)] = None,
    color: ask.Line = "",
    surface: Annotated[Surface | None, Form()] = None,
) -> paper_tasks.PaperInWords:
    """Say how many coats a paper bears, what color it is bare, or whether it is coated."""
    return paper_tasks.edit_paper(
        library, name, coats_limit=coats_limit, color=color.strip(), surface=surface
    )


changes(
    router, "/paper/remove", "/papers", "It is gone, and {0} swatches with it.", under="swatches"
)(of_library(paper_tasks.remove_paper, name=ask.FullLine, with_swatches=ask.YesSent))
TASK = "compare_ranges"


def ranges_around(
    library: AtLibrary, jobs: AtJobs, first: ask.Name = "", paper: ask.Name = "", job: ask.Count = 0
) -> Beside:
    """Return what the page of ranges shows besides."""
    media = {one.name: one.medium for one in range_tasks.list_ranges(library)}
    first = first or next(iter(media), "")
    others = [name for name in media if name != first]
    others.sort(key=lambda name: media[name] != media.get(first))  # markers beside markers
    asked = CompareRanges(first, next(iter(others), ""), paper)
    asked = asked_by(jobs, job, CompareRanges) if job else asked
    made = jobs_of(jobs, TASK)
    return {"comparisons": made, "asked": asked}


shows(router, "/ranges", "ranges.html.j2", beside=ranges_around, under="ranges")(
    of_library(range_tasks.list_ranges)
)


@starts(
    router,
    "/ranges/compare",
    TASK,
    "/ranges/compared",
    "{0.first} and {0.second} compared",
    mended_at="/ranges",
)
def compare(
    first: ask.FullLine,
    second: ask.FullLine,
    paper: ask.Line = "",
    tolerance: Annotated[Literal["sketch", "class", "close"], Form()] = "class",
) -> CompareRanges:
    """Compare what two ranges reach on a paper, recipes counted."""
    return CompareRanges(first, second, paper, tolerance)


ranges_compared = finds(RangesCompared)
shows(router, "/ranges/compared", "ranges_compared.html.j2")(ranges_compared)
hands_over(
    router,
    "/ranges/file",
    ranges_compared,
    "{0.comparison.first.name} and {0.comparison.second.name} compared",
)
papers_known = of_library(range_tasks.papers_of_range, name=ask.Name)


@shows(router, "/range", "range.html.j2", beside=papers_known)
def known(
    library: AtLibrary, name: ask.Name, paper: ask.Name = "", quick: Annotated[bool, Query()] = True
) -> range_tasks.RangeShown:
    """Show what is known of a range on a paper."""
    return range_tasks.show_range(library, name, paper, quick=quick)


def mark(
    library: AtLibrary,
    pan: ask.FullLine,
    mark: ask.Ticked = [],  # noqa: B006  FastAPI copies it
) -> MarkedPan:
    """Say what the trade says of a pan, in place of what was said before."""
    return mark_pan(library, pan, tuple(word for word in mark if word))


def _mark_and_look(done: Annotated[MarkedPan, Depends(mark)], paper: ask.Line = "") -> Response:
    """Lead back to the page of the range, on the paper it was looked at on."""
    asked = urlencode({"name": done.colorant.range, "paper": paper})
    return go_to(f"/range?{asked}", f"{done.colorant.name}: {marks_in_words(done)}.")


enter(router, "POST", "/range/mark", mark, page=_mark_and_look)
changes(
    router, "/range/remove", "/swatches", "It is gone, and {0} swatches with it.", under="swatches"
)(of_library(range_tasks.remove_range, name=ask.FullLine, with_swatches=ask.YesSent))
