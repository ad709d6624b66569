"""Pages that answer for whatever a student owns; and many conversions of lessons at once."""

import hashlib
import json
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import product
from pathlib import Path, PurePath
from typing import Any

import numpy as np

import laydown
from laydown.app.crew import each
from laydown.app.fits import Supplies, SuppliesAtHand, set_up
from laydown.app.lessons.lessons import LessonAsked, convert_lesson, read_lesson
from laydown.app.matches.colors import FORMS, Asking, paper_of_targets, question_of, write_chart
from laydown.app.matches.targets import one_coats_of, settle_targets, targets_of_lesson
from laydown.app.supplies.names import marked_invented
from laydown.app.tasks import write_file
from laydown.color.lab import lab_from_reflectance
from laydown.documents.files.lessons import write_lesson
from laydown.documents.print.answer_page import (
    AnswerPage,
    PageCode,
    PageColor,
    PageList,
    PageWay,
    write_page,
)
from laydown.errors import BadFileError, LaydownError, NotMeasuredError, UnknownNameError
from laydown.match.acceptance import acceptance_words, acceptances
from laydown.match.judge import own
from laydown.match.minimal import PAIRS_ABOVE, minimal_ways
from laydown.match.outcome import Target
from laydown.match.pairs import NO_PAIRS, BestPairs, Pairs
from laydown.match.question import Question, Way, way_of
from laydown.match.ranking import Watch
from laydown.match.search.sense import are_near, is_quiet, sense_of
from laydown.match.words import difference, instructions
from laydown.media.kit.fit import color_of
from laydown.media.legible import capital
from laydown.media.recipe import Colorant, Recipe, Step
from laydown.store.library import Library

ADDRESS = re.compile(r"https?://[^\s/]+\.[^\s]{1,400}")
ABOVE = 6.0
"""Up to how much more than the best of all a way may cost to be sure to be listed [CIEDE2000].

From kits of a third of the demo's markers the best costs so much more for hardly a color."""
MOST_LIKELY = 3
LEAST_BEYOND = 0.02
"""What the page can tell apart, of costs of pairs."""
TWO, PAIRED = 2, 200
"""A pair of colorants asks for two steps; of more colorants than so many not every pair is listed,
else a page would be too large to be mailed (chosen)."""
REACHED = 0.2
"""A color whose best way is accepted by no more than this share is told as out of reach."""


@dataclass(frozen=True, slots=True)
class PageMade:
    """A page as one HTML file."""

    title: str
    paper: str
    html: str
    colors: int
    colorants: int
    """How many colors are wanted, and of how many colorants students may own any part."""
    unreached: tuple[str, ...]
    """Names of colors that nothing of it comes near."""


def make_lesson_page(
    library: Library, request: LessonAsked, *, watch: Watch | None = None
) -> PageMade:
    """Make the page that answers for a lesson, whatever a student owns of some ranges."""
    codes = _codes(library, request.address, request.ticked)
    lesson = read_lesson(request.file, source=request.source)
    bench = set_up(library, request.asking.supplies)
    targets = targets_of_lesson(lesson, bench.swatched)
    notes = [color.note for color in lesson.colors]
    text = write_lesson(lesson).decode()
    page = answer_page(lesson.title, targets, bench, request.asking, notes=notes, watch=watch)
    return _page_of(replace(page, notes=(*lesson.notes, *page.notes), lesson=text, codes=codes))


def make_range_page(
    library: Library, request: LessonAsked, *, watch: Watch | None = None
) -> PageMade:
    """Make the page that converts a whole range, color by color, as a page for a lesson does."""
    codes = _codes(library, request.address, request.ticked)
    wanted_on = paper_of_targets(library, request.asking)
    wanted = one_coats_of(library, wanted_on, range=request.range)
    bench = set_up(library, request.asking.supplies)
    targets = settle_targets(library, wanted, paper=wanted_on, fit=lambda: bench.swatched)
    title = f"{request.range} on {wanted_on}"
    page = answer_page(title, targets, bench, request.asking, watch=watch)
    return _page_of(replace(page, codes=codes))


