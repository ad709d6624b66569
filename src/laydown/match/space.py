"""Which recipes a search runs over."""

from dataclasses import dataclass

MOST_STEPS = 4
"""More steps than this have no search here."""


@dataclass(frozen=True, slots=True)
class Limits:
    """What a recipe may be.

    Raises
    ------
    ValueError
        For a number below 0, or more steps than can be searched.
    """

    steps: int = 3
    """At most so many steps are added, 0 to `MOST_STEPS`."""
    coats: int = 3
    """At most so many coats in one step."""
    total_coats: int | None = None
    """At most so many coats on the paper in all, what lies there already included; None for the
    paper's own limit."""
    without: frozenset[str] = frozenset()
    """Names or labels (``Range/Name``) of colorants that are not to be used."""

    def __post_init__(self) -> None:
        if not 0 <= self.steps <= MOST_STEPS:
            raise ValueError(f"steps is {self.steps}: allowed are 0 to {MOST_STEPS}")
        if self.coats < 1 or (self.total_coats is not None and self.total_coats < 0):
            raise ValueError(f"coats is {self.coats}, total_coats {self.total_coats}")


USUAL_LIMITS = Limits()
"""Up to three steps of up to three coats, as far as the paper bears them."""
