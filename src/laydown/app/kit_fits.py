"""The fit for a kit of any media on a paper.

Markers are fitted range by range, as ever; pencils and washes a medium at a time, since the ranges
of one share the paper's tooth and layers of two tell of both. A kept fit holds while what it rests
on is what it was.
"""

import hashlib
from collections.abc import Sequence

from laydown.app.film_text import write_film_fit
from laydown.app.fits import fit_for, not_swatched
from laydown.app.kept_fits import read_films, sound
from laydown.media.carry import carry_films, carry_markers
from laydown.media.colorant import Colorant
from laydown.media.drying import as_dry
from laydown.media.film_fit import fit_films
from laydown.media.film_model import FILM_VERSION, FilmFit
from laydown.media.kit_fit import AnyFit, KitFit
from laydown.media.laydown import Medium
from laydown.media.marker import MarkerFit
from laydown.media.paper import Paper
from laydown.media.swatch import Swatch
from laydown.store.library import Library
from laydown.store.records import FitKey
from laydown.store.work import Work

FILMS = (Medium.PENCIL, Medium.WASH)


def kit_fit_for(
    library: Library, ranges: Sequence[str], paper: str, *, also: Sequence[str] = ()
) -> AnyFit:
    """Return the fit for ranges, of whatever media, on this paper.

    Parameters
    ----------
    library
        Where swatches and kept fits are; a new fit is kept there.
    ranges
        Names of ranges that must be there.
    paper
        Its name.
    also
        Further ranges; one of pencils or washes without a swatch on this paper is left out.

    Returns
    -------
    MarkerFit or KitFit
        The former for markers alone.

    Raises
    ------
    UnknownNameError
        For a range or paper that isn't in the library.
    NotMeasuredError
        For a range of markers, or one that must be there, without a swatch on this paper.
    """
    with library.look() as work:
        name = work.paper_name(paper)
        by_medium = _by_medium(work, sorted({*ranges, *also}))
        films = {m: _seen(work, by_medium.get(m, []), name, ranges) for m in FILMS}
    markers = by_medium.get(Medium.MARKER, [])
    if not any(films.values()):
        return fit_for(library, markers or [*ranges, *also], paper)
    return KitFit(
        fit_for(library, markers, paper) if markers else None,
        *(_film_fit(library, films[medium], name, medium) for medium in FILMS),
    )


def carried_fit_for(library: Library, ranges: Sequence[str], paper: str, source: str) -> AnyFit:
    """Return the fit for ranges carried over to a paper from another they are known on.

    Parameters
    ----------
    library
        Where swatches are. One coat of some colorants on the new paper are its anchors; none will
        do, with less to go by.
    ranges
        Names of ranges.
    paper, source
        Names of the new paper and of the one they are known on.
    """
    known = kit_fit_for(library, ranges, source)
    with library.look() as work:
        new = work.paper(paper)
        anchors = _own(work, sorted(set(ranges)), new.name)
    if isinstance(known, MarkerFit):
        return carry_markers(known, new, _of(anchors, Medium.MARKER))
    return KitFit(
        carry_markers(known.markers, new, _of(anchors, Medium.MARKER)) if known.markers else None,
        carry_films(known.pencils, new, _of(anchors, Medium.PENCIL)) if known.pencils else None,
        carry_films(known.washes, new, _of(anchors, Medium.WASH)) if known.washes else None,
    )


def _of(swatches: Sequence[Swatch], medium: Medium) -> list[Swatch]:
    return [s for s in swatches if {c.medium for c in s.recipe.colorants} == {medium}]


def _seen(work: Work, names: list[str], paper: str, needed: Sequence[str]) -> list[str]:
    """Return the ranges that have a swatch on a paper; one that is needed must have."""
    seen = [name for name in names if work.swatches(range=name, paper=paper)]
    for name in names:
        if name in needed and name not in seen:
            raise not_swatched(work, name, paper)
    return seen


def _by_medium(work: Work, names: Sequence[str]) -> dict[Medium, list[str]]:
    found: dict[Medium, list[str]] = {}
    for name in names:
        for medium in {colorant.medium for colorant in work.colorants(name)}:
            found.setdefault(medium, []).append(name)
    return found


def _film_fit(
    library: Library, names: list[str], paper_name: str, medium: Medium
) -> FilmFit | None:
    """Return the kept fit of these ranges where it still holds, else make and keep one."""
    if not names:
        return None
    with library.look() as work:
        paper = work.paper(paper_name)
        colorants = [c for name in names for c in work.colorants(name) if c.medium is medium]
        key = _key(work, names, paper, colorants)
        kept = _kept(work.fit(key), colorants, paper)
        swatches = [] if kept else _own(work, names, paper.name)
    if kept:
        return kept
    made = fit_films(as_dry(swatches), paper, medium, colorants=colorants)
    with library.work("keep a fit") as work:
        work.keep_fit(key, write_film_fit(made))
    return made


def _kept(text: str | None, colorants: list[Colorant], paper: Paper) -> FilmFit | None:
    if text is None:
        return None
    return sound(text, len(colorants), lambda text: read_films(text, colorants, paper))


def _key(work: Work, names: list[str], paper: Paper, colorants: Sequence[Colorant]) -> FitKey:
    parts = [work.swatch_hash(names, paper.name), str(paper.coats_limit), *map(str, colorants)]
    digest = hashlib.sha256("\n".join(parts).encode()).hexdigest()
    return FitKey(tuple(names), paper.name, FILM_VERSION, digest)


def _own(work: Work, names: list[str], paper: str) -> list[Swatch]:
    """Return the swatches on a paper whose colorants all belong to these ranges."""
    stored = {s.id: s.swatch for name in names for s in work.swatches(range=name, paper=paper)}
    return [
        swatch
        for _, swatch in sorted(stored.items())
        if {c.range for c in swatch.recipe.colorants} <= set(names)
    ]
