"""What every command understands: its common options, and where they are kept while it runs."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import click


@dataclass(slots=True)
class Settings:
    """The common options of one call.

    Parameters
    ----------
    library
        Path or URL of the library; empty for the usual place.
    output
        Where the result goes; ``-`` is standard output.
    as_json
        Whether the result is wanted as JSON.
    quiet
        Whether messages and progress are left out; results and errors never are.
    """

    library: str = ""
    output: str = "-"
    as_json: bool = False
    quiet: bool = False


def settings() -> Settings:
    """Return the settings of the call that is running."""
    return click.get_current_context().find_root().ensure_object(Settings)


def _keep(field: str) -> Callable[[click.Context, click.Parameter, Any], None]:
    def keep(context: click.Context, _: click.Parameter, value: Any) -> None:
        if value not in (None, False):
            setattr(context.find_root().ensure_object(Settings), field, value)

    return keep


def common_options() -> list[click.Parameter]:
    """Return the options that mean the same in every command."""
    return [
        click.Option(
            ["--db", "library"],
            metavar="PATH|URL",
            envvar="LAYDOWN_DB",
            show_envvar=True,
            expose_value=False,
            callback=_keep("library"),
            help="The library to use instead of the usual one.",
        ),
        click.Option(
            ["-o", "--output"],
            metavar="FILE",
            type=click.Path(dir_okay=False, allow_dash=True),
            expose_value=False,
            callback=_keep("output"),
            help="Write the result to this file; - is standard output.",
        ),
        click.Option(
            ["--json", "as_json"],
            is_flag=True,
            expose_value=False,
            callback=_keep("as_json"),
            help="Give the result as JSON.",
        ),
        click.Option(
            ["-q", "--quiet"],
            is_flag=True,
            expose_value=False,
            callback=_keep("quiet"),
            help="Leave out messages and progress.",
        ),
        click.Option(
            ["--debug"],
            is_flag=True,
            expose_value=False,
            help="On an error, show where in the program it arose.",
        ),
    ]
