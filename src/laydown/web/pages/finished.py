"""Finished works: shown as pictures, each with its paper and recipes."""

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, UploadFile

from laydown.app.notebook import finished as tasks
from laydown.app.notebook.trials import photograph_of
from laydown.web import asking as ask
from laydown.web.desk import AtLibrary
from laydown.web.faces import Beside, changes, of_library, shows
from laydown.web.files import file_sent
from laydown.web.pages.notebook import Remark, hands_photographs

router = APIRouter()
LONGEST_BEGUN = 20_000
"""Characters of the recipes that an answer begins the form with."""


def begun(
    title: ask.Name = "",
    paper: ask.Name = "",
    recipes: Annotated[str, Query(max_length=LONGEST_BEGUN)] = "",
) -> Beside:
    """Return what the form begins with, as an answer said it."""
    return {"title": title, "paper": paper, "recipes": recipes}


shows(router, "/finished", "finished.html.j2", beside=begun, under="finished")(
    of_library(tasks.list_finished)
)
shows(router, "/finished/work", "finished_work.html.j2")(
    of_library(tasks.show_finished, number=ask.Number)
)
hands_photographs(
    router, "/finished/photograph", partial(photograph_of, finished=True), "finished work"
)


@changes(router, "/finished", "/finished/work?number={0.number}", "“{0.title}” is kept.")
def keep(
    *,
    library: AtLibrary,
    title: ask.FullLine,
    paper: ask.Line = "",
    recipes: ask.Lines = "",
    lesson: ask.CountSent = 0,
    done: ask.Line = "",
    remark: Remark = "",
    photograph: UploadFile | None = None,
) -> tasks.FinishedWork:
    """Keep a finished work with its photograph, its paper and its recipes."""
    return tasks.keep_finished(
        library,
        title,
        paper=paper,
        recipes=tuple(ask.lines_of(recipes)),
        lesson=lesson,
        done=done,
        remark=remark.strip(),
        photograph=file_sent(photograph),
    )


changes(router, "/finished/remove", "/finished", "“{0.title}” is removed.")(
    of_library(tasks.remove_finished, number=ask.NumberSent, erase_photograph=ask.YesSent)
)
