"""What an address or a form says of the supplies and the search, and what it offers."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Literal
from urllib.parse import quote, unquote

from fastapi import Depends, Form, Query, Request
from pydantic import BaseModel, BeforeValidator, Field

from laydown.app.fits import Supplies
from laydown.app.library import Library, remembered
from laydown.app.matches.colors import USUAL_K_L, Asking
from laydown.app.runs import in_box, measured_shades
from laydown.app.supplies.names import INVENTED, names_in
from laydown.app.supplies.papers import usual_papers
from laydown.errors import BadRecipeError, TooLargeError
from laydown.media.recipe import Medium
from laydown.plan.run.runs import Shade
from laydown.web.desk import AtLibrary

LONGEST = 200
"""Characters of a name."""
LONGEST_RECIPE = 1000
BETWEEN = r",(?!\s*[-+.\d])"
"""A comma between two names; one before a number belongs to a color in numbers."""
MOST_NAMES = 400
FROM = "from"
"""A cookie: what a color was last asked of."""
NOTHING_SAID = Supplies()
LARGEST = 2**31 - 1
"""Of numbers that stand for something kept: a lesson, a sheet, a job."""
Number = Annotated[int, Query(ge=1, le=LARGEST)]
NumberSent = Annotated[int, Form(ge=1, le=LARGEST)]
Count = Annotated[int, Query(ge=0, le=LARGEST)]
CountSent = Annotated[int, Form(ge=0, le=LARGEST)]
"""A number, or how many are passed over, in an address or (Sent) a form; 0 for none."""
YesSent = Annotated[bool, Form()]
Name = Annotated[str, Query(max_length=LONGEST)]
Line = Annotated[str, Form(max_length=LONGEST)]
FullLine = Annotated[str, Form(min_length=1, max_length=LONGEST)]
Lines = Annotated[str, Form(max_length=100_000)]
"""What is typed in a form: a name, one that must be there, a list."""
Label = Annotated[str, Field(max_length=2 * LONGEST + 1)]
"""A colorant by its range and its name."""
Ticked = Annotated[list[Label], Form(max_length=MOST_NAMES)]
"""Colorants that were ticked in a form, or ranges."""
_Name = Annotated[str, Field(max_length=LONGEST)]
_Names = Annotated[list[_Name], Field(max_length=MOST_NAMES)]
Blank = BeforeValidator(lambda told: None if told == "" else told)
"""A number that may be left empty: None then."""
Effort = Annotated[float, Field(ge=0, le=20, allow_inf_nan=False)]
Lightness = Annotated[
    float,
    Field(ge=0.1, le=10, allow_inf_nan=False),
    BeforeValidator(lambda told: USUAL_K_L if told == "" else told),
]
"""How lightness weighs; what is usual where it is left empty."""
MediumSent = Annotated[Medium | None, Form()]
"""What colorants are made as; None where a form leaves it open."""


class SuppliesFields(BaseModel):
    """The fields that say what may be used; their names are the command line's."""

    kit: _Name = ""
    range: _Names = []
    from_: Annotated[str, Field(alias="from", max_length=LONGEST + 6)] = ""
    paper: _Name = ""
    without: _Names = []
    over: Annotated[str, Field(max_length=LONGEST_RECIPE)] = ""
    carried_from: _Name = ""

    def supplies(self) -> Supplies:
        """Return what they say. Raises BadRecipeError when a kit and ranges are named."""
        ranges = tuple(name for name in self.range if name)
        kind, _, name = self.from_.partition(":")
        kit = self.kit or (name if kind == "kit" and not ranges else "")
        ranges = ranges or ((name,) if kind == "range" and not kit else ())
        if self.kit and ranges:
            raise BadRecipeError(
                "Name a kit or ranges, not both.", hint="Leave one of the two empty."
            )
        left_out = tuple(name for name in self.without if name)
        return Supplies(kit, ranges, self.paper, left_out, self.over, swatched_on=self.carried_from)


class AskingFields(SuppliesFields):
    """The same, and the fields that say how a match is looked for."""

    from_paper: _Name = ""
    steps: Annotated[int, Field(ge=1, le=3)] = 3
    coats: Annotated[int, Field(ge=1, le=3)] = 3
    top: Annotated[int, Field(ge=0, le=20)] = 3
    k_L: Lightness = Field(USUAL_K_L, alias="kl")  # noqa: N815  as the equation calls it
    step: Annotated[Effort | None, Blank] = Field(None, alias="step_effort")
    coat: Annotated[Effort | None, Blank] = Field(None, alias="coat_effort")
    sense: bool = True
    tolerance: Literal["sketch", "class", "close"] = "class"

    def asking(self) -> Asking:
        """Return what they say."""
        said = {name: getattr(self, name) for name in AskingFields.__annotations__}
        return Asking(self.supplies(), **said)


def _told(request: Request, library: AtLibrary, told: Supplies) -> Supplies:
    """Return supplies as an address says them; where it says none, those that were meant last.

    What is said is remembered with the page. Of programs nothing is: they say what they mean.
    """
    if request.url.path.endswith(".json"):
        return told
    choices = choices_of(library)
    said = from_of(told)
    if said:
        request.state.keep = {FROM: quote(said)}
        return with_paper(told, choices)
    return supplies_at_hand(choices, unquote(request.cookies.get(FROM, "")), told)


