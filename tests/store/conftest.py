"""Libraries to try things on, in a file and on a server, and swatches to put into them."""

import os
import shutil
import sqlite3
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from laydown.errors import LaydownError
from laydown.media.laydown import Laydown
from laydown.media.light.exposure import Span
from laydown.media.light.fading import parse_class
from laydown.media.light.window_test import WindowReading
from laydown.media.pan_marks import PanMark
from laydown.media.recipe import (
    Colorant,
    Medium,
    Recipe,
    Step,
    Tool,
    Treatment,
    TreatmentStep,
    mixture,
)
from laydown.media.swatch import Swatch
from laydown.sheet.reading import CellReading, Flag
from laydown.sheet.sheet import SheetKind, arrange
from laydown.store.columns import now
from laydown.store.jobs import packed
from laydown.store.library import Library, open_library
from laydown.store.lightfastness import WindowTest
from laydown.store.records import State, TrialEntry
from laydown.store.trials import FinishedWork

SERVERS = Path("/usr/lib/postgresql")


def _swatch(*steps: Step, level: float = 0.5, paper: str = "Gannet smooth") -> Swatch:
    return Swatch(paper, Recipe(steps), level + np.linspace(-0.1, 0.1, 36) / 3)


def _one(colorant: Colorant, coats: int = 1) -> Step:
    return Step(colorant, Laydown(coats=coats))


