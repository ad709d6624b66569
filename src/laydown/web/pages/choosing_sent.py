"""What a form says of a kit to be chosen: what is to be made, what may be bought, by what rules."""

from dataclasses import replace
from itertools import starmap
from typing import Annotated, Literal

from fastapi import Depends, File, Form, UploadFile
from pydantic import BaseModel, BeforeValidator, Field

from laydown.app.choose_kit import ChooseKit, LessonFile
from laydown.app.fetch_lesson import fetch_lesson
from laydown.app.new_lesson import NewLesson, TargetRow, new_lesson
from laydown.app.opening import Library
from laydown.app.price_offers import COLUMNS
from laydown.errors import BadFileError
from laydown.web.asking import LONGEST, MOST_NAMES
from laydown.web.desk import AtDesk
from laydown.web.fields import lines_of, names_of
from laydown.web.long_work import LARGEST, asked_by
from laydown.web.pages.lessons import file_parts, lesson_sent

MOST_LESSONS = 20
MOST_TEXT = 100_000
MOST_PRICE = 1_000_000.0
LONGEST_TRY = 600.0
"""Seconds that a choice may be worked on: beyond that the gap hardly closes."""
_Name = Annotated[str, Field(max_length=LONGEST)]
_Text = Annotated[str, Field(max_length=MOST_TEXT)]
_Blank = BeforeValidator(lambda told: None if told == "" else told)
_Number = Annotated[int, Field(ge=1, le=LARGEST)]
_Count = Annotated[int, Field(ge=0, le=MOST_NAMES)]
_Price = Annotated[float, Field(ge=0, le=MOST_PRICE, allow_inf_nan=False)]


class ChoosingFields(BaseModel):
    """The fields of the form; those that the command line has are called as there.

    `lesson` are numbers of lessons that are kept, `colors` are typed one a line, `prices` is a
    price list as text, and `before` is the number of a job whose lessons and prices are taken
    where none are named.
    """

    lesson: Annotated[list[_Number], Field(max_length=MOST_LESSONS)] = []
    colors: _Text = ""
    range: Annotated[list[_Name], Field(max_length=MOST_NAMES)] = []
    apart: bool = False
    paper: _Name = ""
    kit: _Name = ""
    must: _Text = ""
    never: _Text = ""
    aim: Literal["fewest", "cheapest", "best"] = "fewest"
    most: Annotated[_Count | None, _Blank] = None
    budget: Annotated[_Price | None, _Blank] = None
    prices: _Text = ""
    tolerance: Literal["sketch", "class", "close"] = "class"
    steps: Annotated[int, Field(ge=1, le=2)] = 2
    coats: Annotated[int, Field(ge=1, le=3)] = 2
    seconds: Annotated[float, Field(ge=1, le=LONGEST_TRY, allow_inf_nan=False)] = 60.0
    before: Annotated[int, Field(ge=0, le=LARGEST)] = 0

    def rules(self) -> ChooseKit:
        """Return what they say, but for lessons and prices."""
        return ChooseKit(
            lessons=(),
            ranges=tuple(name for name in self.range if name),
            apart=self.apart,
            paper=self.paper,
            kit=self.kit,
            must=names_of(self.must),
            never=names_of(self.never),
            aim=self.aim,
            most=self.most,
            budget=None if self.budget is None else round(100 * self.budget),
            tolerance=self.tolerance,
            steps=self.steps,
            coats=self.coats,
            seconds=self.seconds,
        )


def choosing_sent(
    desk: AtDesk,
    fields: Annotated[ChoosingFields, Form()],
    files: Annotated[list[UploadFile], File(max_length=MOST_LESSONS)] = [],  # noqa: B006  FastAPI copies it
    price_list: UploadFile | None = None,
) -> ChooseKit:
    """Read the form.

    Raises
    ------
    BadFileError
        When nothing is named that is to be made.
    """
    asked = asked_by(desk.jobs, fields.before, ChooseKit) if fields.before else ChooseKit(())
    lessons = _lessons(desk.library, fields)
    lessons += [LessonFile(sent.content, sent.name) for sent in lesson_sent(files)]
    if not (lessons or asked.lessons):
        raise BadFileError(
            "No lesson and no color was named.",
            hint="Tick a lesson, choose its file, or type colors one a line.",
        )
    prices = next((LessonFile(one.content, one.name) for one in lesson_sent([price_list])), None)
    return replace(
        fields.rules(),
        lessons=tuple(lessons) or asked.lessons,
        prices=prices or _prices_typed(fields.prices) or asked.prices,
    )


def _lessons(library: Library, fields: ChoosingFields) -> list[LessonFile]:
    """Return the lessons that are kept, and the colors that were typed as one more."""
    kept = [LessonFile(*file_parts(fetch_lesson(library, number))) for number in fields.lesson]
    typed = lines_of(fields.colors)
    if not typed:
        return kept
    rows, named = tuple(starmap(TargetRow, enumerate(typed, start=1))), "Colors"
    made = new_lesson(library, NewLesson(None, named, paper=fields.paper, rows=rows))
    return [*kept, LessonFile(made.text.encode(), named)]


def _prices_typed(text: str) -> LessonFile | None:
    """Return a typed price list, with the line that names its columns where that is missing."""
    lines = lines_of(text)
    if not lines:
        return None
    if not lines[0].casefold().startswith(COLUMNS[0]):
        lines.insert(0, ",".join(COLUMNS))
    return LessonFile("\n".join(lines).encode(), "the price list")


ChoosingSent = Annotated[ChooseKit, Depends(choosing_sent)]
"""What a page's function names to be handed what the form says."""
