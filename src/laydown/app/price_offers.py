"""What can be bought, and for how much: every colorant singly, and the sets of a price list."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from laydown.documents.price_csv import COLUMNS, PriceRow, read_prices
from laydown.errors import BadFileError, DuplicateNameError
from laydown.media.colorant import Colorant
from laydown.media.labels import name_key
from laydown.plan.kit_problem import Offer
from laydown.store.work import Work

__all__ = ["COLUMNS", "PriceRow", "Shop", "read_prices"]


@dataclass(frozen=True, slots=True, eq=False)
class Shop:
    """Where is bought.

    Parameters
    ----------
    ranges
        That are sold.
    colorants
        In the order in which offers count them; those of other ranges are owned.
    rows, source
        The price list and its name; empty where nothing has a price.
    places
        Of the colorants, by label.
    named
        Which colorant each spelling means, once it was asked for: looking one up goes through all.
    """

    ranges: Sequence[str]
    colorants: Sequence[Colorant]
    rows: Sequence[PriceRow] = ()
    source: str = ""
    places: dict[str, int] = field(init=False)
    named: dict[str, Colorant | None] = field(init=False)

    def __post_init__(self) -> None:
        places = {colorant.label: place for place, colorant in enumerate(self.colorants)}
        object.__setattr__(self, "places", places)
        spelled = (text for c in self.colorants for text in (c.label, c.name, c.code))
        object.__setattr__(self, "named", dict.fromkeys(map(name_key, spelled)))

    def offers(self, work: Work, *, priced_only: bool) -> tuple[Offer, ...]:
        """Return what can be bought.

        Parameters
        ----------
        work
            Looks names up.
        priced_only
            Whether a colorant without a price is left out, since the answer turns on prices.

        Raises
        ------
        DuplicateNameError
            When a colorant has two prices.
        BadFileError
            When none has one that needs one.
        """
        prices, sets = self._prices(work), self._sets(work)
        if priced_only and not prices and not sets:
            named = f"{self.source} has no" if self.source else "There is no"
            raise BadFileError(
                f"{named} price for any colorant of {' and '.join(self.ranges)}.",
                hint="List colorants as Range/Name, or a range by its name for all of it.",
            )
        singles = [
            Offer(c.label, (self.places[c.label],), prices.get(c.label, 0))
            for c in self.colorants
            if c.range in self.ranges and (c.label in prices or not priced_only)
        ]
        return (*singles, *sets)

    def _prices(self, work: Work) -> dict[str, int]:
        """Return the prices of single colorants by label; what a range costs each, where listed."""
        own: dict[str, int] = {}
        each: dict[str, int] = {}
        for row in self.rows:
            if row.kind != "single":
                continue
            found = self._named(work, row.name)
            if found is None:
                each |= {r: row.price for r in self.ranges if name_key(r) == name_key(row.name)}
            elif found.label in own:
                raise DuplicateNameError(
                    f"{self.source}, line {row.line}: {found.label} has two prices."
                )
            elif found.range in self.ranges:
                own[found.label] = row.price
        return {c.label: each[c.range] for c in self.colorants if c.range in each} | own

    def _sets(self, work: Work) -> list[Offer]:
        sets = []
        for row in self.rows:
            found = [self._named(work, name) for name in row.contents]
            held = {self.places[c.label] for c in found if c and c.range in self.ranges}
            if held:
                sets.append(Offer(row.name, tuple(sorted(held)), row.price))
        return sets

    def _named(self, work: Work, name: str) -> Colorant | None:
        """Return the colorant that a price list means, or None for one of another range."""
        key = name_key(name)
        if key in self.named and self.named[key] is None:  # asked for the first time
            self.named[key] = work.find_colorant(name, among=self.colorants)
        return self.named.get(key)
