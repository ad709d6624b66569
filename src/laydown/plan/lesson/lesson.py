"""A lesson: the colors of a picture by passage, in numbers, so that others can make them too."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance, lab_from_xyz
from laydown.color.screen import SCREEN_DEVIATION, lab_from_hex
from laydown.color.value import value_from_lab
from laydown.match.outcome import Origin, Target
from laydown.reference.thresholds import thresholds

LIGHT_TO_DARK = ("highlight", "light", "midtone", "shadow")
"""Roles that say how light a color is within its passage (common practice, no source)."""
USUAL_SPREAD = 0.5
"""Standard deviation of a measured color whose spread nobody stated, per CIELAB axis (chosen)."""


@dataclass(frozen=True, slots=True, eq=False)
class LessonColor:
    """One color of a lesson."""

    name: str
    """What the lesson calls it; unique within the lesson."""
    passage: str = ""
    role: str = ""
    """The part of the picture, and whether it is its highlight, light, midtone, shadow, accent."""
    note: str = ""
    """What the teacher says about it."""
    share: float | None = None
    """Share of the picture's area [percent]; None where nobody stated it."""
    made_with: str = ""
    """The teacher's own recipe, in words; nobody needs it."""
    spread: float | None = None
    """Standard deviation of the color, as measured or predicted [CIELAB units per axis]."""
    reflectance: FloatArray | None = None
    """Shape (36,) where a spectrum was measured."""
    xyz: FloatArray | None = None
    """Shape (3,) for D50 with the perfect white at Y = 100, where only that is known."""
    screen: str = ""
    """``#rrggbb`` where the color was picked from a picture."""
    known: Origin = Origin.MEASURED
    """Where its spectrum or XYZ comes from: measured, predicted or typed."""

    @property
    def lab(self) -> FloatArray:
        """Shape (3,), CIELAB D50."""
        if self.reflectance is not None:
            return lab_from_reflectance(self.reflectance)
        if self.xyz is not None:
            return lab_from_xyz(self.xyz)
        return lab_from_hex(self.screen)

    @property
    def target(self) -> Target:
        """The color as a target; one picked from a picture is only an estimate."""
        guessed = self.reflectance is None and self.xyz is None
        told = USUAL_SPREAD if self.spread is None else self.spread
        deviation = SCREEN_DEVIATION if guessed else told
        return Target(
            self.name,
            self.lab,
            self.passage,
            self.role,
            Origin.SCREEN if guessed else self.known,
            deviation**2 * np.eye(3),
            self.reflectance,
            share=self.share,
        )


@dataclass(frozen=True, slots=True, eq=False)
class Lesson:
    """A lesson."""

    title: str
    """Of the lesson."""
    paper: str
    """The paper that its colors are wanted as on."""
    colors: tuple[LessonColor, ...]
    """Passage by passage."""
    paper_reflectance: FloatArray | None = None
    """Shape (36,), of that paper; None where it was not measured."""
    notes: tuple[str, ...] = ()
    """What holds for the whole lesson."""

    @property
    def targets(self) -> tuple[Target, ...]:
        """Its colors as targets."""
        return tuple(color.target for color in self.colors)

    @property
    def troubles(self) -> tuple[str, ...]:
        """Roles that the colors contradict, a sentence each: a shadow lighter than its midtone."""
        placed = [c for c in self.colors if c.passage and c.role in LIGHT_TO_DARK]
        values = {c.name: float(value_from_lab(c.lab)) for c in placed}
        found = []
        for color in placed:
            above = [
                other
                for other in placed
                if other.passage == color.passage
                and LIGHT_TO_DARK.index(other.role) < LIGHT_TO_DARK.index(color.role)
            ]
            darkest = min(above, key=lambda other: values[other.name], default=color)
            if values[color.name] - values[darkest.name] >= thresholds()["value right"]:
                found.append(
                    f"{color.passage}: the {color.role}, {color.name}, is lighter than the"
                    f" {darkest.role}, {darkest.name}. Check both, or give each the other's role."
                )
        return tuple(found)

    @property
    def weights(self) -> FloatArray:
        """Shape (colors,), how much each color counts: half evenly, half by its share of the area.

        A color picked from a picture counts a third in hue and nearness: its value order is what
        is known of it.
        """
        stated = [c.share for c in self.colors if c.share is not None]
        usual = float(np.mean(stated)) if stated else 1.0
        shares = np.array([usual if c.share is None else c.share for c in self.colors])
        even = 0.5 + 0.5 * shares / max(float(shares.mean()), 1e-9)
        guessed = np.array([bool(c.screen) for c in self.colors])
        return np.asarray(np.where(guessed, even / 3.0, even))


def roles_by_value(lightness: Sequence[float]) -> tuple[str, ...]:
    """Return the roles of a passage's colors by how light they are (common practice, no source).

    The lightest is the highlight and the darkest the shadow; of those between, the lightest
    of two or more is the light, and the rest are midtones. One color alone is a midtone, two are
    the light and the shadow. `lightness` may be on any scale that rises with it.

    >>> roles_by_value([40.0, 90.0, 70.0, 80.0, 55.0])
    ('shadow', 'highlight', 'midtone', 'light', 'midtone')
    """
    count = len(lightness)
    few = [[], ["midtone"], ["light", "shadow"], ["highlight", "midtone", "shadow"]]
    many = ["highlight", "light", *["midtone"] * (count - 3), "shadow"]
    names = few[count] if count < len(few) else many
    order = sorted(range(count), key=lambda place: -lightness[place])
    return tuple(names[order.index(place)] for place in range(count))


@dataclass(frozen=True, slots=True)
class Turn:
    """A turn of a whole palette: hues turned by an angle, chroma times a share, values kept."""

    hue: float = 0.0
    chroma: float = 1.0
    words: str = field(default="", compare=False)


def turned(target: Target, turn: Turn) -> Target:
    """Return a target turned in CIELAB; its value stays what it is.

    >>> np.round(turned(Target("a", np.array([50.0, 20.0, 0.0])), Turn(90.0, 0.5)).lab).tolist()
    [50.0, 0.0, 10.0]
    """
    angle = np.radians(turn.hue)
    L, a, b = target.lab
    lab = np.array(
        [
            L,
            turn.chroma * (a * np.cos(angle) - b * np.sin(angle)),
            turn.chroma * (a * np.sin(angle) + b * np.cos(angle)),
        ]
    )
    return replace(target, lab=lab, reflectance=None, own_recipe=None, asked_as=None)
