"""What would make a picture last: other recipes from the same kit, and how to show it."""

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace

from laydown.app.fadings import Known
from laydown.app.match_color import Asking, find_match
from laydown.app.supplies import Bench
from laydown.match.judge import TOLERANCES
from laydown.match.outcome import Match, Target
from laydown.media.exposure import Exposure, Span
from laydown.media.fading import Fading
from laydown.media.recipe import Recipe
from laydown.plan.life import Life, hours_to_last, recipe_life, years
from laydown.plan.life_words import rounded, years_words
from laydown.reference.thresholds import thresholds

BETTER = 2.0
"""A colorant counts as more lasting when it bears this many times the light: half a wool's step."""
WORTH_IT = 1.5
"""A swap is named when it lasts so many times as long."""
MUSEUM_LUX = 50.0
"""Light on delicate work in museums (common practice, no source)."""
SHORTEST = 0.25
"""Hours a day; less isn't worth hanging a picture for."""
ABOUT_RANGES = (
    "These are ranges from what is known, and no promise: heat, damp, what is in the air, and how"
    " thickly a color was laid all count. The paper's own aging isn't in them."
)
ON_CLASSES = (
    "Classes stand for about the fading of their blue wool; the doses are those of CIE 157 as"
    " museums use them, read in secondary sources. A class is taken to speak of one plain coat."
)
ON_ULTRAVIOLET = (
    "This light has ultraviolet in it. Colors that are sensitive to light fade up to twice as fast"
    " for it (read in a secondary source). For more lasting ones how much faster isn't known here,"
    " only that they bear more than blue wool 3."
)
ON_UNKNOWN = (
    "Nothing is known of some colorants here. Ask their maker for a class, or hang a plain coat of"
    " each in a window and measure it again. Most felt-tip inks are among blue wools 1 to 3 (read"
    " in a secondary source), so unknown is no reason to hope."
)


@dataclass(frozen=True, slots=True, eq=False)
class Swap:
    """A more lasting recipe for a part, or word that the kit holds none.

    Parameters
    ----------
    name, passage, role
        The part.
    instead_of
        Label of the colorant that goes first there now.
    recipe
        What to lay instead; None where nothing lasting comes near enough.
    off
        How far that would be from the color wanted (CIEDE2000); without a recipe, how far it is.
    noticeable
        Years to a just noticeable change then; None without a recipe.
    words
        All of it in a sentence.
    """

    name: str
    passage: str
    role: str
    instead_of: str
    recipe: Recipe | None
    off: float
    noticeable: Span | None
    words: str


@dataclass(frozen=True, slots=True, eq=False)
class Wall:
    """What a picture is made from, how that is searched, how it fades, and the light."""

    bench: Bench
    asking: Asking
    fadings: Mapping[str, Fading | None]
    exposure: Exposure


@dataclass(frozen=True, slots=True, eq=False)
class Going:
    """A part that goes early: the color wanted, how far its recipe is from that, and its life."""

    target: Target
    off: float
    life: Life


def find_swaps(parts: Sequence[Going], wall: Wall) -> tuple[Swap, ...]:
    """Look for more lasting recipes.

    Each part is matched anew without the colorants that are not clearly more lasting than its own
    weakest one, and without those of which nothing is known.
    """
    return tuple(_swap(part, wall) for part in parts)


def _swap(part: Going, wall: Wall) -> Swap:
    whole, fadings = wall.bench.whole, wall.fadings
    weakest = fadings[part.life.first]
    least = BETTER * weakest.noticeable.middle if weakest else 0.0
    usable = [c.label for c in whole.colorants if c.label not in wall.bench.without]
    lasting = {
        label for label in usable if (f := fadings.get(label)) and f.noticeable.middle >= least
    }
    if not lasting:
        return _none(part, "Nothing in the kit is known to be more lasting.")
    poor = frozenset(c.label for c in whole.colorants if c.label not in lasting)
    bench = replace(wall.bench, without=poor)
    return _judged(part, find_match(part.target, bench, wall.asking, watch=None), wall)


