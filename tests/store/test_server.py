"""One library on a server, and several people at it: each a database role of their own."""

import json
import os
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path
from types import SimpleNamespace

import pytest
from click.testing import CliRunner
from sqlalchemy import make_url, select
from starlette.testclient import TestClient

from laydown.app.jobs import Jobs, State
from laydown.cli.main import door
from laydown.errors import LibraryError, LookOnlyError, NothingToUndoError
from laydown.store.library import Library, numbers_given, open_library, tables
from laydown.web.desk import open_desk
from laydown.web.serving import create_application, names_of

pytestmark = [pytest.mark.postgres, pytest.mark.long]
PEOPLE = ("ada", "ben", "cleo", "dora", "emil")
READER = "wendy"
AT_A_BENCH, AT_A_COMMAND_LINE = 160, 10
"""Changes each; three benches and two command lines make five hundred together."""
PATIENCE = 300.0
"""What waits longer is stuck [s]."""
HERE = "http://127.0.0.1:8017"
MANY_COMMANDS = """
import sys
from click.testing import CliRunner
from laydown.cli.main import door
where, who, count = sys.argv[1:]
for number in range(int(count)):
    done = CliRunner().invoke(door, ["kit", "create", f"{who} {number}", "--db", where, "-q"])
    assert done.exit_code == 0, done.output
"""


@contextmanager
def bench_of(address: str) -> Iterator[TestClient]:
    """Open a bench on the library at an address, and give a browser's stand-in at it."""
    with open_desk(address, hosts=names_of(8017)) as desk:
        application, cookies = create_application(desk), desk.keys.cookies(8017)
        with TestClient(
            application, base_url=HERE, cookies=cookies, follow_redirects=False
        ) as client:
            yield client


@pytest.fixture
def addresses(server_address: str) -> dict[str, str]:
    """Addresses by role: five who may write, and one who may look."""
    import psycopg  # noqa: PLC0415 - only where a server is

    open_library(server_address).close()
    with psycopg.connect(server_address, autocommit=True) as connection:
        for role in (*PEOPLE, READER):
            connection.execute(f"DROP ROLE IF EXISTS {role}")  # type: ignore[call-overload]
            connection.execute(f"CREATE ROLE {role} LOGIN")  # type: ignore[call-overload]
        connection.execute("GRANT USAGE ON SCHEMA public TO PUBLIC")  # as a new database has it
        writers = ", ".join(PEOPLE)
        for right, what, whom in (
            ("ALL", "TABLES", writers), ("ALL", "SEQUENCES", writers), ("SELECT", "TABLES", READER)
        ):  # fmt: skip
            connection.execute(f"GRANT {right} ON ALL {what} IN SCHEMA public TO {whom}")  # type: ignore[call-overload]
    url = make_url(server_address)
    return {
        role: url.set(username=role).render_as_string(hide_password=False)
        for role in (*PEOPLE, READER)
    }


@pytest.fixture
def opened(addresses: dict[str, str]) -> Iterator[Callable[[str], Library]]:
    """Return a function that opens the library as somebody."""
    with ExitStack() as stack:
        yield lambda who: stack.enter_context(closing(open_library(addresses[who])))


def rows_of(library: Library) -> dict[str, list[tuple[object, ...]]]:
    """Return all that is copied of a library."""
    with library._engine.connect() as connection:
        return {
            table.name: [
                tuple(row) for row in connection.execute(select(table).order_by(*table.primary_key))
            ]
            for table in tables()
        }


def test_a_library_goes_to_a_server_and_back_as_it_was(
    crammed: Library, server_address: str, tmp_path: Path
) -> None:
    """Every row of every table, and the numbers that are never given again."""
    before = rows_of(crammed)
    assert all(before.values())
    crammed.copy_to(server_address)
    with closing(open_library(server_address)) as server:
        assert rows_of(server) == before
        server.copy_to(str(tmp_path / "back.db"))
    with closing(open_library(tmp_path / "back.db")) as back:
        assert rows_of(back) == before
        with crammed._engine.connect() as first, back._engine.connect() as last:
            assert numbers_given(first) == numbers_given(last)
        assert back.undo().label == crammed.undo().label
        assert rows_of(back) == rows_of(crammed)


def test_nothing_is_copied_over_what_is_there(
    crammed: Library, server_address: str, tmp_path: Path
) -> None:
    """A database with a library in it stays as it is, and so does a file."""
    crammed.copy_to(server_address)
    with pytest.raises(LibraryError, match="something in it already"):
        crammed.copy_to(server_address)
    (tmp_path / "mine.txt").write_text("mine")
    with pytest.raises(LibraryError, match="there already"):
        crammed.copy_to(str(tmp_path / "mine.txt"))
    assert (tmp_path / "mine.txt").read_text() == "mine"


def test_a_library_with_nothing_in_it_is_copied(
    path: Path, server_address: str, tmp_path: Path
) -> None:
    """Where no number was given yet, the first is given there."""
    with closing(open_library(path)) as library:
        library.copy_to(server_address)
    with closing(open_library(server_address)) as server, server.work("begin") as work:
        assert work.plans.keep(b"PK, a first", title="Figs").number == 1


def test_what_was_copied_goes_on_with_numbers_of_its_own(
    crammed: Library, server_address: str, supplies: SimpleNamespace
) -> None:
    """What comes new on the server takes no number that was given."""
    crammed.copy_to(server_address)
    with closing(open_library(server_address)) as server, server.work("go on") as work:
        work.add_kit("another")
        work.own("another", [supplies.kelp])
        number = work.plans.keep(b"PK, a third", title="Figs").number
    with crammed.work("the same") as work:
        assert work.plans.keep(b"PK, a third", title="Figs").number == number


