"""Kinds of command: a verb that does a task, a noun that gathers verbs, and the door itself.

The door knows its nouns by a table and loads the module of the one that was asked for, so that
``laydown --help`` needs none of the numerical libraries.
"""

import difflib
from collections.abc import Callable
from dataclasses import dataclass
from pkgutil import resolve_name
from typing import Any

import click

DONE = 0
CAN_BE_MENDED = 1
"""What a command leaves behind after an error that the user can mend; the message says how."""
USAGE = 2
"""The command itself was not understood."""
ANSWER_IS_NO = 3
"""All went well and the answer is no, such as a color out of reach."""
INTERRUPTED = 130
"""Stopped by Ctrl-C, as shells expect it; the library is as it was."""


@dataclass(slots=True)
class Settings:
    """The common options of one call."""

    library: str = ""
    """Path or URL of the library; empty for the usual place."""
    output: str = "-"
    """Where the result goes; ``-`` is standard output."""
    as_json: bool = False
    quiet: bool = False
    """Whether messages and progress are left out; results and errors never are."""
    workers: int = 0
    cluster: str = ""
    """Who does long work, as `laydown.app.crew.crew` takes it."""


def settings() -> Settings:
    """Return the settings of the call that is running."""
    return click.get_current_context().find_root().ensure_object(Settings)


def _keep(context: click.Context, parameter: click.Parameter, value: Any) -> None:
    """Keep what an option says as the setting that it is called by."""
    if value not in (None, False):
        setattr(context.find_root().ensure_object(Settings), str(parameter.name), value)


def _option(*flags: str, **more: Any) -> click.Option:
    return click.Option(flags, expose_value=False, **({"callback": _keep} | more))


def common_options() -> list[click.Parameter]:
    """Return the options that mean the same in every command."""
    return [
        _option(
            "--db",
            "library",
            metavar="PATH|URL",
            envvar="LAYDOWN_DB",
            show_envvar=True,
            help="The library to use instead of the usual one.",
        ),
        _option(
            "-o",
            "--output",
            metavar="FILE",
            type=click.Path(dir_okay=False, allow_dash=True),
            help="Write the result to this file; - is standard output.",
        ),
        _option("--json", "as_json", is_flag=True, help="Give the result as JSON."),
        _option("-q", "--quiet", is_flag=True, help="Leave out messages and progress."),
        _option(
            "--debug",
            is_flag=True,
            callback=None,
            help="On an error, show where in the program it arose.",
        ),
    ]


def by_several(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command whose work is long the options that have several processes do it."""
    cluster = click.option(
        "--cluster",
        metavar="ADDRESS",
        expose_value=False,
        callback=_keep,
        help="Have the work done by the workers of a Dask scheduler, such as tcp://host:8786.",
    )
    workers = click.option(
        "--workers",
        type=click.IntRange(1, 256),
        expose_value=False,
        callback=_keep,
        help="Have the work done by so many processes of this computer.",
    )
    given: Callable[..., Any] = workers(cluster(command))
    return given


class LedByExample(click.Command):
    """A command whose help leads with an example."""

    example: str

    def format_help_text(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the example before the words."""
        formatter.write_paragraph()
        with formatter.indentation():
            for line in self.example.splitlines():
                formatter.write(f"{'':>{formatter.current_indent}}$ {line}\n")
        super().format_help_text(ctx, formatter)


def _in_full(example: str, typed: str) -> str:
    """Put what is typed before each line of an example, but one that names laydown itself."""
    lines = (x if "laydown" in x else f"{typed} {x}".strip() for x in example.split("\n"))
    return "\n".join(lines)


class Verb(LedByExample):
    """A command that does one task of the app and understands the common options.

    `tasks`: names in ``laydown.app.TASKS`` of what it calls. `example`: a command line that its
    help leads with.
    """

    def __init__(
        self,
        name: str,
        *,
        tasks: tuple[str, ...],
        example: str,
        callback: Callable[..., Any],
        params: list[click.Parameter],
    ) -> None:
        all_params = [*params, *common_options()]
        super().__init__(name, callback=callback, params=all_params, help=callback.__doc__)
        self.tasks = tasks
        self.example = example


class Noun(LedByExample, click.Group):
    """A group of verbs about one thing; a near miss gets a suggestion."""

    def __init__(self, name: str, words: str, example: str) -> None:
        super().__init__(name, help=words, no_args_is_help=True)
        self.example = _in_full(example, f"laydown {name}")

    def verb(
        self, name: str, tasks: str, example: str = ""
    ) -> Callable[[Callable[..., Any]], Verb]:
        """Make a function with click's parameter decorators the verb of this name, see `verb`."""

        def register(function: Callable[..., Any]) -> Verb:
            made = verb(name, tasks, example, of=f"{self.name} ")(function)
            self.add_command(made)
            return made

        return register

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the verbs in the order in which they were written, not the alphabet's."""
        return list(self.commands)

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command of this name, or name the ones that come near."""
        known = self.list_commands(ctx)
        if args[0] in known or args[0].startswith("-") or ctx.resilient_parsing:
            return super().resolve_command(ctx, args)
        near = difflib.get_close_matches(args[0], known, n=3, cutoff=0.5)
        hint = f"Did you mean {' or '.join(near)}?" if near else f"There are {', '.join(known)}."
        raise click.UsageError(f"{ctx.command_path} has no command “{args[0]}”. {hint}", ctx)


class LazyNouns(Noun):
    """A noun whose members are loaded when they are asked for.

    `members`: name to (module beside this one, attribute, words for the overview).
    """

    def __init__(
        self, name: str, words: str, example: str, members: dict[str, tuple[str, str, str]]
    ) -> None:
        super().__init__(name, words, example)
        self.members = members

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names in the order of the table."""
        return list(self.members)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Load the command of this name."""
        if cmd_name not in self.members:
            return None
        module, attribute, _ = self.members[cmd_name]
        command: click.Command = resolve_name(f"{__package__}.{module}:{attribute}")
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the members by the words of the table, without loading them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, words) for name, (_, _, words) in self.members.items()])


def verb(
    name: str, tasks: str, example: str = "", *, of: str = ""
) -> Callable[[Callable[..., Any]], Verb]:
    """Make a function with click's parameter decorators a verb that stands on its own.

    `tasks`: between blanks. `example`: what is typed behind its name, see `_in_full`. `of`: the
    noun before it.
    """
    shown = _in_full(example, f"laydown {of}{name}")

    def make(function: Callable[..., Any]) -> Verb:
        params: list[click.Parameter] = list(reversed(getattr(function, "__click_params__", [])))
        done = tuple(tasks.split())
        return Verb(name, tasks=done, example=shown, callback=function, params=params)

    return make
