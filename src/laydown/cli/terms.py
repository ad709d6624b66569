"""The words of an answer in the terminal: nothing is told by a patch of color alone."""

from collections.abc import Iterable
from textwrap import wrap
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from laydown.app.color_in_words import ColorInWords
    from laydown.app.match_color import CandidateInWords, ColorMatched

WIDTH = 88


def out_of_reach(found: "ColorMatched") -> bool:
    """Return whether the answer is no."""
    return str(found.best.candidate.verdict) == "out of reach"


def answer(found: "ColorMatched") -> str:
    """Put the answer for one wanted color into words."""
    parts = [
        f"Wanted     {found.target.name}: {_color(found.wanted)}",
        _best(found),
        _others(found),
        *_trust(found),
    ]
    return "\n\n".join(part for part in parts if part)


def _best(found: "ColorMatched") -> str:
    best = found.best.candidate
    lines = [
        *_over(found),
        f"Recipe     {recipe_text(found.best)}",
        *(f"           {sentence}" for sentence in best.instructions),
        f"Gives      {_color(found.best.color)}, {_surety(found.best)}",
        f"Stays off  {best.difference.words} (CIEDE2000 {best.difference.delta_e:.1f})",
        f"Verdict    {best.verdict}; {acceptance_words(best.acceptance, found.tolerance)}",
    ]
    if best.mud:
        lines.append(f"Mud        {best.mud.words}")
    return "\n".join(lines)


def _over(found: "ColorMatched") -> Iterable[str]:
    from laydown.media.recipe import format_recipe

    if found.over.steps:
        yield f"Lies there {format_recipe(found.over)}"


def acceptance_words(chance: float, tolerance: str) -> str:
    """Say how likely an observer accepts a match, in no more digits than are known.

    Examples
    --------
    >>> acceptance_words(0.83, "class"), acceptance_words(0.998, "close")
    ('accepted by about 85 in 100 (class)', 'accepted by over 95 in 100 (close)')
    """
    rounded = 5 * round(chance * 20)
    if rounded > 95:
        return f"accepted by over 95 in 100 ({tolerance})"
    if rounded < 5:
        return f"accepted by under 5 in 100 ({tolerance})"
    return f"accepted by about {rounded} in 100 ({tolerance})"


def _others(found: "ColorMatched") -> str:
    lines = []
    if recipe_text(found.single) != recipe_text(found.best):
        lines.append(f"One alone  {_in_short(found.single)}")
    lines += [f"Or         {_in_short(other)}" for other in found.alternatives]
    return "\n".join(lines)


def _in_short(seen: "CandidateInWords") -> str:
    off = seen.candidate.difference
    return f"{recipe_text(seen)}: {off.words} ({off.delta_e:.1f})"


def _trust(found: "ColorMatched") -> Iterable[str]:
    lines = [*found.notes, f"Searched: all {found.considered:,} recipes from {found.kit}."]
    yield "\n".join(line for note in lines for line in wrap(note, WIDTH))
    if found.next_swatch:
        yield "\n".join(wrap(f"Worth swatching next: {found.next_swatch}", WIDTH))


def recipe_text(seen: "CandidateInWords") -> str:
    """Return the recipe in its text form."""
    from laydown.media.recipe import format_recipe

    return format_recipe(seen.candidate.prediction.recipe) or "nothing: the bare paper"


def _color(color: "ColorInWords") -> str:
    L, a, b = (round(float(x)) for x in color.lab)
    screen = color.screen if color.on_screen else f"near {color.screen}, but no screen shows it"
    return f"{color.words}, value {color.value:.1f}, L* {L} a* {a} b* {b} ({screen})"


def _surety(seen: "CandidateInWords") -> str:
    deviation = float(seen.candidate.prediction.covariance[0, 0]) ** 0.5 / 10
    return f"value ± {max(1.28 * deviation, 0.05):.1f} in 80 of 100"
