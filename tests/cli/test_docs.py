"""The pages on the command line and on errors say what the program does."""

import importlib.util
import inspect
import re
import shlex
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import click
import pytest
from click.testing import Result

from laydown import app, errors
from laydown.cli.commands import Noun, Verb
from laydown.cli.main import door

ROOT = Path(__file__).parents[2]


def _verbs(command: click.Command) -> list[Verb]:
    if isinstance(command, Verb):
        return [command]
    assert isinstance(command, Noun)
    context = click.Context(command)
    members = [command.get_command(context, name) for name in command.list_commands(context)]
    return [verb for member in members if member for verb in _verbs(member)]


@pytest.fixture(scope="module")
def tool() -> ModuleType:
    """Return the script that writes the page."""
    spec = importlib.util.spec_from_file_location("tool", ROOT / "tools" / "write_cli_docs.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_says_what_the_commands_say(tool: ModuleType) -> None:
    """docs/cli.md is what tools/write_cli_docs.py makes of it."""
    text = (ROOT / "docs" / "cli.md").read_text(encoding="utf-8")
    assert tool.whole_page(text) == text


def test_every_task_has_a_command_and_a_section() -> None:
    """Each task of the app is called by a command, and named in that command's section."""
    called = {task for verb in _verbs(door) for task in verb.tasks}
    assert called == set(app.TASKS)
    page = (ROOT / "docs" / "cli.md").read_text(encoding="utf-8")
    assert [task for task in app.TASKS if f"`{task}` in `" not in page] == []


def test_every_task_is_a_function_of_the_module_named_for_it() -> None:
    """TASKS says where each task is found."""
    for task in app.TASKS:
        module = importlib.import_module(f"laydown.app.{app.TASKS[task]}")
        assert inspect.isfunction(getattr(module, task))


def test_every_error_has_a_heading() -> None:
    """docs/errors.md has a heading for each slug, and for nothing else."""
    slugs = {
        kind.slug
        for _, kind in inspect.getmembers(errors, inspect.isclass)
        if issubclass(kind, errors.LaydownError)
    }
    page = (ROOT / "docs" / "errors.md").read_text(encoding="utf-8")
    assert set(re.findall(r"^## (.+)$", page, flags=re.MULTILINE)) == slugs


Run = Callable[..., Result]
README = Path(__file__).parents[2] / "README.md"


def test_the_first_answer_of_the_readme_is_an_answer(run: Run, tmp_path: Path) -> None:
    """The file and the commands that the README begins with give an answer as they stand."""
    text = README.read_text(encoding="utf-8")
    table = re.search(r"^ *range,medium.*?(?=^ *```)", text, flags=re.MULTILINE | re.DOTALL)
    commands = re.findall(r"^ *laydown (swatches import .*|match .*)$", text, flags=re.MULTILINE)
    assert table is not None
    assert len(commands) == 2
    lines = [line.strip() for line in table[0].splitlines()]
    (tmp_path / "mine.csv").write_text("\n".join(lines), encoding="utf-8")
    taken, found = (run(*shlex.split(command)) for command in commands)
    assert taken.exit_code == 0, taken.output
    assert found.exit_code in (0, 3), found.output
    assert "Worth swatching next" in found.stdout
    for command in re.findall(r"^ *laydown (trial .*|light .*)$", text, flags=re.MULTILINE):
        noted = run(*shlex.split(command))
        assert noted.exit_code == 0, noted.output
