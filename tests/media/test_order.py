import pytest

from laydown.errors import BadRecipeError
from laydown.media.laydown import Laydown, Wait
from laydown.media.recipe import (
    Colorant,
    Medium,
    Recipe,
    Step,
    Tool,
    Treatment,
    TreatmentStep,
    check_order,
    may_follow,
    order_rules,
    order_troubles,
)

KELP = Step(Colorant("Kelp", "Estuary"))
FERN = Step(Colorant("Fern", "Meadow", Medium.PENCIL))
LOAM = Step(Colorant("Loam", "Pond", Medium.WASH))
SOLVENT = TreatmentStep(Treatment.SOLVENT, Tool.SWAB)


@pytest.mark.parametrize(
    "steps",
    [(KELP, FERN), (KELP, LOAM), (LOAM, KELP), (LOAM, FERN, SOLVENT), (KELP, FERN, SOLVENT, FERN)],
)
def test_sound_orders_pass(steps: tuple) -> None:
    """Pencil goes over marker and over dry wash, wash over dry marker, solvent over pencil."""
    assert order_troubles(Recipe(steps)) == ()
    check_order(Recipe(steps))


@pytest.mark.parametrize(
    ("steps", "reason"),
    [
        ((FERN, KELP), "nib"),
        ((FERN, LOAM), "wax"),
        ((KELP, SOLVENT), "no pencil"),
        ((LOAM, SOLVENT), "no pencil"),
        ((SOLVENT, FERN), "nothing to act on"),
        ((LOAM, Step(KELP.colorant, Laydown(wait=Wait.WET))), "damp wash"),
        ((KELP, FERN, LOAM), "wax"),
    ],
)
def test_orders_that_ruin_work_are_refused_with_the_reason(steps: tuple, reason: str) -> None:
    """Marker over pencil ruins the nib, and so on: the refusal says why."""
    with pytest.raises(BadRecipeError, match=reason):
        check_order(Recipe(steps))


def test_every_pair_of_media_has_a_rule() -> None:
    """No two media meet without a rule, and each has its reason."""
    for below in Medium:
        for above in [*map(str, Medium), "treatment"]:
            assert order_rules()[below, above][1]
    assert may_follow(frozenset(Medium) - {Medium.PENCIL}, Medium.PENCIL)
