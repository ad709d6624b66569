"""The options that say what may be used and how it is looked for; and ``laydown completion``."""

import os
import re
from collections.abc import Callable, Sequence
from dataclasses import fields
from functools import partial
from typing import TYPE_CHECKING, Any, TypeVar

import click
from click.shell_completion import (
    BashComplete,
    CompletionItem,
    add_completion_class,
    get_completion_class,
)

from laydown.cli import commands, console
from laydown.reference.thresholds import step_words

if TYPE_CHECKING:
    from laydown.app.fits import Supplies
    from laydown.app.lessons.pages import PageMade
    from laydown.app.matches.colors import Asking
    from laydown.app.reports import Result
    from laydown.media.recipe import Medium


KEPT = "laydown.asking"
TOLERANCES = ("sketch", "class", "close")
FORMS = ("pdf", "html", "csv", "json")
Found = TypeVar("Found", bound="Result")


Completer = Callable[[click.Context, click.Parameter, str], list[CompletionItem]]


def names_of(kind: str) -> Completer:
    """Return a completer for colorants, ranges, papers or kits.

    An error of the library completes nothing: a shell is no place for messages.
    """

    def complete(context: click.Context, _: click.Parameter, typed: str) -> list[CompletionItem]:
        from laydown.app.supplies.names import complete_names
        from laydown.errors import LaydownError

        library = context.find_root().ensure_object(commands.Settings).library
        try:
            return [CompletionItem(n) for n in complete_names(kind, typed, location=library)]
        except LaydownError:
            return []

    return complete


def flag(flags: str, words: str) -> Callable[..., Any]:
    """Return an option that is given or not; `flags` and `words` as for `text`."""
    return click.option(*flags.split(), is_flag=True, help=words)


def text(
    flags: str,
    metavar: str | None = None,
    words: str | None = None,
    *,
    many: bool = False,
    **more: Any,
) -> Callable[..., Any]:
    """Return an option that takes a text; it is empty where it isn't given, and isn't `required`.

    `flags`: how it is typed, and after a blank what the command calls it, where that is another
    name. `metavar`, `words`: what its help says; without the first it says TEXT. `many`: whether it
    may be given several times. `more`: as for `click.option`.
    """
    usual = {"multiple": True} if many else {} if "required" in more else {"default": ""}
    return click.option(*flags.split(), metavar=metavar, help=words, **(usual | more))


def named_option(
    kind: str, flags: str = "", words: str | None = None, **more: Any
) -> Callable[..., Any]:
    """Return an option that takes the name of a colorant, range, paper or kit, and completes it.

    `kind` is which of these; the option is called so, unless `flags` say otherwise. The rest is as
    for `text`.
    """
    return text(flags or f"--{kind}", kind.upper(), words, shell_complete=names_of(kind), **more)


def option(
    flags: str, among: Sequence[Any], default: Any = None, words: str | None = None, **more: Any
) -> Callable[..., Any]:
    """Return an option whose values are bounded; its help shows its default, where it has one.

    `among`: the words there are, or the least and the most of a number, whole or not; None for the
    latter is no end. The rest is as for `text`.
    """
    more |= {"type": _values(among), "show_default": default is not None}
    return click.option(*flags.split(), default=default, help=words, **more)


def _values(among: Sequence[Any]) -> "click.ParamType[Any]":
    if any(isinstance(one, str) for one in among):
        return click.Choice(among)
    whole = all(one is None or isinstance(one, int) for one in among)
    least, most = (int(one) if one == int(one or 0) else one for one in among)  # as help shows it
    return click.IntRange(least, most) if whole else click.FloatRange(least, most)


def _keep(context: click.Context, parameter: click.Parameter, value: Any) -> None:
    context.meta.setdefault(KEPT, {})[parameter.name] = value


_name = partial(named_option, expose_value=False, callback=_keep)
_option = partial(option, expose_value=False, callback=_keep)
_text = partial(text, expose_value=False, callback=_keep)