def _page_of(page: AnswerPage) -> PageMade:
    return PageMade(
        title=page.title,
        paper=page.paper,
        html=write_page(page).decode(),
        colors=len(page.colors),
        colorants=len(page.colorants),
        unreached=page.unreached,
    )


def _codes(library: Library, address: str, kits: Sequence[str]) -> tuple[PageCode, ...]:
    """Return the codes that a page is to have."""
    if not address and not kits:
        return ()
    page = address.partition("#")[0].strip()
    if not ADDRESS.fullmatch(page):
        raise UnknownNameError(
            f"“{address}” is no address of a web page.",
            hint="Give it as a browser shows it, beginning with https://.",
        )
    with library.look() as work:
        return tuple((page, name, work.kit(name)) for name in kits) or ((page, "", ()),)


def answer_page(
    title: str,
    targets: Sequence[Target],
    bench: SuppliesAtHand,
    asking: Asking,
    *,
    notes: Sequence[str] = (),
    watch: Watch | None = None,
) -> AnswerPage:
    """Work out what a page holds, for supplies that are set up.

    `targets`, `notes`: the colors, and what is noted of each; no notes where none is.
    """
    usable = [c for c in bench.whole.colorants if c.label not in bench.without]
    told = notes or [""] * len(targets)
    made = each(
        partial(_ByKit, bench, asking, usable), list(zip(targets, told, strict=True)), watch
    )
    laid = [Recipe((Step(colorant),)) for colorant in usable]
    return AnswerPage(
        title=title,
        paper=bench.whole.paper.name,
        paper_lab=lab_from_reflectance(bench.whole.paper.reflectance),
        notes=(*marked_invented((), laid), *bench.notes),
        colorants=tuple((r.colorants[0], color_of(bench.whole, r)) for r in laid),
        colors=tuple(color for color, _ in made),
        bound=ABOVE,
        every_pair=has_every_pair(usable, asking),
        further=_further(asking.steps, every_pair=has_every_pair(usable, asking)),
        unreached=tuple(color.target.name for color, missed in made if missed),
    )


def has_every_pair(usable: Sequence[Colorant], asking: Asking) -> bool:
    """Whether a page lists every pair of its colorants, however far off."""
    return asking.steps >= TWO and len(usable) <= PAIRED


def _further(steps: int, *, every_pair: bool) -> str:
    """Say what may come nearer than what is listed.

    >>> _further(3, every_pair=True), _further(2, every_pair=True)
    ('Three steps may come nearer.', '')
    """
    counts = [word for count, word in ((2, "two"), (3, "three")) if count <= steps]
    counts = [word for word in counts if not (every_pair and word == "two")]
    return f"{capital(' or '.join(counts))} steps may come nearer." if counts else ""


class _ByKit:
    """Works out a color's answers for every kit; with each whether hardly any kit comes near."""

    def __init__(self, bench: SuppliesAtHand, asking: Asking, usable: Sequence[Colorant]) -> None:
        self.bench, self.asking, self.usable = bench, asking, usable
        self.every_pair = has_every_pair(usable, asking)
        self.pairs: Pairs | None = None
        """Made for the first color; the others ask the same recipes."""

    def __call__(
        self, part: tuple[Target, str], watch: Watch | None = None
    ) -> tuple[PageColor, bool]:
        if watch is not None:
            watch(0, 1)
        target, note = part
        question = question_of(target, self.bench, self.asking)
        listed, missed = self._listed(question)
        near = _near(question, self.usable)
        further = question.with_limits(without=frozenset(c.label for c in near))
        apart = self._listed(further)[0] if near else None
        return PageColor(target, note, listed, near, apart), missed

    def _listed(self, question: Question) -> tuple[PageList, bool]:
        farther = 1.0 if self.every_pair else PAIRS_ABOVE
        ways, exact = minimal_ways(question, above=ABOVE, pairs=farther)
        first = _own_first(question, ways)
        listed = PageList(
            ways=_told(question, first),
            exact=exact,
            pairs=self._pairs_of(question, ways, exact),
            named=own(question) is not None,
        )
        return listed, max(_chances(question, ways[:MOST_LIKELY])) <= REACHED

    def _pairs_of(self, question: Question, ways: Sequence[Way], exact: float) -> BestPairs:
        if not self.every_pair:
            return NO_PAIRS
        pairs = self.pairs = self.pairs or Pairs(question)
        best = pairs.best(question, [(way.recipe.colorants, way.cost) for way in ways])
        # what costs no more is among the ways: there costs are exact, these of own recipes are not
        return replace(best, costs=np.maximum(best.costs, exact + LEAST_BEYOND))


