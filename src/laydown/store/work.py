"""One command's work on the library: everything it reads and writes, in one transaction.

Names are found whatever their capitals and spacing. A name that isn't there raises
`UnknownNameError` with the nearest names as its hint; one that stands for several things raises
`AmbiguousNameError` and lists them; one that is taken raises `DuplicateNameError`.
"""

from collections.abc import Iterable, Sequence
from datetime import datetime

from laydown.media.colorant import Colorant
from laydown.media.paper import USUAL_COATS_LIMIT, Paper
from laydown.media.swatch import Swatch
from laydown.store.records import Added, FitKey, Kit, Range, StoredSwatch


class Work:
    """What a command may ask of the library and do to it; made by `Library.work` or `.look`."""

    # Papers

    def add_paper(self, name: str, *, coats_limit: int = USUAL_COATS_LIMIT) -> Paper:
        """Add a paper that has no swatches yet."""
        raise NotImplementedError

    def paper(self, name: str) -> Paper:
        """Return a paper; its reflectance is the mean of its bare-paper swatches.

        Without any, a usual white is assumed and `Paper.measured` is False.
        """
        raise NotImplementedError

    def papers(self) -> tuple[Paper, ...]:
        """Return all papers, sorted by name."""
        raise NotImplementedError

    def set_coats_limit(self, name: str, coats_limit: int) -> Paper:
        """Say how many coats in all a paper bears."""
        raise NotImplementedError

    def remove_paper(self, name: str, *, with_swatches: bool = False) -> int:
        """Remove a paper, and its swatches if told so; return how many swatches went."""
        raise NotImplementedError

    # Ranges and colorants

    def ranges(self) -> tuple[Range, ...]:
        """Return all ranges, sorted by name."""
        raise NotImplementedError

    def find_range(self, text: str) -> Range:
        """Return the range of that name."""
        raise NotImplementedError

    def add_colorants(self, colorants: Iterable[Colorant]) -> tuple[Colorant, ...]:
        """Add colorants with their ranges; return those that were new."""
        raise NotImplementedError

    def colorants(self, range: str | None = None) -> tuple[Colorant, ...]:  # noqa: A002 - the trade's word
        """Return the colorants of one range or of all, sorted by range and name."""
        raise NotImplementedError

    def find_colorant(self, text: str, *, among: Sequence[Colorant] | None = None) -> Colorant:
        """Return the colorant that a name, ``Range/Name`` or an owner's code stands for.

        Parameters
        ----------
        text
            What was typed. ``Range/Name`` is tried first, then names, then codes.
        among
            Look only among these (a kit); None is the whole library.
        """
        raise NotImplementedError

    # Swatches

    def add_swatches(self, swatches: Sequence[Swatch], *, when: datetime | None = None) -> Added:
        """Take in swatches with the ranges, colorants and papers they name: all of them or none.

        Replicates are kept. A swatch that agrees in paper, recipe and every number with one that
        is there already (or stands earlier in the list) is skipped and reported.

        Parameters
        ----------
        swatches
            In the order of the file they came from.
        when
            The moment of taking in, aware of its time zone; None is now.
        """
        raise NotImplementedError

    def swatches(
        self,
        range: str | None = None,  # noqa: A002 - the trade's word
        paper: str | None = None,
        colorant: Colorant | None = None,
    ) -> tuple[StoredSwatch, ...]:
        """Return swatches in the order they were taken in.

        Parameters
        ----------
        range
            Only those whose recipe uses a colorant of this range.
        paper
            Only those on this paper.
        colorant
            Only those whose recipe uses this colorant.
        """
        raise NotImplementedError

    def bare_paper(self, paper: str) -> tuple[StoredSwatch, ...]:
        """Return the swatches of a paper with nothing on it."""
        raise NotImplementedError

    def remove_swatches(self, ids: Iterable[int]) -> int:
        """Remove swatches by their numbers; return how many."""
        raise NotImplementedError

    def swatch_hash(self, ranges: Sequence[str], paper: str) -> str:
        """Return a hash of all that a fit of these ranges on this paper rests on.

        It covers the paper's bare swatches and every swatch on it whose colorants all belong to
        these ranges; not the order they were taken in, nor their numbers.
        """
        raise NotImplementedError

    # Kits

    def kits(self) -> tuple[Kit, ...]:
        """Return all kits, sorted by name."""
        raise NotImplementedError

    def kit(self, name: str) -> tuple[Colorant, ...]:
        """Return the colorants of a kit, sorted by range and name."""
        raise NotImplementedError

    def add_kit(self, name: str) -> None:
        """Add an empty kit."""
        raise NotImplementedError

    def remove_kit(self, name: str) -> None:
        """Remove a kit; its colorants stay in the library."""
        raise NotImplementedError

    def own(self, kit: str, colorants: Iterable[Colorant]) -> tuple[Colorant, ...]:
        """Put colorants into a kit; return those that weren't in it before."""
        raise NotImplementedError

    def disown(self, kit: str, colorants: Iterable[Colorant]) -> tuple[Colorant, ...]:
        """Take colorants out of a kit; return those that were in it."""
        raise NotImplementedError

    # Fits: a cache, never part of what undo takes back

    def fit(self, key: FitKey) -> str | None:
        """Return the kept fit for exactly this key, as its owner wrote it, or None."""
        raise NotImplementedError

    def keep_fit(self, key: FitKey, payload: str) -> None:
        """Keep a fit (JSON text) in place of any other of the same ranges and paper."""
        raise NotImplementedError
