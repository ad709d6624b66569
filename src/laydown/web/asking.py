"""What an address or a form says of the supplies and the search, and what it offers."""

import re
from dataclasses import dataclass
from typing import Annotated, Literal

from fastapi import Depends, Form, Query
from pydantic import BaseModel, BeforeValidator, Field

from laydown.app.fits.at_hand import Supplies
from laydown.app.matches.colors import USUAL_K_L, Asking
from laydown.app.supplies.names import names_in
from laydown.app.supplies.papers import UsualPapers, usual_papers
from laydown.errors import BadRecipeError, TooLargeError
from laydown.media.laydown import Medium
from laydown.web.desk import AtLibrary

LONGEST = 200
"""Characters of a name."""
LONGEST_RECIPE = 1000
MOST_NAMES = 400

Name = Annotated[str, Query(max_length=LONGEST)]
Label = Annotated[str, Field(max_length=2 * LONGEST + 1)]
"""A colorant by its range and its name."""
Ticked = Annotated[list[Label], Form(max_length=MOST_NAMES)]
"""Colorants that were ticked in a form, or ranges."""
_Name = Annotated[str, Field(max_length=LONGEST)]
_Names = Annotated[list[_Name], Field(max_length=MOST_NAMES)]
Blank = BeforeValidator(lambda told: None if told == "" else told)
"""A number that may be left empty: None then."""
_Effort = Annotated[float, Field(ge=0, le=20, allow_inf_nan=False)]

MediumSent = Annotated[Literal["", "marker", "pencil", "wash"], Form()]
"""What colorants are made as; empty where a form leaves it open."""


def medium_of(sent: str) -> Medium | None:
    """Return the medium that a form says; None where it leaves it open."""
    return Medium(sent) if sent else None


class SuppliesFields(BaseModel):
    """The fields that say what may be used; their names are the command line's."""

    kit: _Name = ""
    range: _Names = []
    paper: _Name = ""
    without: _Names = []
    over: Annotated[str, Field(max_length=LONGEST_RECIPE)] = ""
    carried_from: _Name = ""

    def supplies(self) -> Supplies:
        """Return what they say.

        Raises
        ------
        BadRecipeError
            When a kit and ranges are named.
        """
        ranges = tuple(name for name in self.range if name)
        if self.kit and ranges:
            raise BadRecipeError(
                "Name a kit or ranges, not both.", hint="Leave one of the two empty."
            )
        left_out = tuple(name for name in self.without if name)
        return Supplies(
            self.kit, ranges, self.paper, left_out, self.over, swatched_on=self.carried_from
        )


class AskingFields(SuppliesFields):
    """The same, and the fields that say how a match is looked for."""

    from_paper: _Name = ""
    steps: Annotated[int, Field(ge=1, le=3)] = 3
    coats: Annotated[int, Field(ge=1, le=3)] = 3
    top: Annotated[int, Field(ge=0, le=20)] = 3
    kl: Annotated[float, Field(ge=0.1, le=10, allow_inf_nan=False)] = USUAL_K_L
    step_effort: Annotated[_Effort | None, Blank] = None
    coat_effort: Annotated[_Effort | None, Blank] = None
    sense: bool = True
    tolerance: Literal["sketch", "class", "close"] = "class"

    def asking(self) -> Asking:
        """Return what they say."""
        return Asking(
            self.supplies(),
            self.from_paper,
            steps=self.steps,
            coats=self.coats,
            top=self.top,
            k_L=self.kl,
            tolerance=self.tolerance,
            step=self.step_effort,
            coat=self.coat_effort,
            sense=self.sense,
        )


def _supplies_of(fields: Annotated[SuppliesFields, Query()]) -> Supplies:
    return fields.supplies()


def _supplies_sent(fields: Annotated[SuppliesFields, Form()]) -> Supplies:
    return fields.supplies()


def _asking_of(fields: Annotated[AskingFields, Query()]) -> Asking:
    return fields.asking()


def _asking_sent(fields: Annotated[AskingFields, Form()]) -> Asking:
    return fields.asking()


SuppliesOf = Annotated[Supplies, Depends(_supplies_of)]
SuppliesSent = Annotated[Supplies, Depends(_supplies_sent)]
AskingOf = Annotated[Asking, Depends(_asking_of)]
AskingSent = Annotated[Asking, Depends(_asking_sent)]
"""What a page's function names to be handed what an address (Of) or a form (Sent) says."""


def named(supplies: Supplies) -> str:
    """Return what to call supplies in a title."""
    return supplies.kit or ", ".join(supplies.ranges) or "the range"


def lines_of(text: str) -> list[str]:
    r"""Return the names in a pasted list, one a line; empty lines and list marks fall away.

    Examples
    --------
    >>> lines_of("Kelp\n- Dune\n\n")
    ['Kelp', 'Dune']
    """
    names = (re.sub(r"^[-*•]\s+", "", line.strip()) for line in text.splitlines())
    return [name for name in names if name]


def names_of(text: str) -> tuple[str, ...]:
    """Return the names in a pasted list, as `lines_of` does.

    Raises
    ------
    TooLargeError
        For a list that is too long to be looked up while somebody waits.
    """
    names = tuple(lines_of(text))
    if len(names) > MOST_NAMES:
        raise TooLargeError(
            f"There are {len(names)} names in this list; {MOST_NAMES} are taken at once.",
            hint="Paste it in parts.",
        )
    return names


@dataclass(frozen=True, slots=True)
class Choices:
    """Names to choose from, each sorted, and the paper that is meant unless another is chosen."""

    kits: tuple[str, ...]
    ranges: tuple[str, ...]
    papers: tuple[str, ...]
    usual: UsualPapers

    def paper_for(self, kit: str = "", range_name: str = "") -> str:
        """Return the paper that most of a kit or a range was swatched on; else one's usual."""
        usual = self.usual
        return usual.kits.get(kit) or usual.ranges.get(range_name) or usual.own


def choices_of(library: AtLibrary) -> Choices:
    """Return the names of the kits, ranges and papers there are."""
    kinds = ("kit", "range", "paper")
    kits, ranges, papers = (names_in(library, kind) for kind in kinds)
    return Choices(kits, ranges, papers, usual_papers(library))
