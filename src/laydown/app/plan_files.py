"""Plan files as the tasks about pictures share them, and pictures planned on the way."""

from dataclasses import dataclass, field
from pathlib import PurePath

import numpy as np

from laydown.app.picture_light import in_its_light
from laydown.documents.plan_file import is_plan, read_plan, write_plan
from laydown.imaging.picture import open_picture
from laydown.plan.picture import PicturePlan, PlanRules
from laydown.plan.picture_plan import plan_picture
from laydown.store.library import Library

__all__ = ["PictureFile", "plan_of", "planned", "read_plan", "write_plan"]

LONGEST = 1000
"""A picture is planned at so many pixels on its longer side: finer than a hand can color."""


@dataclass(frozen=True, slots=True)
class PictureFile:
    """A picture, or a plan that was made of one.

    Parameters
    ----------
    file, source
        Content and name.
    title
        What to call it; empty for the file's name.
    rules
        How it is planned.
    white
        What is of known color in it, see `laydown.app.picture_light.in_its_light`.
    paper
        The paper that is meant where `white` says only "paper".
    page
        Of a PDF or a TIFF, from 1.
    """

    file: bytes
    source: str
    title: str = ""
    rules: PlanRules = field(default_factory=PlanRules)
    white: tuple[str, ...] = ()
    paper: str = ""
    page: int = 1


def plan_of(library: Library | None, asked: PictureFile) -> PicturePlan:
    """Return the plan in a file; a picture is planned by the rules first."""
    if is_plan(asked.file):
        return read_plan(asked.file, source=asked.source)
    return planned(library, asked)


def planned(library: Library | None, asked: PictureFile) -> PicturePlan:
    """Open a picture, balance its light and plan it; a library is needed if a paper is named.

    Raises
    ------
    BadFileError
        For what is no picture.
    """
    opened = open_picture(asked.file, source=asked.source, longest=LONGEST, page=asked.page)
    picture = in_its_light(library, opened, asked.white, paper=asked.paper)
    title = asked.title or PurePath(asked.source).stem.replace("_", " ")
    return plan_picture(
        picture.lab.astype(np.float64),
        asked.rules,
        title=title,
        opaque=picture.opaque,
        notes=picture.notes,
    )
