"""How a colorant is put down: coats, and what else each medium can vary."""

from dataclasses import dataclass
from enum import StrEnum

from laydown.errors import BadRecipeError

MOST_COATS = 9
"""More coats than this in one step is a slip of the pen, not a laydown."""


class Stroke(StrEnum):
    """How a marker is led over the paper."""

    QUICK = "quick"
    EVEN = "even"
    SOAKED = "soaked"


class Pressure(StrEnum):
    """How hard a pencil is pressed."""

    LIGHT = "light"
    MEDIUM = "medium"
    HEAVY = "heavy"


class Wait(StrEnum):
    """Whether what lies below was left to dry before this step, and between its coats."""

    WET = "wet"
    DRY = "dry"


@dataclass(frozen=True, slots=True, order=True)
class Laydown:
    """How a colorant is put down in one step.

    Raises BadRecipeError for a number of coats or a dilution outside those limits.
    """

    coats: int = 1
    """How many coats, 1 to `MOST_COATS`."""
    stroke: Stroke = Stroke.EVEN
    """Of a marker; other media leave it even."""
    pressure: Pressure = Pressure.MEDIUM
    """Of a pencil; other media leave it medium."""
    dilution: float = 0.0
    """Share of water in a wash, 0 (straight from the pan) up to but not including 1."""
    wait: Wait = Wait.DRY
    """Wet: laid on before what lies below has dried."""

    def __post_init__(self) -> None:
        if not 1 <= self.coats <= MOST_COATS:
            raise BadRecipeError(f"{self.coats} coats in one step: allowed are 1 to {MOST_COATS}.")
        if not 0 <= self.dilution < 1:
            raise BadRecipeError(
                f"Dilution {self.dilution:g}: allowed is 0 up to, not including, 1."
            )

    @property
    def plain(self) -> bool:
        """Whether all but the number of coats is as usual."""
        return self == Laydown(coats=self.coats)


ONE_COAT = Laydown()
"""One even coat on dry ground: what is meant where nothing else is said."""
