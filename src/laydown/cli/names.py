"""Completion of the user's own names, read from the library in use."""

from collections.abc import Callable, Sequence

import click
from click.shell_completion import CompletionItem

from laydown.cli.settings import Settings

Completer = Callable[[click.Context, click.Parameter, str], list[CompletionItem]]


def names_of(kind: str) -> Completer:
    """Return a completer for colorants, ranges, papers or kits.

    An error of the library completes nothing: a shell is no place for messages.
    """

    def complete(
        context: click.Context, _: click.Parameter, incomplete: str
    ) -> list[CompletionItem]:
        from laydown.app.complete_names import NamesAsked, complete_names
        from laydown.errors import LaydownError

        library = context.find_root().ensure_object(Settings).library
        try:
            return _items(complete_names(NamesAsked(kind, incomplete, library)).names)
        except LaydownError:
            return []

    return complete


def _items(names: Sequence[str]) -> list[CompletionItem]:
    return [CompletionItem(name) for name in names]
