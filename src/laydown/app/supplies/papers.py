"""Papers to color on: added, shown, changed, removed, and how a range is carried over to one."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from laydown.app import fits, words
from laydown.app.supplies.names import INVENTED
from laydown.color.lab import xyz_from_lab
from laydown.color.reconstruction import reflectance_from_xyz
from laydown.color.typed import Form, measured_color
from laydown.errors import BadColorError, LibraryError
from laydown.media.kit.carrying import choose_anchors as chosen
from laydown.media.kit.fit import AnyFit
from laydown.media.recipe import USUAL_COATS_LIMIT, Colorant, Paper, Recipe, Surface
from laydown.media.swatch import Basis, Swatch
from laydown.store.library import Library, Work, remembered
from laydown.store.records import Coverage


def _give_color(work: Work, name: str, color: str) -> None:
    """Put a typed color in the place of what pictures or earlier typing said of bare paper."""
    lab, form = measured_color(color)
    if form is Form.SCREEN:
        raise BadColorError(
            "A color off a screen is no measurement of a paper.",
            hint="Measure it, and write lab: or xyz: and three numbers.",
        )
    bare = work.bare_paper(name)
    if any(stored.swatch.basis is Basis.SPECTRUM for stored in bare):
        raise LibraryError(
            f"A spectrum of bare {name} is in the library, which tells more than a typed color.",
            hint="Remove its swatch first, if it is wrong.",
            command="laydown swatches remove",
        )
    work.remove_swatches(stored.id for stored in bare)
    reflectance = reflectance_from_xyz(xyz_from_lab(lab))
    work.add_swatches([Swatch(name, Recipe(), reflectance, Basis.XYZ)])


Counts = Mapping[str, Mapping[str, int]]
"""How many swatches use a colorant, by its label and by paper."""


UsualPapers = tuple[Mapping[str, str], Mapping[str, str], str]


@remembered(8)
def usual_papers(library: Library) -> UsualPapers:
    """Return on which paper each kit, and each range, was swatched most; none is left out.

    The third is the one with most swatches of one's own papers, then of invented ones; empty
    without any paper.
    """
    with library.look() as work:
        counts, papers = work.swatches_by_label(), work.paper_names()
        kits = {kit.name: [c.label for c in kit.colorants] for kit in work.kits()}
    ranges: dict[str, list[str]] = {}
    for label in counts:
        ranges.setdefault(label.rpartition("/")[0], []).append(label)
    everywhere = _sum(counts, counts)

    def worth(paper: str) -> tuple[bool, bool, int]:
        return everywhere[paper] > 0, paper not in INVENTED, everywhere[paper]

    own = max(sorted(papers), key=worth, default="")
    return _most_of(counts, kits), _most_of(counts, ranges), own


def _most_of(counts: Counts, labels: Mapping[str, Iterable[str]]) -> dict[str, str]:
    sums = {name: _sum(counts, of) for name, of in labels.items()}
    return {name: max(sorted(one), key=lambda p: one[p]) for name, one in sums.items() if one}


def _sum(counts: Counts, labels: Iterable[str]) -> Counter[str]:
    total: Counter[str] = Counter()
    for label in labels:
        total.update(counts.get(label, {}))
    return total


@dataclass(frozen=True, slots=True, eq=False)
class PaperInWords:
    """A paper with its bare color, which is assumed where it wasn't measured."""

    name: str
    coats_limit: int
    """How many coats it bears."""
    measured: bool
    surface: Surface
    color: words.ColorInWords
    fluorescent: bool
    """Whether it sends out more light than falls on it somewhere in the spectrum."""
    bare_swatches: int | None = None
    """How many patches of bare paper were measured."""
    ranges: tuple[Coverage, ...] | None = None
    """What was swatched on it; both None where it isn't the one paper that is shown."""


def _in_words(paper: Paper) -> PaperInWords:
    return PaperInWords(
        paper.name,
        paper.coats_limit,
        paper.measured,
        paper.surface,
        words.reflectance_in_words(paper.reflectance),
        bool(paper.reflectance.max() > 1),
    )


def add_paper(
    library: Library,
    name: str,
    *,
    coats_limit: int = USUAL_COATS_LIMIT,
    color: str = "",
    surface: Surface = Surface.UNSAID,
) -> PaperInWords:
    """Add a paper that has no swatches yet.

    `coats_limit` is how many coats in all it bears. `color`: its measured bare color as ``lab:`` or
    ``xyz:``; empty where that is unknown. `surface` says whether it is coated. Raises
    `DuplicateNameError` when there is one of this name. Raises `BadColorError` for a color that is
    none.
    """
    with library.work(f"add the paper {name}") as work:
        made = work.add_paper(name, coats_limit=coats_limit)
        work.set_surface(made.name, surface)
        if color:
            _give_color(work, made.name, color)
        return _in_words(work.paper(made.name))


def edit_paper(
    library: Library,
    name: str,
    *,
    coats_limit: int | None = None,
    color: str = "",
    surface: Surface | None = None,
) -> PaperInWords:
    """Change what is known of a paper by itself, and return it as it now is.

    `coats_limit` is how many coats in all it bears; None to leave that. `color`: its measured bare
    color as ``lab:`` or ``xyz:``; empty to leave that. `surface` says whether it is coated; None to
    leave that. Raises `BadColorError` and `LibraryError` for a color that is none, or where a
    spectrum tells more.
    """
    with library.work(f"edit the paper {name}") as work:
        paper = work.paper(name)
        if coats_limit is not None:
            work.set_coats_limit(paper.name, coats_limit)
        if surface is not None:
            work.set_surface(paper.name, surface)
        if color:
            _give_color(work, paper.name, color)
        return _in_words(work.paper(paper.name))


def remove_paper(library: Library, name: str, *, with_swatches: bool = False) -> int:
    """Remove a paper, with swatches only when told that they may go; return how many went."""
    with library.work(f"remove the paper {name}") as work:
        return work.remove_paper(name, with_swatches=with_swatches)


@remembered(2)
def list_papers(library: Library) -> tuple[PaperInWords, ...]:
    """List all papers, sorted by name."""
    with library.look() as work:
        papers = work.papers()
    return tuple(map(_in_words, papers))


def show_paper(library: Library, name: str) -> PaperInWords:
    """Show the paper of this name with all that is known of it."""
    with library.look() as work:
        paper = work.paper(name)
        bare = len(work.bare_paper(paper.name))
        ranges = tuple(c for c in work.coverage() if c.paper == paper.name)
    return replace(_in_words(paper), bare_swatches=bare, ranges=ranges)


USUAL_COUNT = 5
"""Five anchors carry a range well enough, see docs/decisions/light-and-layers.md."""


def choose_anchors(
    library: Library, range: str, *, paper: str = "", count: int = USUAL_COUNT
) -> tuple[Colorant, ...]:
    """Choose so many anchors of a range, the one that tells most first.

    They are chosen by the paper that the range is known on, empty for the only one. Raises
    `NotMeasuredError` where nothing of the range was swatched on that paper.
    """
    with library.look() as work:
        name = work.find_range(range).name
        paper = fits.paper_named(work, paper)
    return anchors_of(fits.kit_fit_for(library, (name,), paper), count)


def anchors_of(
    fit: AnyFit, count: int = USUAL_COUNT, *, among: Sequence[Colorant] = ()
) -> tuple[Colorant, ...]:
    """Return so many anchors of each medium, taken from those owned; from all where none are."""
    return tuple(colorant for one in fit.fits for colorant in chosen(one, count, among=among))
