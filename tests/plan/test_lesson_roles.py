"""What a lesson's own roles say against its colors."""

import numpy as np
import pytest

from laydown.color.lab import xyz_from_lab
from laydown.plan.lesson.lesson import Lesson, LessonColor, roles_by_value


def lesson(*rows: tuple[str, str, str, float]) -> Lesson:
    """Return a lesson of grays: name, passage, role and lightness."""
    colors = [
        LessonColor(name, passage, role, xyz=xyz_from_lab(np.array([lightness, 0.0, 0.0])))
        for name, passage, role, lightness in rows
    ]
    return Lesson("Invented", "Gannet smooth", tuple(colors))


def test_a_shadow_lighter_than_its_midtone_is_told() -> None:
    """Passage, roles and both names stand in one sentence, with what to do."""
    wrong = lesson(
        ("rim", "bowl", "highlight", 90),
        ("glaze", "bowl", "midtone", 50),
        ("inside", "bowl", "shadow", 60),
    )
    (said,) = wrong.troubles
    assert said.startswith("bowl: the shadow, inside, is lighter than the midtone, glaze. Check")


@pytest.mark.parametrize(
    "rows",
    [
        (("a", "bowl", "midtone", 60), ("b", "bowl", "shadow", 50)),
        (("a", "bowl", "midtone", 50), ("b", "cloth", "shadow", 60)),
        (("a", "bowl", "midtone", 50), ("b", "bowl", "accent", 60)),
        (("a", "bowl", "midtone", 50), ("b", "bowl", "", 60)),
        (("a", "", "midtone", 50), ("b", "", "shadow", 60)),
        (("a", "bowl", "midtone", 50.0), ("b", "bowl", "shadow", 50.5)),
        (("a", "bowl", "midtone", 50), ("b", "bowl", "midtone", 60)),
    ],
)
def test_roles_in_order_are_not_spoken_of(rows: tuple[tuple[str, str, str, float], ...]) -> None:
    """Neither are other passages, accents, colors without a role or passage, nor values that the
    eye can't part.
    """
    assert lesson(*rows).troubles == ()


def test_each_role_is_held_to_all_lighter_ones() -> None:
    """A shadow lighter than a highlight is told against the darkest that should be lighter."""
    wrong = lesson(("a", "p", "highlight", 40), ("b", "p", "light", 45), ("c", "p", "shadow", 70))
    assert [sentence.split(". ")[0] for sentence in wrong.troubles] == [
        "p: the light, b, is lighter than the highlight, a",
        "p: the shadow, c, is lighter than the highlight, a",
    ]


def test_a_passage_has_its_usual_roles_from_light_to_dark() -> None:
    """Two are its light and its shadow, three have a midtone, and a fourth parts light from
    highlight; a lesson read from a sheet and one of a picture are named alike.
    """
    roles = {count: roles_by_value([-place for place in range(count)]) for count in range(1, 6)}
    assert roles == {
        1: ("midtone",),
        2: ("light", "shadow"),
        3: ("highlight", "midtone", "shadow"),
        4: ("highlight", "light", "midtone", "shadow"),
        5: ("highlight", "light", "midtone", "midtone", "shadow"),
    }
