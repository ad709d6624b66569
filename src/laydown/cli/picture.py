"""``laydown picture``: from a photograph or a drawing to a plan, and what a kit makes of it."""

from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import click
from click.core import ParameterSource

from laydown import allowed_sizes
from laydown.cli import exit_codes
from laydown.cli.asking import asking, asking_options, tell_of_compiling
from laydown.cli.commands import Noun
from laydown.cli.console import progress, read_bytes, say, show, suggest, write_whole
from laydown.cli.library_in_use import library_in_use
from laydown.cli.names import names_of
from laydown.cli.picture_terms import painting_in_words, plan_in_words
from laydown.cli.settings import settings

if TYPE_CHECKING:
    from laydown.app.match_color import Asking
    from laydown.app.plan_files import PictureFile
    from laydown.plan.picture import PlanRules

USUAL_STEPS = 2
Result = TypeVar("Result")

picture = Noun(
    "picture",
    words="Pictures: plan one in values and colors, and see what your kit makes of it.",
    example="laydown picture plan lemons.jpg -o lemons.plan",
)

white_option = click.option(
    "--white",
    multiple=True,
    metavar="WHAT@WHERE",
    help="What is of known color in the picture, such as paper@5%,5%,10%,4%, gray@400,300 or chart;"
    " may be repeated.",
)


values_only_option = click.option(
    "--values-only", is_flag=True, help="Match values alone, with whatever hues the kit holds."
)


def source_of(file: str) -> str:
    """Return what to call a file in messages."""
    return "standard input" if file == "-" else file


def picture_file(
    file: str,
    *,
    white: tuple[str, ...] = (),
    paper: str = "",
    title: str = "",
    page: int = 1,
    rules: "PlanRules | None" = None,
) -> "PictureFile":
    """Read a picture or a plan, with what is known of it."""
    from laydown.app.plan_files import PictureFile
    from laydown.plan.picture import PlanRules

    content = read_bytes(file, most=allowed_sizes.PICTURE)
    return PictureFile(content, source_of(file), title, rules or PlanRules(), white, paper, page)


def picture_asking() -> "Asking":
    """Return what the options ask for; a picture's recipes have two steps unless more are asked.

    A picture has a dozen colors or two, and two layers are what a hand lays without a mistake.
    """
    from dataclasses import replace

    given = click.get_current_context().get_parameter_source("steps")
    return replace(asking(), steps=USUAL_STEPS) if given is ParameterSource.DEFAULT else asking()


def tell(result: Result, render: Callable[[Result], str], file: bytes, output: str) -> None:
    """Write a file where it was asked for, and tell the result on standard output.

    A file whose name ends in .json gets the result itself.
    """
    if output.lower().endswith(".json"):
        settings().as_json = True
    elif output != "-":
        write_whole(Path(output), file)
        say(f"Written: {output}")
        settings().output = "-"
    show(result, render)


@picture.verb(
    "plan",
    tasks=["plan_picture"],
    example="laydown picture plan lemons.jpg --values 5 --white paper@2%,2%,8%,5% -o lemons.plan",
)
@click.argument("file")
@click.option(
    "--values",
    type=click.IntRange(2, 9),
    default=5,
    show_default=True,
    help="Steps of value.",
)
@click.option(
    "--even", is_flag=True, help="Make the steps of the same height, not at the picture's breaks."
)
@click.option(
    "--colors", type=click.IntRange(1, 60), help="Of the palette; as many as it asks for if not."
)
@click.option(
    "--width",
    type=click.FloatRange(20, 2000),
    default=180.0,
    show_default=True,
    help="Of the picture on paper, in mm.",
)
@click.option(
    "--least",
    type=click.FloatRange(0, 10000),
    default=25.0,
    show_default=True,
    help="Area of the smallest region worth coloring, in mm².",
)
@click.option(
    "--tip",
    type=click.FloatRange(0, 50),
    default=2.0,
    show_default=True,
    help="Width of what you color with, in mm; no region is narrower.",
)
@click.option("--title", default="", help="What to call it; the file's name if not given.")
@click.option("--page", type=click.IntRange(1), default=1, help="Of a PDF or a TIFF.")
@click.option(
    "--paper",
    default="",
    metavar="PAPER",
    shell_complete=names_of("paper"),
    help="The paper that --white paper@… means.",
)
@white_option
def plan(
    *,
    file: str,
    values: int,
    even: bool,
    colors: int | None,
    width: float,
    least: float,
    tip: float,
    title: str,
    page: int,
    paper: str,
    white: tuple[str, ...],
) -> None:
    """Plan the photograph or drawing in FILE: values first, then colors, in regions worth coloring.

    With -o lemons.plan the plan is kept, to be edited, printed, and made from your kit; what it
    holds is told on standard output. Steps part where the picture's own lights and darks part, or
    evenly with --even. What the tip can't color (soft edges, lines, dust) goes to its neighbor, and
    a region smaller than --least joins the neighbor nearest in value and color. No library is
    needed, unless --white names a paper.
    """
    from laydown.app.picture_light import names_paper
    from laydown.app.plan_picture import plan_picture
    from laydown.plan.picture import PlanRules

    rules = PlanRules(values, even, colors, width, least, tip)
    request = picture_file(file, white=white, paper=paper, title=title, page=page, rules=rules)
    with library_in_use() if names_paper(white) else nullcontext() as library:
        made = plan_picture(library, request)
    kept = settings().output
    tell(made.shown, plan_in_words, made.file, kept)
    if kept == "-":
        suggest("the same with -o NAME.plan, to keep the plan")
    else:
        suggest(f"laydown picture recipes {kept} --kit KIT -o preview.png")


