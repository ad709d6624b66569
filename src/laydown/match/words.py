"""What is said of a recipe against a wanted color: what is off, the verdict, and what to do."""

from dataclasses import replace
from math import atan2, degrees, hypot

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import ciede2000
from laydown.color.value import value_from_lab
from laydown.match.acceptance import likely, may_pass
from laydown.match.outcome import Difference, Verdict
from laydown.match.question import BLIND, HIDES, Question, but_for_one, hue_term
from laydown.match.ranking import BY_EYE
from laydown.media.kit.fit import color_of
from laydown.media.laydown import Laydown, Pressure, Wait
from laydown.media.recipe import AnyStep, Medium, Recipe, Step, Treatment, TreatmentStep
from laydown.media.recipe_words import blends_wet
from laydown.reference.thresholds import thresholds

_TOWARDS = {"red": "redder", "yellow": "yellower", "green": "greener", "blue": "bluer"}
_ALONG_A = ("greener", "pinker")
_ALONG_B = ("cooler", "warmer")
"""What a neutral becomes where a* or b* falls or rises: painters ask of a gray whether it is warm
or cool, and only then whether it leans to green or pink (common practice)."""
A_NEAR_GRAY = 1.5
"""How much more a step of a* shows in a gray than one of b*: 1 + G of CIEDE2000 at chroma 0."""
BOTH = 0.5
"""A neutral's lesser move is said beside the greater from this share of it on (chosen)."""
NOTHING_OFF = "no difference worth naming"
_QUARTERS = (
    "a touch",
    "a quarter of a value step",
    "half a value step",
    "three quarters of a value step",
    "one value step",
    "a step and a quarter of value",
    "a step and a half of value",
    "a step and three quarters of value",
    "two value steps",
)


_Part = tuple[float, str, bool]
"""What is off in value, in hue or in chroma: what it adds to CIEDE2000, how it is said, and whether
it is large enough to be said for itself."""


def difference(wanted: FloatArray, lab: FloatArray, verdict: Verdict | None = None) -> Difference:
    """Return how a color differs from the one wanted, value first.

    What can't be seen isn't said. Where each part is that little and yet all of it can be seen, the
    largest is; and what the verdict names is named, so that words and verdict never disagree.

    `wanted`, `lab`: shape (3,), CIELAB D50. `verdict`: how the color was judged, where it was.
    Signs are obtained minus wanted.

    >>> difference(np.array([50.0, 0, 40]), np.array([55.0, 0, 40])).words
    'half a value step too light'
    """
    steps = float(value_from_lab(lab) - value_from_lab(wanted))
    chroma = hypot(lab[1], lab[2]) - hypot(wanted[1], wanted[2])
    total = float(ciede2000(wanted, lab))
    value = _in_value(wanted, lab, steps)
    vividness = _part(chroma_term(wanted, lab), "duller" if chroma < 0 else "more vivid")
    if is_gray(wanted) or (is_neutral(wanted) and is_neutral(lab)):
        vividness = 0.0, "", False  # a gray has moved somewhere, and that is said as hue
    hue = _in_hue(wanted, lab, duller=vividness[2])
    named = {Verdict.BUT_VALUE: value, Verdict.BUT_HUE: hue}.get(verdict) if verdict else None
    parts = (value, hue, vividness)
    said = [part[1] for part in parts if part[2] or part is named]
    if not said and total >= thresholds()["noticeable"]:
        said = [max(parts, key=lambda part: part[0])[1]]
    words = ", ".join(said) or NOTHING_OFF
    return Difference(total, steps, _hue_turn(wanted, lab), chroma, words)


def chroma_term(wanted: FloatArray, lab: FloatArray) -> float:
    """Return what chroma alone adds to CIEDE2000."""
    return float(ciede2000(wanted, lab, k_L=BLIND, k_H=BLIND))


def _in_value(wanted: FloatArray, lab: FloatArray, steps: float) -> _Part:
    quarters = round(abs(steps) * 4.0)
    amount = (
        _QUARTERS[quarters] if quarters < len(_QUARTERS) else f"{round(abs(steps))} value steps"
    )
    size = float(ciede2000(wanted, lab, k_C=BLIND, k_H=BLIND))
    words = f"{amount} too {'light' if steps > 0 else 'dark'}"
    return size, words, abs(steps) >= thresholds()["value right"]