def supplies_at_hand(choices: "Choices", said: str, told: Supplies = NOTHING_SAID) -> Supplies:
    """Return what is at hand where an address says nothing: what was said last, or the first.

    ``said`` is as `from_of` writes it, ``told`` what an address says besides.
    """
    kind, _, name = (said if said in choices.all_from else choices.first_from).partition(":")
    ranges = (name,) if kind == "range" else ()
    return with_paper(replace(told, kit=name if kind == "kit" else "", ranges=ranges), choices)


def with_paper(told: Supplies, choices: "Choices") -> Supplies:
    """Return supplies on the paper where most of them was swatched, where no paper was said."""
    usual = choices.paper_for(told.kit, next(iter(told.ranges), ""))
    return replace(told, paper=told.paper or usual)


def from_of(supplies: Supplies) -> str:
    """Return supplies as the one choice that forms have: ``kit:mine`` or ``range:Shoal``."""
    if supplies.kit:
        return f"kit:{supplies.kit}"
    return f"range:{supplies.ranges[0]}" if supplies.ranges else ""


def asks_more(asked: Asking) -> bool:
    """Whether anything is asked besides of what, on which paper and over what."""
    supplies = replace(asked.supplies, kit="", ranges=(), paper="", over="")
    return replace(asked, supplies=supplies) != Asking()


def supplies_of(
    request: Request, library: AtLibrary, fields: Annotated[SuppliesFields, Query()]
) -> Supplies:
    """Return what an address says of supplies."""
    return _told(request, library, fields.supplies())


def _supplies_sent(fields: Annotated[SuppliesFields, Form()]) -> Supplies:
    return fields.supplies()


def asking_of(
    request: Request, library: AtLibrary, fields: Annotated[AskingFields, Query()]
) -> Asking:
    """Return what an address says of supplies and of the search."""
    asked = fields.asking()
    return replace(asked, supplies=_told(request, library, asked.supplies))


def _asking_sent(fields: Annotated[AskingFields, Form()]) -> Asking:
    return fields.asking()


SuppliesOf = Annotated[Supplies, Depends(supplies_of)]
SuppliesSent = Annotated[Supplies, Depends(_supplies_sent)]
AskingOf = Annotated[Asking, Depends(asking_of)]
AskingSent = Annotated[Asking, Depends(_asking_sent)]
"""What a page's function names to be handed what an address (Of) or a form (Sent) says."""


def named(supplies: Supplies) -> str:
    """Return what to call supplies in a title."""
    return supplies.kit or ", ".join(supplies.ranges) or "the range"


def lines_of(text: str) -> list[str]:
    r"""Return the names in a pasted list, one a line; empty lines and list marks fall away.

    >>> lines_of("Kelp\n- Dune\n\n")
    ['Kelp', 'Dune']
    """
    names = (re.sub(r"^[-*•]\s+", "", line.strip()) for line in text.splitlines())
    return [name for name in names if name]


def typed_of(text: str) -> list[str]:
    r"""Return the names or colors in a typed list, one a line or with commas between.

    >>> typed_of("Kelp, Dune\nlab:71,8,46, dusty pink")
    ['Kelp', 'Dune', 'lab:71,8,46', 'dusty pink']
    """
    return [name for part in re.split(BETWEEN, text) for name in lines_of(part)]


def names_of(text: str) -> tuple[str, ...]:
    """Return the names in a typed list, as `typed_of` does.

    Raises TooLargeError for a list that is too long to be looked up while somebody waits.
    """
    names = tuple(typed_of(text))
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
    of_kits: Mapping[str, str]
    of_ranges: Mapping[str, str]
    own: str
    """Of each kit and each range, and else: the papers as `usual_papers` has them."""

    @property
    def all_from(self) -> tuple[str, ...]:
        """What a form can be answered from: boxes and sets, one's own and swatched first."""
        named = [("kit", n, n in self.of_kits) for n in self.kits]
        named += [("range", n, n in self.of_ranges) for n in self.ranges]
        own_first = sorted(named, key=lambda one: (one[1] in INVENTED, not one[2]))
        return tuple(f"{kind}:{name}" for kind, name, _ in own_first)

    @property
    def first_from(self) -> str:
        """What is meant where nobody chose; empty where there is nothing."""
        return next(iter(self.all_from), "")

    def paper_for(self, kit: str = "", range_name: str = "") -> str:
        """Return the paper that most of a kit or a range was swatched on; else one's usual."""
        return self.of_kits.get(kit) or self.of_ranges.get(range_name) or self.own


@remembered(8)  # as a whole: each part of it would ask once more whether anything was changed
def choices_of(library: Library) -> Choices:
    """Return the names of the kits, ranges and papers there are."""
    kinds = ("kit", "range", "paper")
    kits, ranges, papers = (names_in(library, kind) for kind in kinds)
    return Choices(kits, ranges, papers, *usual_papers(library))


def box_at_hand(library: Library, supplies: Supplies) -> tuple[Shade, ...]:
    """Return one coat of each color at hand, to be touched."""
    shades = measured_shades(library, supplies.paper) if supplies.paper else ()
    return in_box(library, shades, supplies) if shades else ()
