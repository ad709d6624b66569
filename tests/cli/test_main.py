import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from laydown import __version__
from laydown.cli import main
from laydown.cli.commands import Noun, Verb
from laydown.cli.console import columns, counted
from laydown.cli.main import NOUNS, SOURCES, Door, door, use_compiled_cache
from laydown.errors import LaydownError

Run = Callable[..., Result]
HEAVY = {"numpy", "scipy", "numba", "sqlalchemy", "alembic", "rich", "reportlab", "jinja2"}


def _door_to(action: Callable[[], object]) -> Door:
    """Return a door with one command, ``act``, that does something."""

    class Test(Door):
        def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command:
            del ctx

            def act() -> object:
                """Act."""
                return action()

            return Verb(cmd_name, tasks=(), example="laydown act", callback=act, params=[])

    return Test("laydown", words="", example="", members={"act": ("", "", "")})


def _raising(error: BaseException) -> Door:
    def act() -> None:
        raise error

    return _door_to(act)


@pytest.mark.parametrize("words", [["--help"], ["swatches", "--help"], ["match", "--help"]])
def test_help_loads_nothing_heavy(words: list[str]) -> None:
    """Asking for help imports neither numbers nor database nor documents, nor the compiler, which
    must learn first where to keep what it compiles.
    """
    program = (
        "import sys; from laydown.cli.main import main\n"
        "try: main()\n"
        "except SystemExit: print(*sys.modules, file=sys.stderr)\n"
    )
    called = subprocess.run(
        [sys.executable, "-c", program, *words], capture_output=True, text=True, check=True
    )
    assert "Usage: laydown" in called.stdout
    assert HEAVY & set(called.stderr.split()) == set()


def test_the_version_is_told(run: Run) -> None:
    """--version gives name and version."""
    assert run("--version").stdout == f"laydown {__version__}\n"


def test_help_leads_with_an_example(run: Run) -> None:
    """Every command's help shows an example before it explains."""
    for noun in NOUNS:
        command = door.get_command(click.Context(door), noun)
        assert isinstance(command, Noun | Verb)
        members = command.commands.values() if isinstance(command, Noun) else []
        for member in (command, *members):
            assert isinstance(member, Noun | Verb)
            assert "laydown " in member.example
            assert member.help
        lines = run(noun, "--help").stdout.split("\n")
        assert lines[2].strip() == f"$ {command.example.splitlines()[0]}"


def test_a_near_miss_of_a_command_gets_a_suggestion(run: Run) -> None:
    """A command mistyped is answered with the one that was probably meant, as a usage error."""
    missed = run("mtach", "lab:50,0,0")
    assert missed.exit_code == 2
    assert "no command “mtach”. Did you mean match" in missed.stderr
    missed = run("swatches", "imprt")
    assert "Did you mean import" in missed.stderr


def test_an_unlike_command_gets_the_list(run: Run) -> None:
    """A command like none of ours is answered with those there are."""
    kit = door.get_command(click.Context(door), "kit")
    assert isinstance(kit, Noun)
    assert f"There are {', '.join(kit.commands)}." in run("kit", "xyzzy").stderr


def test_a_near_miss_of_an_option_gets_a_suggestion(run: Run) -> None:
    """An option mistyped is answered with the one that was probably meant."""
    missed = run("paper", "list", "--jsno")
    assert missed.exit_code == 2
    assert "--json" in missed.stderr


def test_an_error_is_a_sentence_and_a_hint() -> None:
    """An error the user can mend goes to stderr as its message and hint, with exit code 1."""
    told = CliRunner().invoke(_raising(LaydownError("It rains.", hint="Go in.")), ["act"])
    assert (told.exit_code, told.stdout, told.stderr) == (1, "", "It rains.\nGo in.\n")


def test_what_to_type_stands_in_the_hint() -> None:
    """A hint's command is told in brackets before the hint's last mark."""
    error = LaydownError("It rains.", hint="Go in.", command="laydown kit list")
    told = CliRunner().invoke(_raising(error), ["act"])
    assert told.stderr == "It rains.\nGo in (laydown kit list).\n"


def test_debug_shows_where_an_error_arose() -> None:
    """With --debug the traceback stands before the sentence."""
    told = CliRunner().invoke(_raising(LaydownError("It rains.")), ["act", "--debug"])
    assert "Traceback" in told.stderr
    assert told.stderr.endswith("It rains.\n")