def _in_hue(wanted: FloatArray, lab: FloatArray, *, duller: bool) -> _Part:
    """Say where hue has gone; to or from a gray, which way the color has moved.

    That a color became gray is said as *duller*, unless it had hardly more chroma than a gray.
    """
    if is_neutral(wanted) and is_neutral(lab):
        return _part(float(ciede2000(wanted, lab, k_L=BLIND)), _temperature(wanted, lab))
    hues = {hue: thresholds()[f"hue {hue}"] for hue in _TOWARDS}
    if is_gray(wanted) or is_gray(lab):
        way = _angle(lab[1] - wanted[1], lab[2] - wanted[2])
        nearest = min(hues, key=lambda hue: abs((hues[hue] - way + 180) % 360 - 180))
        size, words, told = _part(float(ciede2000(wanted, lab, k_L=BLIND)), _TOWARDS[nearest])
        return size, words, told and not duller
    turn = _hue_turn(wanted, lab) or 0.0
    middle, sign = _angle(wanted[1], wanted[2]) + turn / 2.0, -1.0 if turn < 0 else 1.0
    # the pure hue that lies next on the way round
    ahead = min(hues, key=lambda hue: sign * (hues[hue] - middle) % 360.0)
    return _part(float(hue_term(wanted, lab)), _TOWARDS[ahead])


def _temperature(wanted: FloatArray, lab: FloatArray) -> str:
    """Say where a neutral has moved, the greater of two ways first."""
    ways = [
        (abs(moved), words[int(moved > 0)])
        for moved, words in (
            (float(lab[2] - wanted[2]), _ALONG_B),
            (float(lab[1] - wanted[1]) * A_NEAR_GRAY, _ALONG_A),
        )
    ]
    (most, word), (less, other) = sorted(ways, reverse=True)
    return f"{word} and {other}" if less >= BOTH * most > 0 else word


def _part(size: float, word: str) -> _Part:
    limits = thresholds()
    graded = f"much {word}" if size > limits["much"] else word
    if size < limits["little"]:
        graded = f"a little {word}"
    return size, graded, size >= limits["noticeable"]


def _hue_turn(wanted: FloatArray, lab: FloatArray) -> float | None:
    if min(hypot(wanted[1], wanted[2]), hypot(lab[1], lab[2])) < thresholds()["gray"]:
        return None
    turn = _angle(lab[1], lab[2]) - _angle(wanted[1], wanted[2])
    return (turn + 180.0) % 360.0 - 180.0


def _angle(a: float, b: float) -> float:
    return degrees(atan2(b, a)) % 360.0


def is_gray(lab: FloatArray) -> bool:
    """Whether a color is too gray to have a hue worth naming."""
    return bool(np.hypot(lab[1], lab[2]) < thresholds()["gray"])


def is_neutral(lab: FloatArray) -> bool:
    """Whether a color is a white, a gray or a black, with a tint or without."""
    return bool(np.hypot(lab[1], lab[2]) < thresholds()["neutral"])


FEW = 8
"""So many layers, the best as ranked, are looked at before the one that comes nearest (chosen)."""
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def instructions(recipe: Recipe, *, over: Recipe | None = None) -> tuple[str, ...]:
    """Say how to lay a recipe, bottom first.

    `recipe`: what is to be laid now. `over`: what lies on the paper already.

    >>> from laydown.media.recipe import Colorant, Step
    >>> instructions(Recipe((Step(Colorant("Kelp", "Estuary"), Laydown(coats=2)),)))
    ('Lay two even coats of Kelp, each after the one below has dried; let it dry.',)
    """
    if not recipe.steps:
        lies = bool(over and over.steps)
        return ("Add nothing." if lies else "Leave the paper bare.",)
    below, above = (None, *recipe.steps), (*recipe.steps[1:], None)
    return tuple(map(_sentence, recipe.steps, below, above))


