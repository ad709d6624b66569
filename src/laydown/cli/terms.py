"""The words of an answer in the terminal: nothing is told by a patch of color alone."""

from collections.abc import Iterable
from textwrap import wrap
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from laydown.app.match_color import CandidateInWords, ColorMatched

WIDTH = 88


def out_of_reach(found: "ColorMatched") -> bool:
    """Return whether the answer is no."""
    return str(found.best.candidate.verdict) == "out of reach"


def answer(found: "ColorMatched") -> str:
    """Put the answer for one wanted color into words."""
    from laydown.app.answer_words import color_words

    parts = [
        f"Wanted     {found.target.name}: {color_words(found.wanted)}",
        _best(found),
        _others(found),
        *_trust(found),
    ]
    return "\n\n".join(part for part in parts if part)


def _best(found: "ColorMatched") -> str:
    from laydown.app.answer_words import acceptance_words, color_words, recipe_words, surety_words

    best = found.best.candidate
    lines = [
        *_over(found),
        f"Recipe     {recipe_words(found.best)}",
        *(f"           {sentence}" for sentence in best.instructions),
        f"Gives      {color_words(found.best.color)}, {surety_words(found.best)}",
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


def _others(found: "ColorMatched") -> str:
    from laydown.app.answer_words import recipe_words

    lines = []
    if recipe_words(found.single) != recipe_words(found.best):
        lines.append(f"One alone  {_in_short(found.single)}")
    lines += [f"Or         {_in_short(other)}" for other in found.alternatives]
    return "\n".join(lines)


def _in_short(seen: "CandidateInWords") -> str:
    from laydown.app.answer_words import recipe_words

    off = seen.candidate.difference
    return f"{recipe_words(seen)}: {off.words} ({off.delta_e:.1f})"


def _trust(found: "ColorMatched") -> Iterable[str]:
    lines = [*found.notes, f"Searched: all {found.considered:,} recipes from {found.kit}."]
    yield "\n".join(line for note in lines for line in wrap(note, WIDTH))
    if found.next_swatch:
        yield "\n".join(wrap(f"Worth swatching next: {found.next_swatch}", WIDTH))