def test_a_fault_of_ours_is_confessed() -> None:
    """An unforeseen exception is no traceback but a sentence that asks for a report."""
    told = CliRunner().invoke(_raising(ZeroDivisionError("by zero")), ["act"])
    assert told.exit_code == 1
    assert told.stderr.startswith("This is a fault of laydown, not yours: ZeroDivisionError")
    assert "Traceback" not in told.stderr


@pytest.mark.parametrize("wrong", [["x" * 90_000], ["act", "--" + "x" * 90_000]])
def test_a_usage_error_does_not_echo_all_that_was_typed(wrong: list[str]) -> None:
    """A word of 90,000 characters that no command has is shown by both of its ends."""
    told = CliRunner().invoke(_door_to(lambda: 0), wrong)
    assert told.exit_code == 2
    assert len(told.stderr) < 1200


def test_a_fault_does_not_echo_all_that_was_given() -> None:
    """A fault that quotes a megabyte is shown by both of its ends."""
    told = CliRunner().invoke(_raising(ValueError("x" * 1_000_000)), ["act"])
    assert len(told.stderr) < 1200


def test_ctrl_c_is_no_error_message() -> None:
    """Ctrl-C leaves with 130 and says that the library is as it was."""
    told = CliRunner().invoke(_raising(KeyboardInterrupt()), ["act"])
    assert told.exit_code == 130
    assert told.stderr.strip() == "Stopped; the library is as it was."


def test_a_commands_answer_becomes_the_exit_code() -> None:
    """A command that returns 3 leaves with 3; one that returns nothing with 0."""
    assert CliRunner().invoke(_door_to(lambda: 3), ["act"]).exit_code == 3
    assert CliRunner().invoke(_door_to(lambda: None), ["act"]).exit_code == 0


def test_a_reader_that_leaves_is_no_error() -> None:
    """Output into a pipe that is closed ends in silence."""
    writer = subprocess.Popen(
        [sys.executable, "-m", "laydown", "completion", "bash"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert writer.stdout is not None
    writer.stdout.close()
    assert writer.stderr is not None
    assert writer.stderr.read() == b""
    writer.stderr.close()
    assert writer.wait() == 0


def test_the_overview_says_what_each_noun_says_of_itself(run: Run) -> None:
    """Each noun of the table can be loaded and has words for the overview."""
    overview = run("--help").stdout
    for noun, (_, _, words) in NOUNS.items():
        assert words in overview
        assert run(noun, "--help").exit_code == 0


@pytest.fixture
def sources(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a copy of the modules of the search, and have the environment name no folder."""
    copy = tmp_path / "match"
    shutil.copytree(SOURCES, copy)
    monkeypatch.setattr(main, "SOURCES", copy)
    monkeypatch.setenv("NUMBA_CACHE_DIR", "")  # so that it is set back afterwards
    return copy


def folder(monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return where the compiled search would be kept by a process that begins now."""
    monkeypatch.delenv("NUMBA_CACHE_DIR")
    return use_compiled_cache()


def test_a_changed_loop_is_not_served_from_before(
    sources: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whichever module with a compiled loop is changed, all loops are compiled anew."""
    before = folder(monkeypatch)
    assert folder(monkeypatch) == before
    for name in ("search/coloring.py", "search/nearness.py"):
        with (sources / name).open("a", encoding="utf-8") as file:
            file.write("# changed\n")
        assert folder(monkeypatch) != before
        before = folder(monkeypatch)
    with (sources / "words.py").open("a", encoding="utf-8") as file:
        file.write("# changed\n")
    assert folder(monkeypatch) == before


@pytest.mark.usefixtures("sources")
def test_the_environment_may_name_the_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where it does, nothing else is asked."""
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "mine"))
    assert use_compiled_cache() == tmp_path / "mine"


def test_words_stand_left_and_numbers_right() -> None:
    """Columns are as wide as their widest cell and parted by two blanks."""
    assert columns(["a", "n"], [["Kelp", 3], ["Net", 12]]) == "a      n\nKelp   3\nNet   12"


def test_no_rows_leave_the_header() -> None:
    """A table without rows is its header alone."""
    assert columns(["paper", "value"], []) == "paper  value"


def test_one_is_singular() -> None:
    """One thing is singular, none and many are plural."""
    assert [counted(n, "patch") for n in (0, 1, 2)] == ["0 patches", "1 patch", "2 patches"]
