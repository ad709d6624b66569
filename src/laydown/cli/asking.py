"""The options that say what may be used, how a match is looked for, and where a result goes."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from laydown.cli.completion import Completer, names_of
from laydown.cli.console import give, say, show
from laydown.cli.settings import settings

if TYPE_CHECKING:
    from laydown.app.matches.colors import Asking

KEY_ASKING = "laydown.asking"
TOLERANCES = ("sketch", "class", "close")


def _keep(context: click.Context, parameter: click.Parameter, value: Any) -> None:
    context.meta.setdefault(KEY_ASKING, {})[parameter.name] = value


def _option_asking(*names: str, help: str, **more: Any) -> Callable[..., Any]:  # noqa: A002  click's word
    return click.option(*names, help=help, expose_value=False, callback=_keep, **more)


def _named(kind: str) -> Completer:
    return names_of(kind)


OPTIONS = (
    _option_asking(
        "--kit",
        default="",
        metavar="KIT",
        shell_complete=_named("kit"),
        help="Use what is in this kit.",
    ),
    _option_asking(
        "--range",
        "ranges",
        multiple=True,
        metavar="RANGE",
        shell_complete=_named("range"),
        help="Use this range as a whole, instead of a kit; may be given several times.",
    ),
    _option_asking(
        "--paper",
        default="",
        metavar="PAPER",
        shell_complete=_named("paper"),
        help="Color on this paper.",
    ),
    _option_asking(
        "--from-paper",
        default="",
        metavar="PAPER",
        shell_complete=_named("paper"),
        help="A named color is wanted as it is on this paper.",
    ),
    _option_asking(
        "--carried-from",
        default="",
        metavar="PAPER",
        shell_complete=_named("paper"),
        help="Carry the colorants over from this paper, where they were swatched.",
    ),
    _option_asking(
        "--over", default="", metavar="RECIPE", help="What lies on the paper already, bottom first."
    ),
    _option_asking(
        "--without",
        multiple=True,
        metavar="COLORANT",
        shell_complete=_named("colorant"),
        help="Leave this one out; may be given several times.",
    ),
    _option_asking(
        "--steps",
        type=click.IntRange(1, 3),
        default=3,
        show_default=True,
        help="Steps of a recipe, at most.",
    ),
    _option_asking(
        "--coats",
        type=click.IntRange(1, 3),
        default=3,
        show_default=True,
        help="Coats of a step, at most.",
    ),
    _option_asking(
        "--top",
        type=click.IntRange(0, 20),
        default=3,
        show_default=True,
        help="How many other recipes to show.",
    ),
    _option_asking(
        "--kl",
        "k_l",
        type=click.FloatRange(0.1, 10),
        default=0.5,
        show_default=True,
        help="How lightness weighs in the ranking; below 1, value comes first: a choice for "
        "pictures. With 1 the first is what the eye calls nearest.",
    ),
    _option_asking(
        "--step-effort",
        type=click.FloatRange(0, 20),
        default=0.0,
        show_default=True,
        help="How much nearer a recipe must be to be worth a step more [ΔE].",
    ),
    _option_asking(
        "--coat-effort",
        type=click.FloatRange(0, 20),
        default=0.0,
        show_default=True,
        help="How much nearer it must be to be worth a coat more [ΔE].",
    ),
    _option_asking(
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
    from laydown.app.fits.at_hand import Supplies
    from laydown.app.matches.colors import Asking

    given = click.get_current_context().meta[KEY_ASKING]
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
    from laydown.app.searching import announcing

    context = click.get_current_context()

    def tell() -> None:
        with context.scope(cleanup=False):  # whatever thread compiles
            say("Preparing the search, once; this takes some seconds…")

    context.with_resource(announcing(tell))


if TYPE_CHECKING:
    from laydown.app.fits.at_hand import Supplies
    from laydown.app.reports import Result

KEY_REPORTING = "laydown.supplies"
FORMS = ("pdf", "html", "csv", "json")
Found = TypeVar("Found", bound="Result")


def _keep_reporting(context: click.Context, parameter: click.Parameter, value: Any) -> None:
    context.meta.setdefault(KEY_REPORTING, {})[parameter.name] = value


def _option_reporting(*names: str, kind: str, help: str, **more: Any) -> Callable[..., Any]:  # noqa: A002  click's word
    return click.option(
        *names,
        help=help,
        metavar=kind.upper(),
        shell_complete=names_of(kind),
        expose_value=False,
        callback=_keep_reporting,
        **more,
    )


def supplies_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options that say what is at hand; `supplies` then builds the request."""
    for decorate in (
        _option_reporting("--paper", kind="paper", default="", help="On this paper."),
        _option_reporting(
            "--range",
            "ranges",
            kind="range",
            multiple=True,
            help="This range as a whole, instead of a kit; may be repeated.",
        ),
        _option_reporting("--kit", kind="kit", default="", help="What is in this kit."),
    ):
        function = decorate(function)
    return function


def limits_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options that take from what is at hand, and bring it over from another paper."""
    for decorate in (
        _option_reporting(
            "--carried-from",
            kind="paper",
            default="",
            help="Carry colorants over from this paper, where they were swatched.",
        ),
        _option_reporting(
            "--without",
            kind="colorant",
            multiple=True,
            help="Leave this one out; may be given several times.",
        ),
    ):
        function = decorate(function)
    return function


def supplies() -> "Supplies":
    """Return what the options of the running command say is at hand."""
    from laydown.app.fits.at_hand import Supplies

    given = click.get_current_context().meta[KEY_REPORTING]
    if given["kit"] and given["ranges"]:
        raise click.UsageError("Name a kit or ranges, not both.")
    return Supplies(
        given["kit"],
        given["ranges"],
        given["paper"],
        given.get("without", ()),
        swatched_on=given.get("carried_from", ""),
    )


def report_wanted() -> str:
    """Return the form of the document that the file's name asks for; empty for none.

    Raises
    ------
    BadFileError
        For a name that asks for another: to be told before there is anything to write.
    """
    if settings().output == "-" or settings().as_json:
        return ""
    from laydown.app.reports import report_form

    return report_form(settings().output)


def give_report(found: Found, tell: Callable[[Found], str], form: str, page: str) -> None:
    """Tell a result, or write it as a document of this form."""
    if not form:
        show(found, tell)
        return
    from laydown.app.reports import WriteReport, write_report

    give(write_report(WriteReport(found, form, page)))


page_option = click.option(
    "--page",
    type=click.Choice(("A4", "Letter"), case_sensitive=False),
    default="A4",
    show_default=True,
    help="Of a PDF.",
)
