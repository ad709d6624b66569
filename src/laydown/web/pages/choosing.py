"""What to buy: the fewest, the cheapest or the best colorants for lessons, and how sure that is."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Query, Response

from laydown.app.choose_kit import ChooseKit, KitGroup, KitsChosen
from laydown.app.jobs import Job
from laydown.app.keep_lesson import KeptLesson
from laydown.app.list_lessons import list_lessons
from laydown.app.write_report import WriteReport, kit_lines, money, write_report
from laydown.color.arrays import FloatArray
from laydown.plan.kit_choice import KitChoice, Outcome
from laydown.web.choices import Choices, choices_of
from laydown.web.desk import AtJobs, AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import shows
from laydown.web.long_work import LARGEST, JobNumber, asked_by, found_by, jobs_of, starts
from laydown.web.pages.choosing_sent import ChoosingSent
from laydown.web.pages.lessons import First
from laydown.web.paper_color import color_of_paper

router = APIRouter()
TASK = "choose_kit"
AT_ONCE, LEAST_AT_ONCE = 40, 10
"""Colors that a page shows in all its groups together, and in each at least."""
Begun = Annotated[int, Query(ge=0, le=LARGEST)]
"""A number that a form begins with; 0 for none."""


@dataclass(frozen=True, slots=True)
class KitsMade:
    """The choices that were made, the latest first."""

    choices: tuple[Job, ...]


@dataclass(frozen=True, slots=True)
class ChoosingAround:
    """What the form shows.

    Parameters
    ----------
    choices
        Names to choose from.
    lessons
        Those that are kept.
    lesson
        The number of the one that is ticked; 0 for none.
    before
        The job whose question the form begins with; 0 for none.
    asked
        That question.
    """

    choices: Choices
    lessons: tuple[KeptLesson, ...]
    lesson: int
    before: int
    asked: ChooseKit


def choosing_around(
    library: AtLibrary, jobs: AtJobs, lesson: Begun = 0, job: Begun = 0
) -> ChoosingAround:
    """Return what the form shows: what a job was asked, or a lesson that is ticked."""
    asked = asked_by(jobs, job, ChooseKit) if job else ChooseKit(())
    return ChoosingAround(choices_of(library), list_lessons(library).lessons, lesson, job, asked)


@shows(router, "/choosing", "choosing.html.j2", beside=choosing_around)
def choosing(jobs: AtJobs) -> KitsMade:
    """List the choices that were made."""
    return KitsMade(jobs_of(jobs, TASK))


def _called(asked: ChooseKit) -> str:
    ranges = ", ".join(asked.ranges) or "all ranges"
    return f"What to buy out of {ranges}"


@starts(router, "/choosing", task=TASK, shown_at="/chosen", mended_at="/choosing", title=_called)
def choose(asked: ChoosingSent) -> ChooseKit:
    """Choose what to buy so that lessons can be made."""
    return asked


def kits_chosen(jobs: AtJobs, job: JobNumber) -> KitsChosen:
    """Show what is to be bought, and how sure that is."""
    return found_by(jobs, job, KitsChosen)


Chosen = Annotated[KitsChosen, Depends(kits_chosen)]


@dataclass(frozen=True, slots=True)
class Way:
    """One of the purchases that stand side by side: nothing, fewer, the choice, more.

    Parameters
    ----------
    name
        One of these.
    outcome
        What it comes to.
    without, besides
        Names of what the choice has and this has not, and the other way round.
    """

    name: str
    outcome: Outcome
    without: tuple[str, ...]
    besides: tuple[str, ...]

    @property
    def missed(self) -> tuple[str, ...]:
        """Names of the colors that are not near enough."""
        return tuple(color.name for color in self.outcome.colors if not color.within)


def _way_called(outcome: Outcome, choice: KitChoice) -> str:
    """Say what a purchase is beside the choice: by how many it is smaller or larger."""
    more = len(outcome.bought) - len(choice.chosen.bought)
    if outcome is choice.nothing:
        return "nothing bought"
    if outcome is choice.chosen:
        return "the choice"
    if more > 0:
        return f"{more} more"
    return f"{-more} fewer" if more else "as many"


@dataclass(frozen=True, slots=True, eq=False)
class ChosenAround:
    """What the page of a choice needs besides.

    Parameters
    ----------
    found
        The choice.
    job
        That made it.
    paper
        Shape (3,), CIELAB, for patches to lie on.
    first
        How many colors of each group come before the first that is shown.
    at_once
        How many of each group are shown.
    """

    found: KitsChosen
    job: int
    paper: FloatArray
    first: int
    at_once: int

    def lines(self, group: KitGroup) -> tuple[str, ...]:
        """Return the sentences on a choice, the same as at the command line."""
        return kit_lines(self.found, group)

    def price(self, group: KitGroup, price: int) -> str:
        """Return a price in a choice's currency; nothing where nothing has one."""
        return money(price, group.choice.wishes.currency)

    def ways(self, group: KitGroup) -> Iterator[Way]:
        """Yield the purchases that stand side by side."""
        choice = group.choice
        own = {offer.name for offer in choice.chosen.bought}
        ways = (choice.nothing, choice.fewer, choice.chosen, choice.more)
        for outcome in filter(None, ways):
            other = {offer.name for offer in outcome.bought}
            without, besides = tuple(sorted(own - other)), tuple(sorted(other - own))
            yield Way(_way_called(outcome, choice), outcome, without, besides)


def chosen_around(
    library: AtLibrary, found: Chosen, job: JobNumber, first: First = 0
) -> ChosenAround:
    """Return what the page of a choice needs besides."""
    at_once = max(LEAST_AT_ONCE, AT_ONCE // len(found.groups))
    return ChosenAround(found, job, color_of_paper(library, found.paper), first, at_once)


shows(router, "/chosen", "chosen.html.j2", beside=chosen_around)(kits_chosen)


@router.get("/chosen/file", response_class=Response)
def chosen_file(
    found: Chosen,
    form: Literal["pdf", "html", "csv", "json"] = "pdf",
    page: Literal["A4", "Letter"] = "A4",
) -> Response:
    """Hand over the supply list as a file."""
    return file_of(write_report(WriteReport(found, form, page)), f"supplies.{form}")
