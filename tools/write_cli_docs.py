"""Write the part of docs/cli.md that the commands themselves say; a test holds the two together.

Run it after a change of a command: ``python tools/write_cli_docs.py``.
"""

from collections.abc import Iterator
from pathlib import Path

import click

from laydown.app import TASKS
from laydown.cli.commands import Noun, Verb
from laydown.cli.main import door

PAGE = Path(__file__).parent.parent / "docs" / "cli.md"
MARK = "<!-- Below: written by tools/write_cli_docs.py -->"
WIDTH = 90


def module_of(task: str) -> str:
    """Return the file that holds a task."""
    return f"app/{TASKS[task].replace('.', '/')}.py"


def sections() -> str:
    """Return a section for each command, in the order of the overview."""
    return "\n".join(_sections(door, None))


def _sections(command: click.Command, parent: click.Context | None) -> Iterator[str]:
    context = click.Context(command, parent, info_name=command.name, terminal_width=WIDTH)
    if isinstance(command, Verb):
        yield _section(command, context)
    if isinstance(command, Noun):
        for name in command.list_commands(context):
            member = command.get_command(context, name)
            assert member is not None
            yield from _sections(member, context)


def _section(command: Verb, context: click.Context) -> str:
    help_text = command.get_help(context).rstrip()
    tasks = ", ".join(f"`{task}` in `{module_of(task)}`" for task in command.tasks)
    lines = [f"### {context.command_path}", "", "```text", help_text, "```", ""]
    return "\n".join(lines + ([f"Task: {tasks}", ""] if tasks else []))


def whole_page(text: str) -> str:
    """Return the page with its lower part written anew."""
    upper, mark, _ = text.partition(MARK)
    if not mark:
        raise ValueError(f"{PAGE} has no line {MARK}")
    return f"{upper}{mark}\n\n{sections()}"


if __name__ == "__main__":
    PAGE.write_text(whole_page(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
    print(f"Written: {PAGE}")