def _near(question: Question, usable: Sequence[Colorant]) -> tuple[Colorant, ...]:
    """Return the colorants at whose presence the sense of the trade asks more for a color."""
    wanted = question.target.lab
    if not question.ranking.sense or not is_quiet(wanted):
        return ()
    sense = sense_of(question.fit, question.limits.without, question.over)
    colored = [colorant for colorant in usable if not colorant.blender]
    near = are_near(sense.labs, wanted).tolist()
    return tuple(colorant for colorant, so in zip(colored, near, strict=True) if so)


def _own_first(question: Question, ways: Sequence[Way]) -> list[Way]:
    """Let who owns the colorant that a color was asked by lay it, as a match does."""
    named = own(question)
    if named is None:
        return list(ways)
    mine = next((way for way in ways if way.recipe == named), None) or way_of(question, named)
    return [mine, *(way for way in ways if way.recipe != named)]


def _told(question: Question, ways: Sequence[Way]) -> tuple[PageWay, ...]:
    return tuple(
        (
            way,
            instructions(way.recipe, over=question.over),
            f"{capital(difference(question.target.lab, way.lab).words)}.",
            f"{capital(acceptance_words(chance))}.",
        )
        for way, chance in zip(ways, _chances(question, ways), strict=True)
    )


def _chances(question: Question, ways: Sequence[Way]) -> list[float]:
    if not ways:
        return []
    seen = np.array([way.lab for way in ways]), np.array([way.covariance for way in ways])
    wanted, tolerance = question.target.lab, question.tolerance
    found: list[float] = acceptances(wanted, *seen, tolerance=tolerance).tolist()
    return found


PAGE = "page"
WRITTEN = (*FORMS, PAGE)
"""What can be made: charts of these forms, and the page that answers."""
MADE = "made.json"
"""Where it is kept what each file was made from."""
LISTS = ("lessons", "ranges", "papers", "write")
NUMBERS = {"steps": (1, 3), "coats": (1, 3)}
WAYS = ("sketch", "class", "close")
UNFIT = re.compile(r'[\\/:*?"<>|\x00-\x1f]')
"""What no file name holds on one of the systems people use."""


def read_batch(content: bytes, *, source: str, folder: Path) -> dict[str, Any]:
    """Read a list of what is to be made, as `run_batch` takes it: TOML (toml.io).

    `content`, `source`: of the file: the lists ``lessons``, ``ranges`` and ``papers``; and where it
    is given, ``write``, ``into``, ``tolerance``, ``steps``, ``coats``. `folder`: in which it lies:
    names of files in it are seen from there. Raises `BadFileError` for what can't be read, isn't
    known, or is missing.
    """
    try:
        told = tomllib.loads(content.decode())
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise BadFileError(f"{source} can't be read: {error}.", hint=AS_IN) from error
    odd = sorted(set(told) - {*LISTS, *NUMBERS, "into", "tolerance"})
    if odd:
        raise BadFileError(f"{source}: “{odd[0]}” means nothing here.", hint=AS_IN)
    lists = {name: _words(told, name, source) for name in LISTS}
    unknown = [form for form in lists["write"] if form not in WRITTEN]
    if unknown:
        raise BadFileError(
            f"{source}: “{unknown[0]}” can't be written.", hint=f"There are {', '.join(WRITTEN)}."
        )
    asking = Asking(tolerance=_one_of(told, "tolerance", WAYS, "class", source))
    limits = {
        name: _one_of(told, name, (1, 2, 3), getattr(asking, name), source) for name in NUMBERS
    }
    return {
        "lessons": [(name, _content(folder / name, source)) for name in lists["lessons"]],
        "ranges": lists["ranges"],
        "papers": lists["papers"],
        "folder": folder / str(told.get("into", "converted")),
        "write": lists["write"] or ("pdf",),
        "asking": replace(asking, **limits),
    }