def _sentence(step: AnyStep, below: AnyStep | None, above: AnyStep | None) -> str:
    """Say one step, by what was laid right before it and what comes right after."""
    several, dry = isinstance(step, Step) and step.laydown.coats > 1, "let it dry"
    if isinstance(above, Step) and above.laydown.wait is Wait.WET:
        dry = f"don't let {'the last' if several else 'it'} dry"
    if isinstance(step, TreatmentStep):
        if step.treatment is Treatment.BURNISH:
            return f"Burnish all that lies there with a {step.tool}."
        return f"Go over all that lies there with solvent on a {step.tool}; {dry}."
    laid, name = step.laydown, step.words
    if step.colorant.medium is Medium.PENCIL:
        pressed = "even" if laid.pressure is Pressure.MEDIUM else laid.pressure
        layers = f"{_NUMBERS[laid.coats]} {pressed} layer{'s' if several else ''}"
        return f"Lay {layers} of {name}{', one over the other' if several else ''}."
    if step.colorant.medium is Medium.WASH:
        return f"{_wash(laid, name, mixed=bool(step.mixed))}; {dry}."
    if isinstance(below, Step) and blends_wet(step, below):
        edge = "and work the edge between them until it is soft"
        into = f"into {below.words} while it is still wet"
        return f"Blend {_coats(laid)} of {name} {into}, {edge}; {dry}."
    wet = " while what lies below is still wet" if laid.wait is Wait.WET else ""
    each = ", each after the one below has dried" if several and not wet else ""
    return f"Lay {_coats(laid)} of {name}{wet}{each}; {dry}."


def _wash(laid: Laydown, name: str, *, mixed: bool) -> str:
    many = f"{_NUMBERS[laid.coats]} washes" if laid.coats > 1 else "a wash"
    water = f", {laid.dilution:.0%} water" if laid.dilution else ""
    wet = " while what lies below is still wet" if laid.wait is Wait.WET else ""
    each = ", each after the one below has dried" if laid.coats > 1 and not wet else ""
    first = f"On the palette {name}; then lay" if mixed else "Lay"
    of = "of it" if mixed else f"of {name}"
    return f"{first} {many} {of}{water}{wet}{each}"


def _coats(laid: Laydown) -> str:
    return f"{_NUMBERS[laid.coats]} {laid.stroke} coat{'s' if laid.coats > 1 else ''}"


def verdict(
    question: Question, recipe: Recipe, lab: FloatArray, *, chance: float, doubt: float
) -> Verdict:
    """Judge a recipe by the chance that it is accepted, at kL 1, where tolerances were measured.

    *Same*: likelier accepted than not. Else, where the color itself is off by more than the
    tolerance: *needs another layer*, if one more step of one colorant, as the limits allow and the
    paper bears, would bring it within; *off mostly in value*, if it is within once lightness is
    left out and no more than a value step off; or *off mostly in hue*, likewise. Else *unsure*,
    where it may pass or its doubt could hide that it is within the tolerance; else *out of reach*.

    `question`: what is asked. `recipe`: what is laid over what lies there. `lab`: shape (3,), the
    color that gives. `chance`, `doubt`: how likely an observer accepts it, 0 to 1; and how far off
    it may be beside its own difference, a standard deviation [CIEDE2000, kL 1].
    """
    if likely(chance):
        return Verdict.SAME
    wanted = question.target.lab
    off = float(ciede2000(wanted, lab))
    if off <= question.tolerance:
        return Verdict.UNSURE
    by_eye, most = _layers_by_eye(question, recipe)
    if by_eye.nearest().costs[0] <= most:  # which is no bare recipe: that is off by more
        return Verdict.ANOTHER_LAYER
    kind = but_for_one(wanted, lab, question.tolerance)
    hidden = min(doubt, HIDES * question.tolerance)
    if kind is None and (may_pass(chance) or off - hidden <= question.tolerance):
        return Verdict.UNSURE
    return kind or Verdict.OUT_OF_REACH


def layer_that_helps(question: Question, recipe: Recipe) -> Recipe | None:
    """Return the step that, laid over a recipe, brings it within the tolerance; None if none.

    The plainest of those that do, as far as it is among the best; none that goes against the sense
    of the trade, such as a blender laid to make an area lighter.
    """
    by_eye, most = _layers_by_eye(question, recipe)
    for one, top in ((replace(by_eye, ranking=question.ranking), FEW), (by_eye, 1)):
        for layer in one.nearest(top).recipes:
            lab = color_of(question.fit, by_eye.over.then(layer))
            off = float(ciede2000(question.target.lab, lab)) + by_eye.effort(layer)
            if layer.steps and off <= most:
                return layer
    return None


def _layers_by_eye(question: Question, recipe: Recipe) -> tuple[Question, float]:
    """Ask for one step over a recipe, ranked at kL 1; and up to what cost it helps."""
    by_eye = replace(
        question.with_limits(steps=1),
        over=question.over.then(recipe),
        ranking=replace(BY_EYE, sense=question.ranking.sense),
    )
    return by_eye, question.tolerance + by_eye.effort(Recipe())
