"""``laydown finished``: works that are done, with photograph, paper and recipes."""

from typing import TYPE_CHECKING, Any

import click

from laydown.cli import asking, commands, console
from laydown.cli.console import columns, recipe_text

if TYPE_CHECKING:
    from laydown.app.notebook.finished import FinishedWork


def _told(work: "FinishedWork") -> str:
    lines = [f"{work.number}. {work.title}"]
    said = {
        "finished": work.done,
        "paper": work.paper,
        "photo": work.photograph and f"kept ({work.photograph[:12]})",
        "remark": work.remark,
    }
    lines += [f"{name:9}{text}" for name, text in said.items() if text]
    lines += [f"{'laid':9}{recipe_text(recipe)}" for recipe in work.recipes]
    return "\n".join(lines)


finished = commands.Noun(
    "finished",
    words="Finished works: a photograph, the paper, and all that was laid.",
    example='laydown finished keep "Lemons" --recipe "Kelp*2; Dune" --photo lemons.jpg',
)


@finished.verb(
    "keep",
    tasks=["keep_finished"],
    example='laydown finished keep "Lemons" --recipe "Kelp*2; Dune" --photo lemons.jpg',
)
@click.argument("title")
@asking.named_option("paper")
@click.option(
    "--recipe",
    "recipes",
    multiple=True,
    metavar="RECIPE",
    help="What was laid; may be given several times.",
)
@click.option(
    "--lesson",
    type=click.IntRange(1),
    default=None,
    metavar="NUMBER",
    help="A kept lesson of which all recipes were laid.",
)
@click.option("--date", "done", default="", metavar="DAY", help="When it was done: 2026-03-04.")
@click.option("--remark", default="", help="In your own words.")
@click.option("--photo", default="", metavar="FILE", help="Keep this photograph with it.")
def keep(lesson: int | None, photo: str, **given: Any) -> None:
    """Keep the work called TITLE, now that it is finished.

    What the camera noted of place, owner and time is left out of the photograph.
    """
    picture = console.photograph_given(photo)
    made = console.ask(lesson=lesson or 0, photograph=picture, **given)
    console.show(made, lambda m: f"Kept: {m.title}, finished work {m.number}.")
    console.suggest(f"laydown finished show {made.number}")


@finished.verb("list", tasks=["list_finished"], example="laydown finished list")
def list_() -> None:
    """List finished works, the latest first."""
    found = console.ask()
    header = ("number", "title", "finished", "paper", "recipes", "photo")
    rows = [
        (w.number, w.title, w.done or "-", w.paper or "-", len(w.recipes), w.photograph[:12] or "-")
        for w in found
    ]
    console.show(found, lambda _: columns(header, rows), under="finished")
    if not found:
        console.say("Nothing is finished yet.")


@finished.verb("show", tasks=["show_finished"], example="laydown finished show 1")
@click.argument("number", type=click.IntRange(1))
@click.option("--photo", default="", metavar="FILE", help="Write its photograph to this file.")
def show_one(number: int, photo: str) -> None:
    """Show the finished work NUMBER with its recipes."""
    from laydown.app.notebook.finished import finished_photograph, show_finished

    with console.library_in_use() as library:
        console.show(show_finished(library, number), _told)
        if photo:
            console.write_whole(photo, finished_photograph(library, number)[1])


@finished.verb("remove", tasks=["remove_finished"], example="laydown finished remove 1")
@click.argument("number", type=click.IntRange(1))
@click.option(
    "--erase-photograph", is_flag=True, help="Erase its photograph for good; undo brings none back."
)
def remove(number: int, *, erase_photograph: bool) -> None:
    """Remove the finished work NUMBER; library undo brings it back."""
    made = console.ask(number=number, erase_photograph=erase_photograph)
    console.show(made, lambda m: f"Removed: {m.title}.")