tolerance_option = partial(option, "--tolerance", TOLERANCES, "class")
"""How near is near enough; it wants the words of its help."""
K_L = (
    "How lightness weighs in the ranking; below 1, value comes first: a choice for pictures. "
    "With 1 the first is what the eye calls nearest."
)
STEP_EFFORT = (
    "How much nearer a recipe must be to be worth a step more [ΔE]: "
    f"{step_words()}, unless you say so."
)
COAT_EFFORT = (
    "How much nearer it must be to be worth a coat more [ΔE]: half of that, unless you say so."
)
SENSE = (
    "Let the sense of the trade count: grays from grays, light from paper, light pressure first, "
    "and the rest of docs/sense.md. It does, unless you say --no-sense."
)

sense_option = partial(click.option, "--sense/--no-sense", default=True, help=SENSE)
SEARCHING = (
    _option("--steps", (1, 3), 3, "Steps of a recipe, at most."),
    _option("--coats", (1, 3), 3, "Coats of a step, at most."),
    _option("--kl k_L", (0.1, 10.0), 0.5, K_L),
    _option("--step-effort step", (0.0, 20.0), words=STEP_EFFORT),
    _option("--coat-effort coat", (0.0, 20.0), words=COAT_EFFORT),
    tolerance_option(expose_value=False, callback=_keep, words="How close is close enough."),
    sense_option(expose_value=False, callback=_keep),
)
_carried_from = _name(
    "paper",
    "--carried-from swatched_on",
    "Carry the colorants over from this paper, where they were swatched.",
)
_without = _name(
    "colorant", "--without", "Leave this one out; may be given several times.", many=True
)
SUPPLIES = (
    _name("kit", words="Use what is in this kit."),
    _name(
        "range",
        "--range ranges",
        "Use this range as a whole, instead of a kit; may be given several times.",
        many=True,
    ),
    _name("paper", words="Color on this paper."),
)


def together(*options: Callable[..., Any]) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Return a decorator that adds options to a command, in this order."""

    def decorate(function: Callable[..., Any]) -> Callable[..., Any]:
        for one in reversed(options):
            function = one(function)
        return function

    return decorate


asking_options = together(
    *SUPPLIES,
    _name("paper", "--from-paper", "A named color is wanted as it is on this paper."),
    _carried_from,
    _text("--over", "RECIPE", "What lies on the paper already, bottom first."),
    _without,
    _option("--top", (0, 20), 3, "How many other recipes to show."),
    *SEARCHING,
)
"""Adds the options of a match to a command; `asked` then builds the request from them."""
searching_options = together(*SEARCHING)
"""Adds those of them that say how recipes are looked for, where a command names its supplies."""
supplies_options = together(*SUPPLIES)
"""Adds the options that say what is at hand; `supplies` then builds the request from them."""
limits_options = together(_without, _carried_from)
"""Adds the options that take from what is at hand, and bring it over from another paper."""


def asked(at_hand: "Supplies | None" = None) -> "Asking":
    """Return what the options of the running command ask for, of these supplies or of its own."""
    from laydown.app.matches.colors import Asking

    return Asking(at_hand or supplies(), **_given(Asking))


def _given(request: type[Any]) -> dict[str, Any]:
    """Return what options say of the fields of a request; of others its own defaults hold."""
    kept = click.get_current_context().meta[KEPT]
    return {one.name: kept[one.name] for one in fields(request) if one.name in kept}


def supplies() -> "Supplies":
    """Return what the options of the running command say is at hand."""
    from laydown.app.fits import Supplies

    given = _given(Supplies)
    if given["kit"] and given["ranges"]:
        raise click.UsageError("Name a kit or ranges, not both.")
    return Supplies(**given)


def tell_of_compiling() -> None:
    """Have it said when the search must be compiled first, which takes a while.

    It is compiled when it begins, so that all that was named has been looked up by then.
    """
    from laydown.match.search.compiling import announcing

    context = click.get_current_context()

    def tell() -> None:
        with context.scope(cleanup=False):  # whatever thread compiles
            console.say("Preparing the search, once; this takes some seconds…")

    context.with_resource(announcing(tell))


def report_wanted() -> str:
    """Return the form of the document that the file's name asks for; empty for none."""
    return "" if commands.settings().as_json else console.form_wanted((*FORMS, "svg"))


