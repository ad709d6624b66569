"""``laydown completion``: what a shell needs to complete commands, options and the user's names."""

from dataclasses import dataclass

import click
from click.shell_completion import get_completion_class

from laydown.cli.commands import verb
from laydown.cli.console import show


@dataclass(frozen=True, slots=True)
class ShellLines:
    """What a shell is to run at its start."""

    shell: str
    lines: str


SHELLS = ("bash", "zsh", "fish")


@verb("completion", tasks=(), example='eval "$(laydown completion bash)"')
@click.argument("shell", type=click.Choice(SHELLS))
@click.pass_context
def completion(context: click.Context, shell: str) -> None:
    """Print the lines that let SHELL complete laydown's commands and your own names.

    Put the example into the start-up file of your shell; for fish, pipe the lines into source.
    """
    kind = get_completion_class(shell)
    if kind is None:
        raise click.UsageError(f"No completion for {shell}.")
    made = kind(context.find_root().command, {}, "laydown", "_LAYDOWN_COMPLETE")
    show(ShellLines(shell, made.source_template % made.source_vars()), lambda told: told.lines)
