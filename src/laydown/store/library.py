"""The library: opened, migrated, and worked on one transaction at a time.

How it is used
--------------
::

    library = open_library(None)                  # or a path, or a URL
    with library.work("own two markers") as work: # one transaction, one entry to undo
        kit = work.own("mine", [work.find_colorant("Kelp"), work.find_colorant("Orchard/Fig")])
    with library.look() as work:                  # reads only
        swatches = work.swatches(range="Estuary", paper="Gannet smooth")
    library.undo()

``work`` and ``look`` hand over a `Work`, which speaks in the frozen types of `media` and of
`store.records` (`Range`, `StoredSwatch`, `Added`, `Kit`, `FitKey`, `Change`); see `store.work` for
all it can do. Don't compute inside either, since others wait: ``look``, compute, then ``work``.
"""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from sqlalchemy import Engine, select
from sqlalchemy.orm import Session

from laydown.errors import LibraryError
from laydown.media.colorant import USUAL_COATS_LIMIT, Colorant, Paper
from laydown.media.swatch import Swatch
from laydown.store import fits, journal, supplies
from laydown.store import swatches as store_swatches
from laydown.store.files import Location, copy_file, find_location, make_engine
from laydown.store.jobs import JobShelf
from laydown.store.lessons import Lessons
from laydown.store.lightfastness import Ratings
from laydown.store.migrating import bring_up_to_date
from laydown.store.plans import Plans
from laydown.store.records import Added, Change, Coverage, FitKey, Held, Kit, Range, StoredSwatch
from laydown.store.restoring import put_in_place
from laydown.store.sheets import Sheets
from laydown.store.stamps import now
from laydown.store.supplies import pick_colorant
from laydown.store.tables import KitRow, PaperRow
from laydown.store.trials import Notebook
from laydown.store.trouble import plainly

# One command's work on the library: everything it reads and writes, in one transaction.
#
# Names are found whatever their capitals and spacing. A name that isn't there raises
# `UnknownNameError` with the nearest names as its hint; one that stands for several things raises
# `AmbiguousNameError` and lists them; one that is taken raises `DuplicateNameError`.