def give_report(
    found: Found, form: str, page: str, *, tell: "Callable[[Found], str] | None" = None
) -> None:
    """Tell a result in words of its own or in those of its report, or write it in this form."""
    if not form:
        console.show(found, tell or _report_text)
        return
    from laydown.app.reports import write_report

    console.give(write_report(found, form, page=page))


MOST_ROWS = 60
"""Of a section, on a screen; a longer one is for a file."""


def _report_text(found: Found) -> str:
    """Put the report of a result into lines."""
    from laydown.app.reports import report_of

    report = report_of(found)
    parts = [report.title, *("\n".join(console.wrapped([line])) for line in report.lead)]
    for section in report.sections:
        told = [
            f"{r.head}: {r.text}" if r.head and r.text else r.head or r.text for r in section.rows
        ]
        if len(told) > MOST_ROWS:
            told[MOST_ROWS:] = [f"… and {len(told) - MOST_ROWS} more; all of them with -o"]
        lines = console.wrapped(told, "  ")
        if section.lines:
            rows = [
                [head, *(", ".join(c.words) for c in cells)] for head, _, cells in section.lines
            ]
            lines.append(console.columns(["", *section.columns], rows))
        if lines:
            parts.append("\n".join([section.title, *lines] if section.title else lines))
    return "\n\n".join(parts)


def give_page(made: "PageMade") -> None:
    """Write a page that answers, or say what is in it."""
    console.show(made, lambda m: m.html)
    missed = f"; none of it comes near {', '.join(made.unreached)}" if made.unreached else ""
    console.say(
        f"“{made.title}”: {made.colors} colors, {made.colorants} colorants to tick{missed}."
    )


code_options = together(
    text(
        "--address",
        "URL",
        "Where the page will stand on the web: it then has a square code that opens it.",
    ),
    named_option(
        "kit",
        "--ticked",
        "With --address, a code that opens the page with what is in this kit ticked; may be"
        " given several times.",
        many=True,
    ),
)
"""Adds the options of the square codes on a page that answers."""


page_option = click.option(
    "--page",
    type=click.Choice(("A4", "Letter"), case_sensitive=False),
    default="A4",
    show_default=True,
    help="Of a PDF.",
)

details_option = flag(
    "--details",
    "Print what lies behind a chart too: numbers, other recipes, doubts, supplies, cautions.",
)


def _medium(_: click.Context, __: click.Parameter, text: str | None) -> "Medium | None":
    from laydown.media.recipe import Medium

    return Medium(text) if text else None


medium_option = option(
    "--medium",
    ("marker", "pencil", "wash"),
    words="What a range for new ones is made of; a new one of markers, unless you say so.",
    callback=_medium,
)


@commands.verb("completion", "", 'eval "$(laydown completion bash)"')
@click.argument("shell", type=click.Choice(("bash", "zsh", "fish")))
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
        words = os.environ.get("COMP_WORDS", "").split("\n")
        at = int(os.environ.get("COMP_CWORD", "0") or 0)
        in_quotes = at < len(words) and words[at][:1] in {'"', "'"}
        if item.type != "plain" or in_quotes:
            return super().format_completion(item)
        escaped = _SPECIAL.sub(r"\\\\\1", item.value)
        return super().format_completion(CompletionItem(escaped, item.type, item.help))


def complete_bash() -> None:
    """Let bash's completion be done by this."""
    add_completion_class(BashNames)