@pytest.fixture(scope="session")
def supplies() -> SimpleNamespace:
    """Three colorants of two ranges, and ways to make steps and swatches of them."""
    return SimpleNamespace(
        kelp=Colorant("Kelp", "Estuary", code="k one"),
        dune=Colorant("Dune", "Estuary"),
        fig=Colorant("Fig", "Orchard"),
        one=_one,
        swatch=_swatch,
    )


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where the library of a test lies."""
    return tmp_path / "library.db"


@pytest.fixture
def library(path: Path, lay_library: Callable[[Path], Path]) -> Iterator[Library]:
    """An empty library in a file."""
    opened = open_library(lay_library(path))
    yield opened
    opened.close()


@pytest.fixture(scope="session")
def fill(supplies: SimpleNamespace) -> Callable[[Library], None]:
    """Return a function that takes five swatches of two ranges on one paper into a library."""
    kelp, dune, fig = (_one(c) for c in (supplies.kelp, supplies.dune, supplies.fig))

    def fill_library(library: Library) -> None:
        with library.work("take in five swatches") as work:
            work.add_swatches(
                [
                    _swatch(level=0.85),
                    _swatch(kelp, level=0.4),
                    _swatch(_one(supplies.kelp, 2), level=0.3),
                    _swatch(kelp, dune, level=0.35),
                    _swatch(fig, level=0.2),
                ]
            )

    return fill_library


@pytest.fixture
def full(library: Library, fill: Callable[[Library], None]) -> Library:
    """The library in a file, with five swatches."""
    fill(library)
    return library


@pytest.fixture
def meddled(tmp_path: Path) -> Callable[..., Path]:
    """Return a function that makes a backup of a library and runs statements on it."""

    def meddle(library: Library, *statements: str) -> Path:
        backup = library.backup(tmp_path / "given" / "backup.db")
        with closing(sqlite3.connect(backup, isolation_level=None)) as connection:
            for statement in statements:
                connection.execute(statement)
        return backup

    return meddle


@pytest.fixture
def refused() -> Callable[[Library, Path], str]:
    """Return a function that says how a backup is refused, having seen that nothing changed."""

    def refuse(library: Library, backup: Path) -> str:
        path = Path(library.location)
        before, beside = path.read_bytes(), sorted(path.parent.iterdir())
        with pytest.raises(LaydownError) as trouble:
            library.restore(backup)
        assert trouble.value.hint
        assert path.read_bytes() == before
        assert sorted(path.parent.iterdir()) == beside
        return trouble.value.message

    return refuse


def _cram(library: Library, supplies: SimpleNamespace) -> None:
    """Put something into every table of a library with five swatches."""
    wash = replace(supplies.dune, name="Silt", range="Pond", medium=Medium.WASH)
    loam = replace(wash, name="Loam")
    mixed = mixture((1, wash), (2, loam), laydown=Laydown(dilution=0.5))
    solvent = TreatmentStep(Treatment.SOLVENT, Tool.SWAB)
    dried, laid = supplies.swatch(mixed), Recipe((supplies.one(supplies.fig), solvent))
    hung = WindowReading(Span(0.5, 1.5), np.full(3, 50.0), np.full(3, 55.0), 0.4, filtered=False)
    sheet = arrange(
        [laid, Recipe()], number=77, title="Kit", kind=SheetKind.LIST, paper="Gannet smooth"
    )
    key = ("Estuary",), "Gannet smooth", "marker", "a hash"
    with library.work("fill every table") as work:
        work.add_swatches([dried, replace(dried, recipe=laid)])
        work.add_swatches([replace(dried, hours=0.5, flags=frozenset({"above-white"}))])
        work.add_kit("mine")
        work.own("mine", [supplies.kelp, supplies.fig])
        work.lightfastness.rate(supplies.kelp, parse_class("3-4"), "the box")
        work.lightfastness.add(WindowTest(supplies.kelp, "Gannet smooth", hung, "north sill"))
        work.pan_marks.mark(wash, (PanMark.STAINING,))
        work.lessons.keep("laydown lesson 1", title="Lemons", paper="Gannet smooth", colors=1)
        work.keep_fit(key, "{}")
        work.sheets.add(sheet)
        work.sheets.add_readings(
            77,
            [CellReading(1, np.full(3, 20.0), 0.5, frozenset({Flag.GLARE}))],
            stage="dry",
            conversion="embedded profile",
            accepted=frozenset({1}),
        )
        picture = work.notebook.keep_photograph("bowl.jpg", b"a picture")
        entry = TrialEntry("mine", "Gannet smooth", laid, np.full(36, 0.3), photograph=picture)
        noted = work.notebook.add(replace(entry, intended=np.full(3, 50.0)))
        work.notebook.withdraw(noted.number)
        work.finished.keep(FinishedWork("Lemons", "Gannet smooth", (laid,), photograph=picture))
        work.plans.keep(b"PK", title="Lemons")
        work.plans.remove(work.plans.keep(b"PK, put away", title="Limes").number)
        job = work.jobs.add("make_chart", packed("{}"), title="A", started_by="", when=now())
        work.jobs.end(replace(job, state=State.DONE, ended=now()), packed("[1]"))
    with library.work("take one back") as work:
        work.disown("mine", [supplies.fig])


@pytest.fixture(scope="session")
def crammed_file(
    tmp_path_factory: pytest.TempPathFactory,
    lay_library: Callable[[Path], Path],
    fill: Callable[[Library], None],
    supplies: SimpleNamespace,
) -> Path:
    """A library with something in every table, made once, to copy."""
    path = lay_library(tmp_path_factory.mktemp("crammed") / "library.db")
    opened = open_library(path)
    fill(opened)
    _cram(opened, supplies)
    opened.close()
    return path


@pytest.fixture
def crammed(path: Path, crammed_file: Path) -> Iterator[Library]:
    """A library in a file, with something in every table."""
    opened = open_library(shutil.copyfile(crammed_file, path))
    yield opened
    opened.close()


def _as_postgres(*command: str | Path, folder: Path) -> None:
    """Run a command of the server as the user it insists on, if we are root."""
    words = [str(word) for word in command]
    if os.geteuid() == 0:
        words = ["setpriv", "--reuid=postgres", "--regid=postgres", "--clear-groups", *words]
    subprocess.run(words, check=True, cwd=folder, capture_output=True, timeout=60)


def _server_programs() -> Path:
    found = sorted(SERVERS.glob("*/bin"), key=lambda folder: int(folder.parent.name))
    if found:
        return found[-1]
    reason = "no PostgreSQL server here; install the Debian package postgresql"
    if os.environ.get("CI"):
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """The address of a server of our own, reached by socket only, gone after the tests."""
    programs = _server_programs()
    folder = Path(tempfile.mkdtemp(prefix="laydown-postgres-"))
    data = folder / "data"
    if os.geteuid() == 0:
        shutil.chown(folder, "postgres", "postgres")
    _as_postgres(
        programs / "initdb", "-D", data, "-U", "teacher", "-A", "trust", "-N", "-E", "UTF8",
        "--no-locale", folder=folder,
    )  # fmt: skip
    options = f"-k {folder} -c listen_addresses='' -c fsync=off"
    log = folder / "log"
    _as_postgres(
        programs / "pg_ctl", "-D", data, "-l", log, "-o", options, "-w", "start", folder=folder
    )
    try:
        yield f"postgresql://teacher@/postgres?host={folder}"
    finally:
        _as_postgres(programs / "pg_ctl", "-D", data, "-m", "immediate", "stop", folder=folder)
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture
def server_address(postgres: str) -> str:
    """The address of an emptied database on the server."""
    import psycopg  # noqa: PLC0415 - only where a server is

    with psycopg.connect(postgres, autocommit=True) as connection:
        connection.execute("drop schema public cascade")
        connection.execute("create schema public")
    return postgres


@pytest.fixture(scope="session")
def lay_on_server(postgres: str) -> Callable[[], str]:
    """Lay an empty library on the server, made once and then copied; its address is returned."""
    import psycopg  # noqa: PLC0415 - only where a server is

    def run(*statements: str) -> None:
        with psycopg.connect(postgres, autocommit=True) as connection:
            for statement in statements:
                connection.execute(statement)

    run("create database made")
    open_library(postgres.replace("/postgres?", "/made?")).close()

    def lay() -> str:
        run("drop database if exists laid with (force)", "create database laid template made")
        return postgres.replace("/postgres?", "/laid?")

    return lay


@pytest.fixture(params=["file", pytest.param("server", marks=pytest.mark.postgres)])
def any_library(request: pytest.FixtureRequest) -> Iterator[Library]:
    """An empty library: once in a file, once on a server."""
    if request.param == "file":
        yield request.getfixturevalue("library")
        return
    opened = open_library(request.getfixturevalue("lay_on_server")())
    yield opened
    opened.close()
