"""Supplies without a search, and results that may be told or written as a document."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from laydown.cli.console import give, show
from laydown.cli.names import names_of
from laydown.cli.settings import settings

if TYPE_CHECKING:
    from laydown.app.supplies import Supplies
    from laydown.app.write_report import Result

KEY = "laydown.supplies"
FORMS = ("pdf", "html", "csv", "json")
Found = TypeVar("Found", bound="Result")


def _keep(context: click.Context, parameter: click.Parameter, value: Any) -> None:
    context.meta.setdefault(KEY, {})[parameter.name] = value


def _option(*names: str, kind: str, help: str, **more: Any) -> Callable[..., Any]:  # noqa: A002  click's word
    return click.option(
        *names,
        help=help,
        metavar=kind.upper(),
        shell_complete=names_of(kind),
        expose_value=False,
        callback=_keep,
        **more,
    )


def supplies_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options that say what is at hand; `supplies` then builds the request."""
    for decorate in (
        _option("--paper", kind="paper", default="", help="On this paper."),
        _option(
            "--range",
            "ranges",
            kind="range",
            multiple=True,
            help="This range as a whole, instead of a kit; may be repeated.",
        ),
        _option("--kit", kind="kit", default="", help="What is in this kit."),
    ):
        function = decorate(function)
    return function


def limits_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options that take from what is at hand, and bring it over from another paper."""
    for decorate in (
        _option(
            "--carried-from",
            kind="paper",
            default="",
            help="Carry colorants over from this paper, where they were swatched.",
        ),
        _option(
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
    from laydown.app.supplies import Supplies

    given = click.get_current_context().meta[KEY]
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
    from laydown.app.write_report import report_form

    return report_form(settings().output)


def give_report(found: Found, tell: Callable[[Found], str], form: str, page: str) -> None:
    """Tell a result, or write it as a document of this form."""
    if not form:
        show(found, tell)
        return
    from laydown.app.write_report import WriteReport, write_report

    give(write_report(WriteReport(found, form, page)))
