"""``laydown picture``: from a photograph or a drawing to a plan, changed, made and printed."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import nullcontext
from dataclasses import replace
from typing import TYPE_CHECKING, Any, TypeVar

import click
from click.core import ParameterSource

from laydown import allowed_sizes
from laydown.app.tasks import GivenFile
from laydown.cli import asking, commands, console
from laydown.cli.console import columns, counted, recipe_text, tenths

if TYPE_CHECKING:
    from laydown.app.matches.colors import Asking
    from laydown.app.pictures.painting import PrintShown
    from laydown.app.pictures.plans import PictureFile, PlanShown
    from laydown.app.words import ColorInWords
    from laydown.match.outcome import Candidate
    from laydown.plan.picture.edits import Kind
    from laydown.plan.picture.picture import KitPicture, PaletteColor, Region


def plan_in_words(shown: "PlanShown", *, regions: bool = False) -> str:
    """Put a plan into words; with its regions where they are asked for."""
    levels = ", ".join(tenths(level) for level in shown.levels)
    head = (
        f"“{shown.title}”, {shown.width:.0f} × {shown.height:.0f} mm:"
        f" {counted(len(shown.levels), 'value step')} ({levels} from dark to light),"
        f" {counted(len(shown.palette), 'color')}, {counted(len(shown.regions), 'region')}"
    )
    tables = [_palette(shown), _regions(shown)] if regions else [_palette(shown)]
    return "\n\n".join([head, *tables, "\n".join(console.wrapped(shown.notes))])


def _palette(shown: "PlanShown") -> str:
    counts = Counter(region.color for region in shown.regions)
    rows = [
        [
            *(c.number, looks.words, tenths(looks.value), c.value_step + 1),
            *(f"{c.share:.1f} %", counts[c.number], looks.screen),
        ]
        for c, looks in _seen(shown.palette)
    ]
    return columns(["color", "looks", "value", "step", "area", "regions", "screen"], rows)


def _regions(shown: "PlanShown") -> str:
    rows = [
        [r.number, r.color, r.passage, r.role, tenths(looks.value), f"{r.share:.1f} %", looks.words]
        for r, looks in _seen(shown.regions)
    ]
    return columns(["region", "color", "passage", "role", "value", "area", "looks"], rows)


def _seen(parts: "Iterable[Part]") -> "Iterator[tuple[Part, ColorInWords]]":
    """Give each color or region of a plan with its color in words."""
    from laydown.app.words import in_words

    return ((part, in_words(part.lab)) for part in parts)


def painting_in_words(shown: "PlanShown") -> str:
    """Put what kits make of a picture into words."""
    return "\n\n".join("\n".join(_kit(shown, kit)) for kit in shown.kits)


def print_in_words(shown: "PrintShown") -> str:
    """Put what is printed into words: on what paper, how large, and what the list holds."""
    wide, high = shown.page
    plan = shown.plan
    size = f"{plan.width * shown.scale:.0f} × {plan.height * shown.scale:.0f} mm"
    sheet = f"Drawn {size} large on a sheet of {wide:.0f} × {high:.0f} mm."
    told = "\n".join(console.wrapped((sheet, *shown.warnings)))
    listed = painting_in_words(plan) if plan.kits else plan_in_words(plan)
    return f"{listed}\n\n{told}"


def _kit(shown: "PlanShown", kit: "KitPicture") -> Iterator[str]:
    what = ", values alone" if kit.values_only else ""
    yield f"“{shown.title}” from {kit.kit} on {kit.paper}{what}\n"
    header = ["color", "wanted", "area", "recipe"]
    if kit.values_only:
        rows = [
            [*wanted, f"{gives.words}, value {tenths(gives.value)}", tenths(best.difference.value)]
            for wanted, best, gives in _parts(shown, kit)
        ]
        yield columns([*header, "gives", "off in value"], rows)
    else:
        rows = [
            [*wanted, tenths(best.difference.delta_e), best.difference.words, best.verdict]
            for wanted, best, _ in _parts(shown, kit)
        ]
        yield columns([*header, "off", "what is off", "verdict"], rows)
    yield ""
    yield from console.wrapped((" ".join(_lost(kit)), *kit.notes))


def _parts(
    shown: "PlanShown", kit: "KitPicture"
) -> "Iterator[tuple[list[object], Candidate, ColorInWords]]":
    """Give of each color the cells that say what is wanted and how it is laid, and what comes."""
    from laydown.app.words import in_words

    for (color, looks), match in zip(_seen(shown.palette), kit.matches, strict=True):
        wanted = f"{looks.words}, value {tenths(looks.value)}"
        laid = recipe_text(match.best.prediction.recipe) or "leave the paper bare"
        cells = [color.number, wanted, f"{color.share:.1f} %", laid]
        yield cells, match.best, in_words(match.best.prediction.lab)


def _lost(kit: "KitPicture") -> Iterator[str]:
    lost = kit.lost
    yield (
        f"Lost: over the picture the kit's colors are off by {lost.mean:.1f} on the mean, and by "
        f"{lost.worst:.1f} at most (CIEDE2000), in color {lost.worst_color}; by "
        f"{lost.mean_value:.1f} in value. {100 * lost.steps_kept:.0f} % of the area stays in its "
        f"value step."
    )
    if lost.out_of_reach:
        kind = "color" if len(lost.out_of_reach) == 1 else "colors"
        yield f"Out of reach: {kind} {', '.join(map(str, lost.out_of_reach))}."
    if lost.merged:
        pairs = "; ".join(f"{one} and {other}" for one, other in lost.merged)
        yield f"No longer told apart: {pairs}."
    yield f"Planning alone, before any kit, flattens the picture by {lost.flattened:.1f}."


USUAL_STEPS = 2
Result = TypeVar("Result")
Part = TypeVar("Part", "PaletteColor", "Region")

picture = commands.Noun(
    "picture",
    "Pictures: plan one in values and colors, and see what your kit makes of it.",
    "plan lemons.jpg -o lemons.plan",
)

white_option = asking.text(
    "--white",
    "WHAT@WHERE",
    "What is of known color in the picture, such as paper@5%,5%,10%,4%, gray@400,300 or chart;"
    " may be repeated.",
    many=True,
)


plan_argument = click.argument("plan_", metavar="PLAN")
values_only_option = asking.flag(
    "--values-only", "Match values alone, with whatever hues the kit holds."
)


def picture_file(file: str, **known: Any) -> "PictureFile":
    """Read a picture or a plan, with what is known of it, as `PictureFile` has that."""
    from laydown.app.pictures.plans import PictureFile

    content = console.read_bytes(file, most=allowed_sizes.PICTURE)
    return PictureFile(content, console.source_of(file), **known)


def picture_asking() -> "Asking":
    """Return what the options ask for; a picture's recipes have two steps unless more are asked.

    A picture has a dozen colors or two, and two layers are what a hand lays without a mistake.
    """
    given, asked = click.get_current_context().get_parameter_source("steps"), asking.asked()
    return replace(asked, steps=USUAL_STEPS) if given is ParameterSource.DEFAULT else asked


def tell(result: Result, render: Callable[[Result], str], file: bytes, output: str) -> None:
    """Write a file where it was asked for, and tell the result on standard output.

    A file whose name ends in .json gets the result itself.
    """
    if output.lower().endswith(".json"):
        commands.settings().as_json = True
    elif output != "-":
        console.write_whole(output, file)
        commands.settings().output = "-"
    console.show(result, render)


@picture.verb(
    "plan", "plan_picture", "lemons.jpg --values 5 --white paper@2%,2%,8%,5% -o lemons.plan"
)
@click.argument("file")
@asking.option("--values steps", (2, 9), 5, "Steps of value.")
@asking.flag("--even", "Make the steps of the same height, not at the picture's breaks.")
@asking.option("--colors", (1, 60), words="Of the palette; as many as it asks for if not.")
@asking.option("--width", (20.0, 2000.0), 180.0, "Of the picture on paper, in mm.")
@asking.option(
    "--least", (0.0, 10000.0), 25.0, "Area of the smallest region worth coloring, in mm²."
)
@asking.option(
    "--tip", (0.0, 50.0), 2.0, "Width of what you color with, in mm; no region is narrower."
)
@asking.text("--title", words="What to call it; the file's name if not given.")
@asking.option("--page", (1, None), 1, "Of a PDF or a TIFF.")
@asking.named_option("paper", words="The paper that --white paper@… means.")
@white_option
def plan(
    *, file: str, title: str, page: int, paper: str, white: tuple[str, ...], **given: Any
) -> None:
    """Plan the photograph or drawing in FILE: values first, then colors, in regions worth coloring.

    With -o lemons.plan the plan is kept, to be edited, printed, and made from your kit; what it
    holds is told on standard output. Steps part where the picture's own lights and darks part, or
    evenly with --even. What the tip can't color (soft edges, lines, dust) goes to its neighbor, and
    a region smaller than --least joins the neighbor nearest in value and color. No library is
    needed, unless --white names a paper.
    """
    from laydown.app.pictures.plans import names_paper, plan_picture
    from laydown.plan.picture.picture import PlanRules

    rules = PlanRules(**given)
    request = picture_file(file, white=white, paper=paper, title=title, page=page, rules=rules)
    with console.library_in_use() if names_paper(white) else nullcontext() as library:
        shown, made, _ = plan_picture(library, request)
    kept = commands.settings().output
    tell(shown, plan_in_words, made, kept)
    if kept == "-":
        console.suggest("the same with -o NAME.plan, to keep the plan")
    else:
        console.suggest(f"laydown picture recipes {kept} --kit KIT -o preview.png")


@picture.verb("show", "show_plan draw_plan", "lemons.plan -o regions.png")
@plan_argument
def show_one(plan_: str) -> None:
    """Show what PLAN holds: value steps, palette and regions; no library is needed.

    With -o regions.png its regions are drawn with their numbers, to merge, split and name them by.
    """
    from laydown.app.pictures.plans import draw_plan, show_plan

    content, source = console.read_bytes(plan_, most=allowed_sizes.PLAN), console.source_of(plan_)
    found = show_plan(content, source)
    drawn = b"" if commands.settings().output == "-" else draw_plan(content, source)
    tell(found, lambda p: plan_in_words(p, regions=True), drawn, commands.settings().output)


@picture.verb("recipes", "paint_plan", 'lemons.plan --kit mine --paper "Gannet smooth" -o seen.png')
@click.argument("file")
@asking.named_option(
    "kit",
    "--beside",
    "Another kit, or a range, to show side by side with it; may be repeated.",
    many=True,
)
@values_only_option
@white_option
@asking.asking_options
@commands.by_several
def recipes(
    file: str, *, beside: tuple[str, ...], values_only: bool, white: tuple[str, ...]
) -> int:
    """Find your kit's recipe for each color of FILE, a plan, or a picture that is planned first.

    With -o seen.png a picture is written: the original, the plan, and what the kit makes of it, in
    color and below that in values only. What is lost is told: how far off, which colors are out of
    reach, and which can't be told apart any more. Recipes have two steps at most unless --steps
    says otherwise. The exit code is 3 when some colors are out of reach.
    """
    asking.tell_of_compiling()
    how = picture_asking()
    wanted = picture_file(file, white=white, paper=how.supplies.paper)
    shown, _, preview = console.ask(
        picture=wanted, asking=how, beside=beside, values_only=values_only, progress="matching"
    )
    kept = commands.settings().output
    tell(shown, painting_in_words, preview, kept)
    if kept == "-":
        console.suggest("the same with -o seen.png, to see it beside the picture")
    far = any(kit.lost.out_of_reach for kit in shown.kits)
    return commands.ANSWER_IS_NO if far else commands.DONE


@picture.verb(
    "lesson", "lesson_from_plan", 'lemons.plan --title "Lemons in a blue bowl" -o lemons.txt'
)
@plan_argument
@asking.text("--title", words="Of the lesson; the plan's if not given.")
@asking.text("--paper", "PAPER", "The paper it is meant for.")
def lesson(plan_: str, title: str, paper: str) -> None:
    """Make a lesson file of PLAN: its colors passage by passage, with roles and shares.

    Name passages first, with laydown picture passage. Colors from a picture stay estimates.
    """
    from laydown.app.lessons.lessons import write_lesson
    from laydown.app.pictures.plans import lesson_from_plan

    content = console.read_bytes(plan_, most=allowed_sizes.PLAN)
    made = lesson_from_plan(content, console.source_of(plan_), title=title, paper=paper)
    console.show(made, lambda lesson: write_lesson(lesson).decode())
    console.suggest("laydown lesson convert FILE --kit KIT")


ROLES = ("highlight", "light", "midtone", "shadow", "accent")


def _edit(
    plan: str,
    kind: "Kind | None" = None,
    regions: tuple[int, ...] = (),
    *,
    changes: GivenFile | None = None,
    **how: Any,
) -> None:
    """Change a plan as `Edit` has it or a file says, and write it back, or where `output` says."""
    from laydown.app.pictures.plans import edit_plan
    from laydown.plan.picture.edits import Edit

    kept = plan if commands.settings().output == "-" else commands.settings().output
    if kept == "-":
        raise click.UsageError("A plan from standard input needs -o NAME.plan to go to.")
    content = console.read_bytes(plan, most=allowed_sizes.PLAN)
    edits = [Edit(kind, regions, **how)] if kind else []
    shown, made, _ = edit_plan(content, console.source_of(plan), edits, changes=changes)
    tell(shown, lambda p: plan_in_words(p, regions=True), made, kept)
    console.suggest(f"laydown picture show {kept} -o regions.png, to look at its regions")


@picture.verb("merge", "edit_plan", "lemons.plan 3 4 5")
@plan_argument
@click.argument("regions", nargs=-1, required=True, type=click.IntRange(1))
def merge(plan_: str, regions: tuple[int, ...]) -> None:
    """Make REGIONS of PLAN one; the first keeps its number and its color.

    They have to touch. PLAN is changed in place; with -o another file is written instead.
    """
    _edit(plan_, "merge", regions)


@picture.verb("split", "edit_plan", "lemons.plan 7 --at 6.5")
@plan_argument
@click.argument("region", type=click.IntRange(1))
@asking.option(
    "--at",
    (0.0, 10.0),
    words="The value to part it at; where its own lights and darks part if not given.",
)
def split(plan_: str, region: int, at: float | None) -> None:
    """Part REGION of PLAN into what is lighter and what is darker than a value.

    The largest part keeps the number. PLAN is changed in place; with -o another file is written
    instead.
    """
    _edit(plan_, "split", (region,), at=at)


@picture.verb("passage", "edit_plan", "lemons.plan lemons 1 2 3 --role midtone")
@plan_argument
@click.argument("name")
@click.argument("regions", nargs=-1, required=True, type=click.IntRange(1))
@asking.option("--role", ROLES, words="What they are in it.")
def passage(plan_: str, name: str, regions: tuple[int, ...], role: str | None) -> None:
    """Say that REGIONS of PLAN belong to the passage NAME; "" for none.

    Without --role, a lesson made of the plan gives roles by the order of values. PLAN is changed in
    place; with -o another file is written instead.
    """
    _edit(plan_, "assign", regions, passage=name, role=role)


@picture.verb("color", "edit_plan", "boat.plan lab:71,8,46 3 4")
@plan_argument
@click.argument("color")
@click.argument("regions", nargs=-1, required=True, type=click.IntRange(1))
@asking.text("--to", "COLOR", "Run evenly to this color over REGIONS.")
def color(plan_: str, color: str, regions: tuple[int, ...], to: str) -> None:
    """Give REGIONS of PLAN a COLOR, or a run of colors: above all those of an outline drawing.

    A run goes from the first of REGIONS to the last. PLAN is changed in place; with -o another
    file is written instead.
    """
    ends = f"{color} to {to}" if to else color
    said = f"color {ends}: {' '.join(map(str, regions))}"
    _edit(plan_, changes=GivenFile(said.encode(), "what was asked"))


@picture.verb("edit", "edit_plan", "lemons.plan changes.txt")
@plan_argument
@click.argument("changes")
def edit(plan_: str, changes: str) -> None:
    """Make all CHANGES of a text file to PLAN, or none of them.

    A line each: merge 3 4; split 7 at 6.5; passage lemons: 1 2; role shadow: 3. PLAN is changed in
    place; with -o another file is written instead.
    """
    _edit(plan_, changes=console.given_file(changes, most=allowed_sizes.CHANGES))


@picture.verb("print", "print_plan", 'lemons.plan --kit mine --paper "Gannet smooth" -o lemons.pdf')
@click.argument("file")
@click.option(
    "--page",
    default="A4",
    show_default=True,
    metavar="PAGE",
    help="To print on: A3, A4, A5, Letter, or width x height in mm, such as 240x320.",
)
@asking.named_option(
    "kit",
    "--beside",
    "Another kit, or a range, side by side with it, in .html and .json; may be repeated.",
    many=True,
)
@values_only_option
@white_option
@asking.asking_options
def print_one(
    file: str, *, page: str, beside: tuple[str, ...], values_only: bool, white: tuple[str, ...]
) -> int:
    """Print FILE, a plan, or a picture that is planned first, to color it by numbers.

    With -o lemons.pdf there are three things to print at true size: the outlined regions with the
    numbers of their colors, a pale outline to color on or to trace, and the list of colors with
    recipes, value patches and boxes to try them in. The form follows the name: .pdf, .svg, .html
    (with the picture beside the plan) or .json. Without --kit or --range the list has the colors
    alone. The exit code is 3 when some colors are out of reach.
    """
    from laydown.app.pictures.painting import FORMS, PaintPlan, print_plan
    from laydown.app.pictures.plans import names_paper

    kept, how = commands.settings().output, _asking_if_named(beside, values_only)
    form = console.form_wanted(FORMS, "a plan") or "json"
    paper = how.supplies.paper if how else ""
    wanted = picture_file(file, white=white, paper=paper)
    request = PaintPlan(wanted, how, beside, values_only, form, page)
    needed = how or names_paper(white)
    with (
        console.library_in_use() if needed else nullcontext() as library,
        console.progress_bar("matching") as watch,
    ):
        shown, document = print_plan(library, request, watch=watch)
    tell(shown, print_in_words, document, kept)
    if kept == "-":
        console.suggest("the same with -o NAME.pdf, to print it")
    elif form == "pdf":
        console.suggest("print it at its true size (100 %, not fitted to the page)")
    far = any(kit.lost.out_of_reach for kit in shown.plan.kits)
    return commands.ANSWER_IS_NO if far else commands.DONE


def _asking_if_named(beside: tuple[str, ...], values_only: bool) -> "Asking | None":
    """Return what the options ask for; None where they name no supplies."""
    how = picture_asking()
    if how.supplies.kit or how.supplies.ranges:
        asking.tell_of_compiling()
        return how
    if beside or values_only:
        raise click.UsageError("Name the kit with --kit, or a range with --range.")
    return None
