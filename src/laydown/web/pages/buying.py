"""What to buy."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import starmap
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, File, Form, UploadFile
from pydantic import BaseModel, Field

from laydown.app.buying import PRICE_COLUMNS, ChooseKit, KitGroup, KitsChosen
from laydown.app.lessons import lessons as lesson_tasks
from laydown.app.library import Library
from laydown.app.matches.colors import USUAL_K_L
from laydown.app.runs import measured_shades
from laydown.app.tasks import GivenFile
from laydown.errors import BadFileError
from laydown.plan.kit.choice import KitChoice, PurchaseOutcome
from laydown.web import asking as ask
from laydown.web.desk import AtDesk, AtJobs, AtLibrary
from laydown.web.faces import Beside, shows
from laydown.web.files import hands_over
from laydown.web.long_work import asked_by, finds, lists, starts
from laydown.web.pages.lessons import lesson_sent

MOST_LESSONS = 20
MOST_TEXT = 100_000
MOST_PRICE = 1_000_000.0
LONGEST_TRY = 600.0
"""Seconds that a choice may be worked on: beyond that the gap hardly closes."""
_Name = Annotated[str, Field(max_length=ask.LONGEST)]
_Text = Annotated[str, Field(max_length=MOST_TEXT)]
_Number = Annotated[int, Field(ge=1, le=ask.LARGEST)]
_Count = Annotated[int, Field(ge=0, le=ask.MOST_NAMES)]
_Price = Annotated[float, Field(ge=0, le=MOST_PRICE, allow_inf_nan=False)]


class ChoosingFields(BaseModel):
    """The fields of the form; those that the command line has are called as there.

    `lesson` are numbers of lessons that are kept, `colors` are typed one a line, `prices` is a
    price list as text, and `before` is the number of a job whose lessons and prices are taken
    where none are named.
    """

    lesson: Annotated[list[_Number], Field(max_length=MOST_LESSONS)] = []
    colors: _Text = ""
    range: Annotated[list[_Name], Field(max_length=ask.MOST_NAMES)] = []
    apart: bool = False
    paper: _Name = ""
    kit: _Name = ""
    out_of: _Name = ""
    must: _Text = ""
    never: _Text = ""
    aim: Literal["fewest", "cheapest", "best"] = "fewest"
    most: Annotated[_Count | None, ask.Blank] = None
    budget: Annotated[_Price | None, ask.Blank] = None
    prices: _Text = ""
    tolerance: Literal["sketch", "class", "close"] = "class"
    steps: Annotated[int, Field(ge=1, le=2)] = 2
    coats: Annotated[int, Field(ge=1, le=3)] = 2
    seconds: Annotated[float, Field(ge=1, le=LONGEST_TRY, allow_inf_nan=False)] = 60.0
    k_L: ask.Lightness = Field(USUAL_K_L, alias="kl")  # noqa: N815  as the equation calls it
    step: Annotated[ask.Effort | None, ask.Blank] = Field(None, alias="step_effort")
    coat: Annotated[ask.Effort | None, ask.Blank] = Field(None, alias="coat_effort")
    sense: bool = True
    before: Annotated[int, Field(ge=0, le=ask.LARGEST)] = 0

    def rules(self) -> ChooseKit:
        """Return what they say, but for lessons and prices."""
        own = {"lesson", "colors", "range", "prices", "before", "must", "never", "budget"}
        return ChooseKit(
            lessons=(),
            ranges=tuple(name for name in self.range if name),
            must=ask.names_of(self.must),
            never=ask.names_of(self.never),
            budget=None if self.budget is None else round(100 * self.budget),
            **self.model_dump(exclude=own),
        )


def choosing_sent(
    desk: AtDesk,
    fields: Annotated[ChoosingFields, Form()],
    files: Annotated[list[UploadFile], File(max_length=MOST_LESSONS)] = [],  # noqa: B006  FastAPI copies it
    price_list: UploadFile | None = None,
) -> ChooseKit:
    """Read the form. Raises BadFileError when nothing is named that is to be made."""
    asked = asked_by(desk.jobs, fields.before, ChooseKit) if fields.before else ChooseKit(())
    lessons = _lessons(desk.library, fields)
    lessons += lesson_sent(files)
    if not (lessons or asked.lessons or fields.out_of):
        raise BadFileError(
            "No lesson and no color was named.",
            hint="Tick a lesson, choose its file, or type colors one a line.",
        )
    prices = next(iter(lesson_sent([price_list])), None)
    return replace(
        fields.rules(),
        lessons=tuple(lessons) or asked.lessons,
        prices=prices or _prices_typed(fields.prices) or asked.prices,
    )


def _lessons(library: Library, fields: ChoosingFields) -> list[GivenFile]:
    """Return the lessons that are kept, and the colors that were typed as one more."""
    kept = [lesson_tasks.fetch_lesson(library, number) for number in fields.lesson]
    typed = ask.typed_of(fields.colors)
    if not typed:
        return kept
    rows, named = tuple(starmap(lesson_tasks.TargetRow, enumerate(typed, start=1))), "Colors"
    made = lesson_tasks.new_lesson(library, None, named, paper=fields.paper, rows=rows)
    return [*kept, GivenFile(lesson_tasks.write_lesson(made), named)]


def _prices_typed(text: str) -> GivenFile | None:
    """Return a typed price list, with the line that names its columns where that is missing."""
    lines = ask.lines_of(text)
    if not lines:
        return None
    if not lines[0].casefold().startswith(PRICE_COLUMNS[0]):
        lines.insert(0, ",".join(PRICE_COLUMNS))
    return GivenFile("\n".join(lines).encode(), "the price list")


router = APIRouter()
AT_ONCE, LEAST_AT_ONCE = 24, 10
"""Colors that a page shows in all its groups together, and in each at least."""


def choosing_around(jobs: AtJobs, lesson: ask.Count = 0, job: ask.Count = 0) -> Beside:
    """Return what the form shows: what a job was asked, or a lesson that is ticked."""
    asked = asked_by(jobs, job, ChooseKit) if job else ChooseKit(())
    return {"lesson": lesson, "before": job, "asked": asked, "unasked": ChooseKit(())}


shows(router, "/choosing", "choosing.html.j2", beside=choosing_around, under="jobs")(
    lists("choose_kit")
)


@starts(
    router,
    "/choosing",
    "choose_kit",
    "/chosen",
    lambda asked: (
        f"What to take of {asked.out_of}"
        if asked.out_of
        else f"What to buy out of {', '.join(asked.ranges) or 'all ranges'}"
    ),
    mended_at="/choosing",
)
def choose(asked: Annotated[ChooseKit, Depends(choosing_sent)]) -> ChooseKit:
    """Choose what to buy so that lessons can be made."""
    return asked


kits_chosen = finds(KitsChosen)
Chosen = Annotated[KitsChosen, Depends(kits_chosen)]


def _way_called(outcome: PurchaseOutcome, choice: KitChoice) -> str:
    """Say what a purchase is beside the choice: by how many it is smaller or larger."""
    more = len(outcome.bought) - len(choice.chosen.bought)
    if outcome is choice.nothing:
        return "nothing"
    if outcome is choice.chosen:
        return "the choice"
    if more > 0:
        return f"{more} more"
    return f"{-more} fewer" if more else "as many"


def _ways(group: KitGroup) -> Iterator[Beside]:
    """Yield the purchases that stand side by side, each with what it comes to.

    Told by name: the colors that are not near enough, what the choice has and this has not, and the
    other way round.
    """
    choice = group.choice
    own = {offer.name for offer in choice.chosen.bought}
    for outcome in filter(None, (choice.nothing, choice.fewer, choice.chosen, choice.more)):
        other = {offer.name for offer in outcome.bought}
        yield {
            "name": _way_called(outcome, choice),
            "outcome": outcome,
            "missed": [color.name for color in outcome.colors if not color.near_enough],
            "without": sorted(own - other),
            "besides": sorted(other - own),
        }


def chosen_around(library: AtLibrary, found: Chosen, first: ask.Count = 0) -> Beside:
    """Return what the page of a choice needs besides."""
    return {
        "shades": {
            one.recipe.colorants[0].label: one.lab
            for one in measured_shades(library, found.paper)
            if one.recipe is not None
        },
        "first": first,
        "at_once": max(LEAST_AT_ONCE, AT_ONCE // len(found.groups)),
        "ways": _ways,
    }


shows(router, "/chosen", "chosen.html.j2", beside=chosen_around)(kits_chosen)
hands_over(router, "/chosen/file", kits_chosen, "supplies")