AS_IN = (
    'Write it as in: lessons = ["lemons.txt"], ranges = ["Orchard"], papers = ["Gannet smooth"].'
)


def _words(told: Mapping[str, Any], name: str, source: str) -> tuple[str, ...]:
    found = told.get(name, [] if name == "write" else None)
    if not isinstance(found, list) or not all(isinstance(one, str) and one for one in found):
        raise BadFileError(f"{source}: “{name}” must be a list of names.", hint=AS_IN)
    if not found and name != "write":
        raise BadFileError(f"{source}: “{name}” names nothing.", hint=AS_IN)
    return tuple(dict.fromkeys(found))


def _one_of(
    told: Mapping[str, Any], name: str, among: Sequence[Any], usual: Any, source: str
) -> Any:
    found = told.get(name, usual)
    if found not in among or isinstance(found, bool):
        listed = ", ".join(map(str, among))
        raise BadFileError(f"{source}: “{name}” can be {listed}.", hint=AS_IN)
    return found


def _content(path: Path, source: str) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise BadFileError(
            f"{source}: {path.name} can't be read ({error.strerror}).",
            hint="Names of files are seen from where the batch lies.",
        ) from error


def run_batch(
    library: Library,
    *,
    lessons: Sequence[tuple[str, bytes]],
    ranges: Sequence[str],
    papers: Sequence[str],
    folder: Path,
    write: Sequence[str],
    asking: Asking,
    watch: Watch | None = None,
) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Make what isn't there yet, or no longer holds; a batch that was stopped goes on so.

    Each lesson, by name and content, is converted from each range on each paper, and written into
    the folder in each of some forms of `WRITTEN`; `asking` says how each color is looked for.
    Returned are names of the files that were made, and of those that were there from before; and
    sentences on what can't be made, and why.
    """
    folder.mkdir(parents=True, exist_ok=True)
    known = _known(folder)
    made, there, troubles = [], [], []
    parts = list(product(lessons, ranges, papers, write))
    for done, ((name, content), label, paper, form) in enumerate(parts):
        if watch is not None:
            watch(done, len(parts))
        own = replace(asking, supplies=Supplies(ranges=(label,), paper=paper))
        target = folder / _file_name(name, label, paper, form)
        try:
            rests_on = _digest(library, content, form, own)
            if known.get(target.name) == rests_on and target.exists():
                there.append(target.name)
                continue
            write_file(target, _content_made(library, name, content, form, own))
        except LaydownError as error:
            troubles.append(f"{target.name}: {error.message}")
            continue
        known[target.name] = rests_on
        write_file(folder / MADE, (json.dumps(known, indent=1, sort_keys=True) + "\n").encode())
        made.append(target.name)
    return tuple(made), tuple(there), tuple(troubles)


def _content_made(library: Library, name: str, content: bytes, form: str, asking: Asking) -> bytes:
    asked = LessonAsked(content, name, asking, turns=0)
    if form == PAGE:
        return make_lesson_page(library, asked).html.encode()
    return write_chart(convert_lesson(library, asked).together, form)


def _file_name(lesson: str, label: str, paper: str, form: str) -> str:
    """Return what a file is called.

    >>> _file_name("bowl/lemons.txt", "Orchard", "Gannet: smooth", "page")
    'lemons from Orchard on Gannet- smooth, answers.html'
    """
    told = f"{PurePath(lesson).stem} from {label} on {paper}"
    ending = ", answers.html" if form == PAGE else f".{form}"
    return UNFIT.sub("-", told) + ending


def _digest(library: Library, content: bytes, form: str, asking: Asking) -> str:
    """Return a hash of all that a file rests on."""
    (label,), paper = asking.supplies.ranges, asking.supplies.paper
    with library.look() as work:
        if not work.count_swatches(range=label, paper=paper):
            raise NotMeasuredError(f"{label} isn't swatched on {paper}.")
        swatches = work.swatch_hash([label], paper)
    parts = (laydown.__version__, form, swatches, repr(asking))
    return hashlib.sha256("\n".join(parts).encode() + content).hexdigest()


def _known(folder: Path) -> dict[str, str]:
    """Return what is kept of an earlier run; of a file that isn't ours, nothing."""
    try:
        found = json.loads((folder / MADE).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}
