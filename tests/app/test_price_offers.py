"""What can be bought by a price list, and what that means for a choice."""

import pytest

from laydown.app.buying import ChooseKit, choose_kit, offers_of, read_prices
from laydown.app.library import Library
from laydown.app.tasks import GivenFile
from laydown.errors import BadFileError, BadRecipeError, LaydownError, NotMeasuredError
from laydown.media.recipe import Colorant
from laydown.plan.kit.problem import Offer

KELP, DUNE, GULL = Colorant("Kelp", "Shoal"), Colorant("Dune", "Shoal"), Colorant("Gull", "Cliff")
HEAD = "kind,name,contents,price,currency\n"
LESSON = GivenFile(
    b"laydown lesson 1\ntitle: Bank\n\ncolor: sand\n  xyz: 30 31 20\n\ncolor: weed\n  xyz: 8 9 5\n",
    "bank.txt",
)


def offered(library: Library, lines: str, *, priced_only: bool = False) -> tuple[Offer, ...]:
    """Return what is offered out of both ranges by the lines of a price list."""
    rows = read_prices((HEAD + lines).encode(), source="p.csv")
    sold = ["Shoal", "Cliff"], [GULL, DUNE, KELP]
    with library.look() as work:
        return offers_of(work, *sold, rows, source="p.csv", priced_only=priced_only)


def test_a_range_has_one_price_for_all_of_it(library: Library) -> None:
    """A range's name prices each of its colorants that has no price of its own."""
    found = offered(library, "single,shoal,,2.50,\nsingle,Dune,,1.00,\n", priced_only=True)
    assert found == (Offer("Shoal/Dune", (1,), 100), Offer("Shoal/Kelp", (2,), 250))


def test_a_set_holds_what_is_sold_here(library: Library) -> None:
    """Names in a set that nobody knows are passed over, and all singles are still offered."""
    found = offered(library, "set,Box,Kelp; Gull; Heron,5.00,\n")
    assert found[-1] == Offer("Box", (0, 2), 500)
    assert [offer.name for offer in found[:-1]] == ["Cliff/Gull", "Shoal/Dune", "Shoal/Kelp"]


@pytest.mark.parametrize(
    ("wishes", "error", "words"),
    [
        ({"aim": "cheapest"}, BadFileError, "no price for any colorant"),
        ({"budget": 500}, BadFileError, "no price for any colorant"),
        ({"aim": "best"}, BadRecipeError, "how many"),
        (
            {
                "aim": "cheapest",
                "must": ("Kelp",),
                "prices": GivenFile(f"{HEAD}single,Dune,,1,\n".encode(), "p.csv"),
            },
            NotMeasuredError,
            "Shoal/Kelp",
        ),
    ],
)
def test_what_turns_on_prices_needs_them(
    library: Library, wishes: dict[str, object], error: type[LaydownError], words: str
) -> None:
    """Without prices there is no cheapest and no budget, and no best of no number."""
    asked = ChooseKit((LESSON,), ranges=("Shoal",), **wishes)  # type: ignore[arg-type]  # from the table above
    with pytest.raises(error, match=words):
        choose_kit(library, asked)


def test_each_range_apart_keeps_to_the_wishes_that_are_its_own(library: Library) -> None:
    """What must be bought of one range is no wish of the other; what is never used is in none."""
    asked = ChooseKit(
        (LESSON,),
        ranges=("Shoal", "Cliff"),
        apart=True,
        must=("Gull",),
        never=("Kelp",),
        tolerance="sketch",
        seconds=3600,
    )
    shoal, cliff = choose_kit(library, asked).groups
    assert "Cliff/Gull" in {offer.name for offer in cliff.choice.chosen.bought}
    assert shoal.choice.wishes.must == frozenset()
    used = {c for made in shoal.choice.chosen.colors for c in made.recipe.colorants}
    assert KELP not in used


def test_a_choice_tells_how_far_it_is_and_can_be_stopped(library: Library) -> None:
    """The watch hears rising numbers, a hundred a group at most, and ends the work by raising."""
    heard: list[tuple[int, int]] = []
    asked = ChooseKit((LESSON,), ranges=("Shoal", "Cliff"), apart=True, seconds=3600)
    choose_kit(library, asked, watch=lambda done, total: heard.append((done, total)))
    assert heard == sorted(heard)
    assert all(0 <= done <= total == 200 for done, total in heard)

    def stop(done: int, total: int) -> None:
        raise InterruptedError

    with pytest.raises(InterruptedError):
        choose_kit(library, asked, watch=stop)


def test_a_colorant_is_known_by_any_spelling_and_looked_up_once(library: Library) -> None:
    """Code, name and label mean the same one; two prices for it are still told."""
    found = offered(library, "set,Box,KELP; shoal/kelp; Kelp; Dune,5.00,\n")
    assert found[-1] == Offer("Box", (1, 2), 500)
    with pytest.raises(LaydownError, match="line 3: Shoal/Kelp has two prices"):
        offered(library, "single,Kelp,,1,\nsingle,shoal/KELP,,2,\n")
