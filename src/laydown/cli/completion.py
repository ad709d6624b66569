"""``laydown completion``: what a shell needs to complete commands, options and names."""

import os
import re

import click
from click.shell_completion import (
    BashComplete,
    CompletionItem,
    add_completion_class,
    get_completion_class,
)

from laydown.cli import commands, console

SHELLS = ("bash", "zsh", "fish")


@commands.verb("completion", tasks=(), example='eval "$(laydown completion bash)"')
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
    lines = made.source_template % made.source_vars()
    console.show({"shell": shell, "lines": lines}, lambda told: told["lines"])


# Completion in bash, where a name with a blank in it has to come back as one word.
#
# The lines that click gives bash put an offered value onto the command line as it is, so that
# ``Beech husk`` would become two words.

_SPECIAL = re.compile(r"([^\w@%+=:,./#~-]|^[#~])")


class BashNames(BashComplete):
    """Escapes what bash would take apart, unless the word being typed began with a quote."""

    def format_completion(self, item: CompletionItem) -> str:
        """Return the line that tells bash of one offer; ``read`` takes one layer of escapes off."""
        if item.type != "plain" or _in_quotes():
            return super().format_completion(item)
        escaped = _SPECIAL.sub(r"\\\\\1", item.value)
        return super().format_completion(CompletionItem(escaped, item.type, item.help))


def _in_quotes() -> bool:
    words = os.environ.get("COMP_WORDS", "").split("\n")
    at = int(os.environ.get("COMP_CWORD", "0") or 0)
    return at < len(words) and words[at][:1] in {'"', "'"}


def complete_bash() -> None:
    """Let bash's completion be done by this."""
    add_completion_class(BashNames)
