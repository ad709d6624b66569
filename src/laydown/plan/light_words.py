"""What is said of a match under other lights."""

from collections.abc import Iterable, Sequence

from laydown.plan.lights import Holding, LightedMatch, UnderLight
from laydown.plan.steadiest import Steadiest

NOTHING = "no difference worth naming"


def listed(words: Sequence[str]) -> str:
    """Join words as a person would.

    Examples
    --------
    >>> listed(["lamp"]), listed(["lamp", "tubes", "window"])
    ('lamp', 'lamp, tubes and window')
    """
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def light_names(seen: Iterable[UnderLight]) -> str:
    """Name lights in a sentence."""
    return listed([f"the {one.light.short}" for one in seen])


def verdict_words(check: LightedMatch) -> str:
    """Say under which lights a match breaks, drifts and holds.

    Examples
    --------
    ``verdict_words(check)`` may be “breaks under the evening lamp, drifts under the home LED”.
    """
    said = [
        f"{holding} under {light_names(check.where(holding))}"
        for holding in (Holding.BREAKS, Holding.DRIFTS)
        if check.where(holding)
    ]
    return ", ".join(said) or f"{Holding.HOLDS} under all lights asked for"


def verdict_sentence(check: LightedMatch) -> str:
    """Return the same as a sentence without its stop."""
    words = verdict_words(check)
    return words[0].upper() + words[1:]


def change_words(seen: UnderLight) -> str:
    """Say what a light does to the match, beside the color wanted.

    Examples
    --------
    ``change_words(seen)`` may be “turns a little redder” or “stays”.
    """
    if seen.holding is Holding.HOLDS:
        return "stays"
    if seen.apart == NOTHING:
        return "moves, in no one direction"
    return f"turns {seen.apart.replace(' too light', ' lighter').replace(' too dark', ' darker')}"


def index_words(seen: UnderLight) -> str:
    """Write the metamerism index with what holds it 80 times in 100."""
    low, high = seen.index_range
    return f"{seen.index:.1f} ({low:.1f} to {high:.1f})"


def instead_words(found: Steadiest) -> str:
    """Say what a kit can do about a match that does not hold.

    Examples
    --------
    >>> print(instead_words(Steadiest(None, 2.8, 2.8, 2.6, 40, proven=True)).partition(":")[0])
    Nothing here holds better
    """
    how = (
        "of all recipes none comes"
        if found.proven
        else f"of the {found.seen:,} recipes nearest by day none comes"
    )
    if found.recipe is None:
        return (
            f"Nothing here holds better: {how} closer than {found.least:.1f} at its worst, this is"
            f" {found.worst:.1f}."
        )
    return (
        f"At its worst it is {found.worst_instead:.1f} off, instead of {found.worst:.1f};"
        f" {how} closer than {found.least:.1f}."
    )


def summary_words(checks: Sequence[LightedMatch]) -> str:
    """Count how many matches hold, drift and break.

    Examples
    --------
    ``summary_words(checks)`` may be “Of 25 matches 20 hold under all lights, 3 drift and 2 break.”
    """
    counts = {one: sum(check.holding is one for check in checks) for one in Holding}
    said = [f"{counts[Holding.HOLDS]} hold under all lights"]
    said += [
        f"{count} {word}{'s' if count == 1 else ''} under one or more"
        for word, count in (("drift", counts[Holding.DRIFTS]), ("break", counts[Holding.BREAKS]))
        if count
    ]
    return f"Of {len(checks)} matches {listed(said)}."