class Work:
    """What a command may ask of the library and do to it; made by `Library.work` or `.look`.

    What is kept by numbers has shelves of its own: `notebook` (the trials), `sheets`,
    `lightfastness` (classes, and tests in a window), `lessons`, `plans` (of pictures) and `jobs`.
    """

    def __init__(self, session: Session) -> None:
        self._session = session
        self.notebook = Notebook(session)
        self.sheets = Sheets(session)
        self.lightfastness = Ratings(session)
        self.lessons = Lessons(session)
        self.plans = Plans(session)
        self.jobs = JobShelf(session)

    # Papers

    def add_paper(self, name: str, *, coats_limit: int = USUAL_COATS_LIMIT) -> Paper:
        """Add a paper that has no swatches yet."""
        row = supplies.add_paper(self._session, name, coats_limit)
        return supplies.paper_of(self._session, row)

    def paper(self, name: str) -> Paper:
        """Return a paper; its reflectance is the mean of its bare-paper swatches.

        Without any, a usual white is assumed and `Paper.measured` is False.
        """
        return supplies.paper_of(self._session, supplies.paper_row(self._session, name))

    def paper_name(self, name: str) -> str:
        """Return the name of a paper as it was first written."""
        return supplies.paper_row(self._session, name).name

    def papers(self) -> tuple[Paper, ...]:
        """Return all papers, sorted by name."""
        rows = self._session.scalars(select(PaperRow).order_by(PaperRow.key)).all()
        return tuple(supplies.paper_of(self._session, row) for row in rows)

    def paper_names(self) -> tuple[str, ...]:
        """Return the names of all papers, sorted."""
        return tuple(self._session.scalars(select(PaperRow.name).order_by(PaperRow.key)))

    def set_coats_limit(self, name: str, coats_limit: int) -> Paper:
        """Say how many coats in all a paper bears."""
        row = supplies.set_coats_limit(self._session, name, coats_limit)
        return supplies.paper_of(self._session, row)

    def remove_paper(self, name: str, *, with_swatches: bool = False) -> int:
        """Remove a paper, and its swatches if told so; return how many swatches went."""
        return supplies.remove_paper(self._session, name, with_swatches=with_swatches)

    # Ranges and colorants

    def ranges(self) -> tuple[Range, ...]:
        """Return all ranges, sorted by name."""
        return supplies.all_ranges(self._session)

    def find_range(self, text: str) -> Range:
        """Return the range of that name."""
        name = supplies.range_row(self._session, text).name
        return next(known for known in self.ranges() if known.name == name)

    def add_colorants(self, colorants: Iterable[Colorant]) -> tuple[Colorant, ...]:
        """Add colorants with their ranges; return those that were new."""
        return supplies.add_colorants(self._session, colorants)

    def colorants(self, range: str | None = None) -> tuple[Colorant, ...]:  # noqa: A002 - the trade's word
        """Return the colorants of one range or of all, sorted by range and name."""
        return supplies.all_colorants(self._session, range)

    def find_colorant(self, text: str, *, among: Sequence[Colorant] | None = None) -> Colorant:
        """Return the colorant that a name, ``Range/Name`` or an owner's code stands for.

        Parameters
        ----------
        text
            What was typed. ``Range/Name`` is tried first, then names, then codes.
        among
            Look only among these (a kit); None is the whole library.
        """
        return pick_colorant(text, self.colorants() if among is None else among)

    def remove_range(self, name: str, *, with_swatches: bool = False) -> int:
        """Remove a range, and the swatches that use it if told so; return how many went."""
        return store_swatches.remove_range(self._session, name, with_swatches=with_swatches)

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
        return store_swatches.add_swatches(self._session, swatches, when or now())

    def swatches(
        self,
        range: str | None = None,  # noqa: A002 - the trade's word
        paper: str | None = None,
        colorant: Colorant | None = None,
        *,
        skip: int = 0,
        most: int | None = None,
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
        skip, most
            How many to pass over first, and how many to return at most; None is all.
        """
        wanted = self._wanted(range, paper, colorant)
        return store_swatches.read_swatches(self._session, wanted, skip=skip, most=most)

    def count_swatches(
        self,
        range: str | None = None,  # noqa: A002 - the trade's word
        paper: str | None = None,
        colorant: Colorant | None = None,
    ) -> int:
        """Return how many swatches there are of those that `swatches` returns."""
        return store_swatches.count_records(self._session, self._wanted(range, paper, colorant))

    def _wanted(
        self, range_name: str | None, paper: str | None, colorant: Colorant | None
    ) -> store_swatches.SwatchesWanted:
        return store_swatches.SwatchesWanted(
            range_id=None
            if range_name is None
            else supplies.range_row(self._session, range_name).id,
            paper_id=None if paper is None else supplies.paper_row(self._session, paper).id,
            colorant_id=None
            if colorant is None
            else supplies.colorant_row(self._session, colorant).id,
        )

    def coverage(self, range: str | None = None) -> tuple[Coverage, ...]:  # noqa: A002 - the trade's word
        """Return how much of each range, or of one, lies on each paper, sorted by their names."""
        if range is None:
            return store_swatches.coverage(self._session)
        row = supplies.range_row(self._session, range)
        return store_swatches.coverage(self._session, row.id)

    def swatches_by_label(self, ranges: Sequence[str] | None = None) -> dict[str, dict[str, int]]:
        """Count the swatches of colorants, of some ranges or all, by their labels and papers."""
        named = None if ranges is None else tuple(ranges)
        return store_swatches.swatches_by_label(self._session, named)

    def held(self) -> Held:
        """Count what the library holds."""
        return store_swatches.held(self._session)

    def bare_paper(self, paper: str) -> tuple[StoredSwatch, ...]:
        """Return the swatches of a paper with nothing on it."""
        row = supplies.paper_row(self._session, paper)
        bare = store_swatches.SwatchesWanted(paper_id=row.id, bare=True)
        return store_swatches.read_swatches(self._session, bare)

    def remove_swatches(self, ids: Iterable[int]) -> int:
        """Remove swatches by their numbers; return how many."""
        return store_swatches.remove_swatches(self._session, ids)

    def swatch_hash(self, ranges: Sequence[str], paper: str) -> str:
        """Return a hash of all that a fit of these ranges on this paper rests on.

        It covers the paper's coats limit and bare swatches, the ranges' colorants, and every swatch
        on the paper whose colorants all belong to these ranges; not the order they were taken in,
        nor their numbers.
        """
        wanted = {supplies.range_row(self._session, name).name for name in ranges}
        row = supplies.paper_row(self._session, paper)
        bare = [kept.swatch for kept in self.bare_paper(row.name)]
        used = {k.id: k.swatch for name in wanted for k in self.swatches(name, row.name)}
        own = [s for s in used.values() if {c.range for c in s.recipe.colorants} <= wanted]
        fitted = [*bare, *own]
        known = [colorant for name in sorted(wanted) for colorant in self.colorants(name)]
        return store_swatches.swatch_hash(fitted, known, row.coats_limit)

    # Kits

    def kits(self) -> tuple[Kit, ...]:
        """Return all kits, sorted by name."""
        return supplies.all_kits(self._session)

    def kit_names(self) -> tuple[str, ...]:
        """Return the names of all kits, sorted."""
        return tuple(self._session.scalars(select(KitRow.name).order_by(KitRow.key)))

    def kit(self, name: str) -> tuple[Colorant, ...]:
        """Return the colorants of a kit, sorted by range and name."""
        return supplies.members(supplies.kit_row(self._session, name))

    def add_kit(self, name: str) -> None:
        """Add an empty kit."""
        supplies.add_kit(self._session, name)

    def remove_kit(self, name: str) -> None:
        """Remove a kit; its colorants stay in the library."""
        supplies.remove_kit(self._session, name)

    def own(self, kit: str, colorants: Iterable[Colorant]) -> tuple[Colorant, ...]:
        """Put colorants into a kit; return those that weren't in it before."""
        return supplies.own(self._session, kit, colorants)

    def disown(self, kit: str, colorants: Iterable[Colorant]) -> tuple[Colorant, ...]:
        """Take colorants out of a kit; return those that were in it."""
        return supplies.disown(self._session, kit, colorants)

    # Fits: a cache, never part of what undo takes back

    def fit(self, key: FitKey) -> str | None:
        """Return the kept fit for exactly this key, as its owner wrote it, or None."""
        return fits.kept_fit(self._session, key)

    def keep_fit(self, key: FitKey, payload: str) -> None:
        """Keep a fit (JSON text) in place of any other of the same ranges and paper."""
        fits.keep_fit(self._session, key, payload)


class Library:
    """An open library; made by `open_library`.

    Parameters
    ----------
    engine
        Of its database.
    location
        Where that is.
    upgraded_from
        The backup made because an older library was brought up to date on opening, or None.
    """

    def __init__(
        self, engine: Engine, location: Location, *, upgraded_from: Path | None = None
    ) -> None:
        self._engine = engine
        self._location = location
        self.upgraded_from = upgraded_from

    @property
    def location(self) -> str:
        """The path of the file, or the address without its password."""
        return str(self._location)

    @contextmanager
    def work(self, label: str, *, waits: bool = True) -> Iterator[Work]:
        """Open one transaction: kept as a whole at the end, or rolled back on any exception.

        Parameters
        ----------
        label
            What the command does, as `history` and `undo` will call it.
        waits
            Whether to wait for another who is writing; else a library in use raises at once.
        """
        with self._session(waits=waits) as session, session.begin():
            session.connection()  # the right to write is taken now, not at the first write
            journal.start(session)
            yield Work(session)
            session.flush()
            journal.close(session, label, now())

    @contextmanager
    def look(self) -> Iterator[Work]:
        """Open a transaction that only reads; a write in it is a ``ValueError``."""
        with self._session(reads_only=True) as session:
            journal.start(session)
            yield Work(session)
            session.flush()
            if journal.wrote(session):
                raise ValueError("look() only reads: nothing was kept; use work() to write")

    def history(self) -> tuple[Change, ...]:
        """Return the commands that can be taken back, latest first."""
        with self._session(reads_only=True) as session:
            return journal.history(session)

    def undo(self) -> Change:
        """Take back the latest command as a whole and return it.

        Raises
        ------
        NothingToUndoError
            When no command is left to take back.
        """
        with self._session() as session, session.begin():
            return journal.take_back(session)

    def backup(self, path: Path) -> Path:
        """Write the whole library, as it is now, to a new file; return its path.

        Raises
        ------
        LibraryError
            When the file is there already or can't be written, and for a database server.
        """
        return copy_file(self._file("backed up", "pg_dump"), path)

    def restore(self, path: Path) -> Path:
        """Put a backup in place of this library; return where the present one was kept.

        Raises
        ------
        LibraryError
            When the file isn't a whole laydown library, and for a database server.
        """
        return put_in_place(path, self._file("restored", "pg_restore"), self._engine)

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    def _file(self, done: str, tool: str) -> Path:
        if self._location.path is None:
            raise LibraryError(
                f"A library on a database server is not {done} from here.",
                hint=f"Use {tool}, or ask whoever looks after the server.",
            )
        return self._location.path

    @contextmanager
    def _session(self, *, reads_only: bool = False, waits: bool = True) -> Iterator[Session]:
        with plainly(self.location):
            engine = self._engine.execution_options(reads_only=reads_only, waits=waits)
            with Session(engine, expire_on_commit=False) as session:
                yield session


def open_library(location: str | Path | None = None) -> Library:
    """Open a library, making it where there is none, and bringing an older one up to date.

    Parameters
    ----------
    location
        A path, an address (``sqlite:///…``, ``postgresql://…``), or None for the user's own data
        folder.

    Raises
    ------
    LibraryError
        When it can't be opened, isn't a laydown library, or was written by a newer laydown.
    """
    found = find_location(location)
    with plainly(str(found)):
        engine = make_engine(found)
        backup = bring_up_to_date(engine, found)
    return Library(engine, found, upgraded_from=backup)
