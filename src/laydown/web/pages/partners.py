"""Partners: which colorants make the highlight and the shadow of another, and how they blend."""

from dataclasses import dataclass
from typing import Annotated, Literal

from fastapi import APIRouter, Depends, Query, Response

from laydown.app.list_partners import ListPartners, PartnersFound, list_partners
from laydown.app.supplies import Supplies
from laydown.app.write_report import WriteReport, write_report
from laydown.color.arrays import FloatArray
from laydown.web.asking import Name, SuppliesOf
from laydown.web.choices import Choices, choices_of
from laydown.web.desk import AtLibrary
from laydown.web.downloads import file_of
from laydown.web.faces import shows
from laydown.web.paper_color import WHITE, color_of_paper

router = APIRouter()
Count = Annotated[int, Query(ge=1, le=10)]


@dataclass(frozen=True, slots=True)
class NobodyAsked:
    """The page before a colorant was named."""

    colorant: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class PartnersAsked:
    """What was asked, for the form to keep it, and what the page needs besides.

    Parameters
    ----------
    colorant, supplies, count
        As they were asked.
    choices
        Names to choose from.
    paper
        Shape (3,), CIELAB, for strips to lie on.
    """

    colorant: str
    supplies: Supplies
    count: int
    choices: Choices
    paper: FloatArray


def partners_of(
    library: AtLibrary, supplies: SuppliesOf, color: Name = "", count: Count = 3
) -> PartnersFound | NobodyAsked:
    """Propose highlight and shadow for a colorant."""
    if not color.strip():
        return NobodyAsked()
    return list_partners(library, ListPartners(color, supplies, count))


Answer = Annotated[PartnersFound | NobodyAsked, Depends(partners_of)]


def partners_asked(
    library: AtLibrary, answer: Answer, supplies: SuppliesOf, color: Name = "", count: Count = 3
) -> PartnersAsked:
    """Return what was asked, and what the page needs besides."""
    paper = color_of_paper(library, answer.paper) if isinstance(answer, PartnersFound) else WHITE
    return PartnersAsked(color, supplies, count, choices_of(library), paper)


shows(router, "/partners", "partners.html.j2", beside=partners_asked)(partners_of)


@router.get("/partners/file", response_class=Response)
def partners_file(
    library: AtLibrary,
    supplies: SuppliesOf,
    *,
    color: Name,
    count: Count = 3,
    form: Literal["pdf", "html", "csv", "json"] = "pdf",
    page: Literal["A4", "Letter"] = "A4",
) -> Response:
    """Hand over a colorant's partners as a file."""
    found = list_partners(library, ListPartners(color, supplies, count))
    content = write_report(WriteReport(found, form, page))
    return file_of(content, f"partners for {found.colorant.name}.{form}")