def test_undo_takes_back_ones_own(opened: Callable[[str], Library]) -> None:
    """The latest change is another's, and stays; who did what is in the history."""
    ada, ben = opened("ada"), opened("ben")
    for library, kit in ((ada, "brush roll"), (ben, "tin"), (ben, "drawer")):
        with library.work(f"add {kit}") as work:
            work.add_kit(kit)
    assert [(c.who, c.label) for c in ada.history()] == [
        ("ben", "add drawer"), ("ben", "add tin"), ("ada", "add brush roll")
    ]  # fmt: skip
    assert [change.label for change in ada.history(own=True)] == ["add brush roll"]
    assert ada.undo().label == "add brush roll"
    with pytest.raises(NothingToUndoError):
        ada.undo()
    with ben.look() as work:
        assert sorted(work.kit_names()) == ["drawer", "tin"]


def test_what_another_built_on_is_not_taken_back(
    opened: Callable[[str], Library], fill: Callable[[Library], None], supplies: SimpleNamespace
) -> None:
    """A kit that somebody else has put colors into since is not undone from under them."""
    ada, ben = opened("ada"), opened("ben")
    fill(ada)
    with ada.work("add a kit") as work:
        work.add_kit("tin")
    with ben.work("own Kelp") as work:
        work.own("tin", [supplies.kelp])
    before = rows_of(ada)
    with pytest.raises(LibraryError):
        ada.undo()
    assert rows_of(ada) == before


def test_who_may_look_can_ask(
    opened: Callable[[str], Library], addresses: dict[str, str], fill: Callable[[Library], None]
) -> None:
    """A role that may only look gets recipes, and one clear sentence where it would change."""
    fill(opened("ada"))
    reader = ["--db", addresses[READER], "-q"]
    asked = ["match", "lab:60,0,0", "--range", "Estuary", "--paper", "Gannet smooth"]
    told = CliRunner().invoke(door, [*asked, *reader, "--json"])
    assert told.exit_code == 0, told.output
    assert json.loads(told.stdout)["best"]["prediction"]["recipe"]
    refused = CliRunner().invoke(door, ["kit", "create", "tin", *reader])
    assert refused.exit_code != 0
    assert "You may look at postgresql" in refused.output
    library = opened(READER)
    with pytest.raises(LookOnlyError), library.work("add") as work:
        work.add_kit("tin")
    library.keep_fit((("Estuary",), "Gannet smooth", "1", "a hash"), "{}")  # goes without


def test_a_library_is_made_once_by_whoever_comes_first(server_address: str) -> None:
    """Four who open an empty database at the same moment find one whole library."""
    troubles: list[Exception] = []
    begin = threading.Barrier(4)

    def come() -> None:
        begin.wait()
        try:
            with closing(open_library(server_address)) as library, library.look() as work:
                assert work.kits() == ()
        except Exception as error:
            troubles.append(error)

    together(*[come] * 4)
    assert troubles == []


def together(*tasks: Callable[[], None]) -> None:
    """Do things at the same time, and wait for all."""
    threads = [threading.Thread(target=task) for task in tasks]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(PATIENCE)
        assert not thread.is_alive()


def test_long_work_of_one_is_not_broken_to_another(addresses: dict[str, str]) -> None:
    """A bench that opens leaves alone what runs at others, and marks what a dead one left."""
    with Jobs(addresses["ada"]) as hers:
        with hers._library.work("begin") as work:
            running = work.jobs.add(
                "make_chart", b"", title="A", started_by="", when=hers._clock(),
                bench=hers._present.number,
            )  # fmt: skip
        with Jobs(addresses["ben"]) as his:
            assert his.get(running.id).state is State.WAITING
    with Jobs(addresses["ben"]) as his:
        assert his.get(running.id).state is State.INTERRUPTED


def test_three_benches_and_two_command_lines_work_together(
    opened: Callable[[str], Library], addresses: dict[str, str]
) -> None:
    """Of five hundred changes none is lost, and each is seen at every door as soon as one asks."""
    troubles: list[str] = []
    with ExitStack() as stack:
        benches = {who: stack.enter_context(bench_of(addresses[who])) for who in PEOPLE[:3]}

        def at_a_bench(who: str) -> None:
            for number in range(AT_A_BENCH):
                made = benches[who].post("/kits", data={"name": f"{who} {number}"})
                if made.status_code != 303:
                    troubles.append(made.text)

        def at_a_command_line(who: str) -> None:
            done = subprocess.run(
                [sys.executable, "-c", MANY_COMMANDS, addresses[who], who, str(AT_A_COMMAND_LINE)],
                capture_output=True, text=True, timeout=PATIENCE, check=False, env={**os.environ},
            )  # fmt: skip
            if done.returncode:
                troubles.append(done.stderr)

        together(
            *[lambda who=who: at_a_bench(who) for who in PEOPLE[:3]],  # type: ignore[misc]
            *[lambda who=who: at_a_command_line(who) for who in PEOPLE[3:]],  # type: ignore[misc]
        )
        assert troubles == []
        for bench in benches.values():
            shown = bench.get("/kits.json").json()["kits"]
            assert len(shown) == 3 * AT_A_BENCH + 2 * AT_A_COMMAND_LINE
    changes = opened("ada").history()
    counts = {who: sum(c.who == who for c in changes) for who in PEOPLE}
    assert counts == dict.fromkeys(PEOPLE[:3], AT_A_BENCH) | dict.fromkeys(
        PEOPLE[3:], AT_A_COMMAND_LINE
    )