def _judged(part: Going, found: Match, wall: Wall) -> Swap:
    recipe, far = found.best.prediction.recipe, found.best.difference.delta_e
    near = max(TOLERANCES[wall.asking.tolerance], part.off + thresholds()["noticeable"])
    then = recipe_life(wall.bench.whole, recipe, wall.fadings).noticeable
    if far > near or then is None:
        words = f"What lasts longer in the kit comes no nearer than {far:.1f} (CIEDE2000)."
        return _none(part, words)
    now = part.life.noticeable or Span(0.0, 0.0)
    if then.low < WORTH_IT * now.low or then.high < WORTH_IT * now.high:
        return _none(part, "What comes near enough from the rest of the kit lasts hardly longer.")
    lasts = years(then, wall.exposure)
    words = f"Off by {far:.1f} instead of {part.off:.1f}; just noticeable {years_words(lasts)}."
    return replace(_none(part, words), recipe=recipe, off=far, noticeable=lasts)


def _none(part: Going, words: str) -> Swap:
    wanted = part.target
    return Swap(
        wanted.name, wanted.passage, wanted.role, part.life.first, None, part.off, None, words
    )


def showing(soonest: Span | None, exposure: Exposure, *, wanted: float) -> tuple[str, ...]:
    """Say how to show a picture so that it lasts.

    Parameters
    ----------
    soonest
        Dose to a just noticeable change of the part that goes first; None where none is known.
    exposure
        The light now.
    wanted
        For how many years it shall look unchanged.

    Examples
    --------
    >>> dim = Exposure(Span(50.0, 50.0), 2.0, 300.0, filtered=True)
    >>> showing(Span(0.3, 3.0), dim, wanted=10.0)[0]
    'In this light the part that goes first may be expected to look unchanged for 10 years.'
    """
    lines = []
    if soonest and soonest.low > 0.0:
        lines.append(_allowed(soonest.low, exposure, wanted))
    if not exposure.filtered:
        lines.append(
            "Keep ultraviolet out, with a filter or by white LED lamps instead of daylight; that"
            " helps, but the light itself does most of the harm to delicate colors."
        )
    lines.append("Half the light, or half the hours, is twice the time.")
    lines.append("Hang a copy, and keep the original in the dark between shows.")
    return tuple(lines)


def _allowed(dose: float, exposure: Exposure, wanted: float) -> str:
    yearly, a_year = dose / wanted, exposure.yearly.high
    if a_year <= yearly:
        return (
            "In this light the part that goes first may be expected to look unchanged for"
            f" {wanted:g} years."
        )
    lead = (
        f"For the part that goes first to look unchanged for {wanted:g} years at the least, no more"
        f" than about {rounded(1e6 * yearly):,.0f} lux-hours may fall on it in a year"
    )
    lux = min(MUSEUM_LUX, exposure.lux.high)
    hours = hours_to_last(dose, lux=lux, years=wanted, days=exposure.days)
    if hours >= SHORTEST:
        return f"{lead}: {lux:g} lux for about {rounded(hours):g} hours a day, as an example."
    days = max(1.0, rounded(1e6 * yearly / (lux * exposure.hours)))
    return f"{lead}: {lux:g} lux on about {days:g} days of {exposure.hours:g} hours, as an example."


def what_it_rests_on(
    known: Mapping[str, Known], used: AbstractSet[str], exposure: Exposure
) -> tuple[str, ...]:
    """Say what a forecast for these colorants rests on, and where its figures were read."""
    found = [known[label] for label in sorted(used) if label in known]
    lines = []
    if any(_by_class(one) for one in found):
        lines.append(ON_CLASSES)
    if not exposure.filtered and any(one.fading and one.fading.filtered for one in found):
        lines.append(ON_ULTRAVIOLET)
    if any(one.fading and not _by_class(one) for one in found):
        lines.append("Window tests hold for coats and paper like the ones that hung there.")
    if len(found) < len(used) or any(one.fading is None for one in found):
        lines.append(ON_UNKNOWN)
    return tuple(lines)


def _by_class(one: Known) -> bool:
    """Return whether a forecast rests on the stated class."""
    return bool(one.fading and one.rating and one.fading.words == one.rating.fastness.words)