@picture.verb(
    "show",
    tasks=["show_plan", "draw_plan"],
    example="laydown picture show lemons.plan -o regions.png",
)
@click.argument("plan_", metavar="PLAN")
def show_one(plan_: str) -> None:
    """Show what PLAN holds: value steps, palette and regions; no library is needed.

    With -o regions.png its regions are drawn with their numbers, to merge, split and name them by.
    """
    from laydown.app.draw_plan import DrawPlan, draw_plan
    from laydown.app.show_plan import ShowPlan, show_plan

    content, source = read_bytes(plan_, most=allowed_sizes.PLAN), source_of(plan_)
    found = show_plan(ShowPlan(content, source))
    drawn = b"" if settings().output == "-" else draw_plan(DrawPlan(content, source))
    tell(found, lambda p: plan_in_words(p, regions=True), drawn, settings().output)


@picture.verb(
    "recipes",
    tasks=["paint_plan"],
    example='laydown picture recipes lemons.plan --kit mine --paper "Gannet smooth" -o seen.png',
)
@click.argument("file")
@click.option(
    "--beside",
    multiple=True,
    metavar="KIT",
    shell_complete=names_of("kit"),
    help="Another kit, or a range, to show side by side with it; may be repeated.",
)
@values_only_option
@white_option
@asking_options
def recipes(
    file: str, *, beside: tuple[str, ...], values_only: bool, white: tuple[str, ...]
) -> int:
    """Find your kit's recipe for each color of FILE, a plan, or a picture that is planned first.

    With -o seen.png a picture is written: the original, the plan, and what the kit makes of it, in
    color and below that in values only. What is lost is told: how far off, which colors are out of
    reach, and which can't be told apart any more. Recipes have two steps at most unless --steps
    says otherwise. The exit code is 3 when some colors are out of reach.
    """
    tell_of_compiling()
    from laydown.app.paint_plan import PaintPlan, paint_plan

    how = picture_asking()
    asked = picture_file(file, white=white, paper=how.supplies.paper)
    request = PaintPlan(asked, how, beside, values_only)
    with library_in_use() as library, progress("matching") as watch:
        made = paint_plan(library, request, watch=watch)
    kept = settings().output
    tell(made.shown, painting_in_words, made.preview, kept)
    if kept == "-":
        suggest("the same with -o seen.png, to see it beside the picture")
    far = any(kit.lost.out_of_reach for kit in made.shown.kits)
    return exit_codes.ANSWER_IS_NO if far else exit_codes.DONE


@picture.verb(
    "lesson",
    tasks=["lesson_from_plan"],
    example='laydown picture lesson lemons.plan --title "Lemons in a blue bowl" -o lemons.txt',
)
@click.argument("plan_", metavar="PLAN")
@click.option("--title", default="", help="Of the lesson; the plan's if not given.")
@click.option("--paper", default="", metavar="PAPER", help="The paper it is meant for.")
def lesson(plan_: str, title: str, paper: str) -> None:
    """Make a lesson file of PLAN: its colors passage by passage, with roles and shares.

    Name passages first, with laydown picture passage. Colors from a picture stay estimates.
    """
    from laydown.app.lesson_from_plan import LessonFromPlan, lesson_from_plan

    content = read_bytes(plan_, most=allowed_sizes.PLAN)
    made = lesson_from_plan(LessonFromPlan(content, source_of(plan_), title, paper))
    show(made, lambda m: m.text)
    suggest("laydown lesson convert FILE --kit KIT")
