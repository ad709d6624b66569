"""The options that say what may be used and how a match is looked for: of `match` and `chart`."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from laydown.cli.console import say
from laydown.cli.names import Completer, names_of

if TYPE_CHECKING:
    from laydown.app.match_color import Asking

KEY = "laydown.asking"
TOLERANCES = ("sketch", "class", "close")


def _keep(context: click.Context, parameter: click.Parameter, value: Any) -> None:
    context.meta.setdefault(KEY, {})[parameter.name] = value


def _option(*names: str, help: str, **more: Any) -> Callable[..., Any]:  # noqa: A002  click's word
    return click.option(*names, help=help, expose_value=False, callback=_keep, **more)


def _named(kind: str) -> Completer:
    return names_of(kind)


OPTIONS = (
    _option(
        "--kit",
        default="",
        metavar="KIT",
        shell_complete=_named("kit"),
        help="Use what is in this kit.",
    ),
    _option(
        "--range",
        "ranges",
        multiple=True,
        metavar="RANGE",
        shell_complete=_named("range"),
        help="Use this range as a whole, instead of a kit; may be given several times.",
    ),
    _option(
        "--paper",
        default="",
        metavar="PAPER",
        shell_complete=_named("paper"),
        help="Color on this paper.",
    ),
    _option(
        "--from-paper",
        default="",
        metavar="PAPER",
        shell_complete=_named("paper"),
        help="A named color is wanted as it is on this paper.",
    ),
    _option(
        "--carried-from",
        default="",
        metavar="PAPER",
        shell_complete=_named("paper"),
        help="Carry the colorants over from this paper, where they were swatched.",
    ),
    _option(
        "--over", default="", metavar="RECIPE", help="What lies on the paper already, bottom first."
    ),
    _option(
        "--without",
        multiple=True,
        metavar="COLORANT",
        shell_complete=_named("colorant"),
        help="Leave this one out; may be given several times.",
    ),
    _option(
        "--steps",
        type=click.IntRange(1, 3),
        default=3,
        show_default=True,
        help="Steps of a recipe, at most.",
    ),
    _option(
        "--coats",
        type=click.IntRange(1, 3),
        default=3,
        show_default=True,
        help="Coats of a step, at most.",
    ),
    _option(
        "--top",
        type=click.IntRange(0, 20),
        default=3,
        show_default=True,
        help="How many other recipes to show.",
    ),
    _option(
        "--kl",
        "k_l",
        type=click.FloatRange(0.1, 10),
        default=0.5,
        show_default=True,
        help="How lightness weighs in the ranking; below 1, value comes first.",
    ),
    _option(
        "--step-effort",
        type=click.FloatRange(0, 20),
        default=0.0,
        show_default=True,
        help="How much nearer a recipe must be to be worth a step more [ΔE].",
    ),
    _option(
        "--coat-effort",
        type=click.FloatRange(0, 20),
        default=0.0,
        show_default=True,
        help="How much nearer it must be to be worth a coat more [ΔE].",
    ),
    _option(
        "--tolerance",
        type=click.Choice(TOLERANCES),
        default="class",
        show_default=True,
        help="How close is close enough.",
    ),
)


def asking_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options to a command; `asking` then builds the request from them."""
    for decorate in reversed(OPTIONS):
        function = decorate(function)
    return function


def asking() -> "Asking":
    """Return what the options of the running command ask for."""
    from laydown.app.match_color import Asking
    from laydown.app.supplies import Supplies

    given = click.get_current_context().meta[KEY]
    if given["kit"] and given["ranges"]:
        raise click.UsageError("Name a kit or ranges, not both.")
    return Asking(
        Supplies(
            given["kit"],
            given["ranges"],
            given["paper"],
            given["without"],
            given["over"],
            swatched_on=given["carried_from"],
        ),
        from_paper=given["from_paper"],
        steps=given["steps"],
        coats=given["coats"],
        top=given["top"],
        k_L=given["k_l"],
        tolerance=given["tolerance"],
        step=given["step_effort"],
        coat=given["coat_effort"],
    )


def tell_of_compiling() -> None:
    """Have it said when the search must be compiled first, which takes a while.

    It is compiled when it begins, so that all that was named has been looked up by then.
    """
    from laydown.app.ready_search import announcing

    context = click.get_current_context()

    def tell() -> None:
        with context.scope(cleanup=False):  # whatever thread compiles
            say("Preparing the search, once; this takes some seconds…")

    context.with_resource(announcing(tell))
