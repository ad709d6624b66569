"""The pages on the command line and on errors say what the program does."""

import importlib.util
import inspect
import re
from pathlib import Path
from types import ModuleType

import click
import pytest

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
