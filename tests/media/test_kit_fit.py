from dataclasses import replace

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance
from laydown.errors import NotMeasuredError
from laydown.media.film.fitting import fit_films
from laydown.media.film.laying import film_steps
from laydown.media.film.model import film_pile
from laydown.media.kit.fit import (
    KitFit,
    leeway,
    outside,
    predict,
    reflectance,
    segments,
    soaked,
)
from laydown.media.laydown import Laydown
from laydown.media.marker.fitting import fit_markers
from laydown.media.recipe import (
    Colorant,
    Medium,
    Paper,
    Recipe,
    Step,
    Tool,
    Treatment,
    TreatmentStep,
    format_recipe,
    mixture,
    parse_recipe,
)
from laydown.media.swatch import Swatch

PAPER = Paper("Gannet smooth", np.linspace(0.85, 0.9, 36))
SLOPE = np.linspace(-1, 1, 36)
KELP, DUNE = Colorant("Kelp", "Estuary"), Colorant("Dune", "Estuary")
FERN, ROOT = (Colorant(name, "Meadow", Medium.PENCIL) for name in ("Fern", "Root"))
LOAM, REED = (Colorant(name, "Pond", Medium.WASH) for name in ("Loam", "Reed"))
SOLVENT = TreatmentStep(Treatment.SOLVENT, Tool.SWAB)


def seen(colorant: Colorant, level: float, lean: float) -> Swatch:
    """Return a plain coat that reflects about `level` of the paper."""
    return Swatch(
        PAPER.name, Recipe((Step(colorant),)), PAPER.reflectance * level * np.exp(lean * SLOPE)
    )


@pytest.fixture(scope="module")
def kit() -> KitFit:
    """Return a kit of two colorants of each medium, one coat of each swatched."""
    return KitFit(
        fit_markers([seen(KELP, 0.5, 0.3), seen(DUNE, 0.7, -0.2)], PAPER),
        fit_films([seen(FERN, 0.6, -0.3), seen(ROOT, 0.5, 0.4)], PAPER, Medium.PENCIL),
        fit_films([seen(LOAM, 0.55, 0.4), seen(REED, 0.7, -0.3)], PAPER, Medium.WASH),
    )


def test_each_reference_comes_back(kit: KitFit) -> None:
    """One coat of each colorant is what its swatch shows, whatever its medium."""
    for colorant, level, lean in ((KELP, 0.5, 0.3), (ROOT, 0.5, 0.4), (REED, 0.7, -0.3)):
        wanted = seen(colorant, level, lean).reflectance
        assert reflectance(kit, Recipe((Step(colorant),))) == pytest.approx(wanted, abs=1e-6)
    assert reflectance(kit, Recipe()) == pytest.approx(PAPER.reflectance)


@pytest.mark.parametrize("medium", ["markers", "pencils", "washes"])
def test_bare_paper_is_foretold_by_a_kit_of_one_medium(kit: KitFit, medium: str) -> None:
    """Where a recipe lays nothing the paper is seen, and nothing warns of it."""
    alone = KitFit(**{medium: getattr(kit, medium)})
    bare = predict(alone, Recipe())
    assert bare.reflectance == pytest.approx(PAPER.reflectance)
    assert bare.warnings == outside(alone, Recipe()) == ()
    assert float(np.trace(bare.covariance)) < 1.0


def test_segments_take_what_lies_below_as_their_paper(kit: KitFit) -> None:
    """Pencil over marker darkens most where both absorb, and covers what is below only in part."""
    both = reflectance(kit, Recipe((Step(KELP), Step(FERN))))
    marker, pencil = (reflectance(kit, Recipe((Step(c),))) for c in (KELP, FERN))
    assert both.mean() < min(marker.mean(), pencil.mean())
    assert both.mean() > (marker * pencil / PAPER.reflectance).mean()
    again = kit.pencils.lay(Recipe((Step(FERN),)), marker)
    assert both == pytest.approx(again, abs=1e-12)


def test_pencil_layers_never_lift_and_washes_do(kit: KitFit) -> None:
    """What lies below stays as thick under a pencil, and gets thinner under a wash."""
    for fit, below, above in ((kit.pencils, FERN, ROOT), (kit.washes, LOAM, REED)):
        alone = film_pile(fit, Recipe((Step(below),)))[0][0]
        under = film_pile(fit, Recipe((Step(below), Step(above))))[0][0]
        share = under[0] / alone[0]
        lift = fit.effects[fit.priors.at("lift")] if fit is kit.washes else 0.0
        assert share == pytest.approx(1.0 - lift)
    assert kit.washes.effects[kit.washes.priors.at("lift")] > 0


def test_diluting_a_wash_makes_it_paler(kit: KitFit) -> None:
    """More water, less color: from the pan to three quarters water and on to bare paper."""
    rows = [
        reflectance(kit, Recipe((Step(LOAM, Laydown(dilution=d)),))).mean()
        for d in (0.0, 0.5, 0.75, 0.999)
    ]
    assert rows == sorted(rows)
    assert rows[-1] == pytest.approx(PAPER.reflectance.mean(), abs=2e-3)


def test_a_mixture_of_one_thing_with_itself_in_all_but_name(kit: KitFit) -> None:
    """A mixture lies between its parts, nearer to the one there is more of."""
    only = [reflectance(kit, Recipe((Step(c),))) for c in (LOAM, REED)]
    more, less = (
        reflectance(kit, Recipe((mixture((m, LOAM), (n, REED)),))) for m, n in ((3, 1), (1, 3))
    )
    low, high = np.minimum(*only), np.maximum(*only)
    assert np.all((more >= low - 1e-9) & (more <= high + 1e-9))
    assert np.abs(more - only[0]).mean() < np.abs(less - only[0]).mean()


def test_solvent_evens_out_and_burnishing_keeps_order(kit: KitFit) -> None:
    """Solvent hides most of the order of layers, burnishing leaves it to be seen."""
    up, down = (Step(FERN), Step(ROOT)), (Step(ROOT), Step(FERN))
    burnish = TreatmentStep(Treatment.BURNISH, Tool.STUMP)
    dry = [reflectance(kit, Recipe(order)) for order in (up, down)]
    by_solvent = [reflectance(kit, Recipe((*order, SOLVENT))) for order in (up, down)]
    by_burnish = [reflectance(kit, Recipe((*order, burnish))) for order in (up, down)]
    apart = [np.abs(one - other).max() for one, other in (dry, by_solvent, by_burnish)]
    assert apart[1] < 0.6 * apart[0]
    assert apart[2] > 0.6 * apart[0]
    assert by_solvent[0].mean() < dry[0].mean()  # bare paper no longer shows through


def test_layers_may_follow_a_treatment(kit: KitFit) -> None:
    """Pencil goes on over blended pencil, and the whole is one segment."""
    recipe = Recipe((Step(KELP), Step(FERN), SOLVENT, Step(ROOT)))
    assert [medium for medium, _ in segments(recipe)] == [Medium.MARKER, Medium.PENCIL]
    assert predict(kit, recipe).lab[0] < predict(kit, Recipe(recipe.steps[:3])).lab[0]


def test_mixed_media_are_less_sure_and_say_so(kit: KitFit) -> None:
    """Layers of two media are less sure than one, and that nobody swatched them is said."""
    both = Recipe((Step(KELP), Step(FERN)))
    alone = [np.trace(predict(kit, Recipe((step,))).covariance) for step in both.steps]
    assert np.trace(predict(kit, both).covariance) > min(alone)
    assert any("pencil over marker" in word for word in outside(kit, both))


def test_what_each_model_is_off_by_counts_as_it_does_alone(kit: KitFit) -> None:
    """Two steps of markers off by 2 add what they do without pencil, and one of pencil adds 3²."""
    recipe = Recipe((Step(KELP), Step(DUNE), Step(FERN)))
    known, off = (
        KitFit(*(
            replace(fit, noise=replace(fit.noise, misfit=misfit))
            for fit, misfit in zip((kit.markers, kit.pencils), misfits, strict=True)
        ))
        for misfits in ((0.0, 0.0), (2.0, 3.0))
    )  # fmt: skip
    more = predict(off, recipe).covariance - predict(known, recipe).covariance
    markers = Recipe(recipe.steps[:2])
    alone = predict(off.markers, markers).covariance - predict(known.markers, markers).covariance
    assert alone[0, 0] > 2.0
    assert more == pytest.approx(alone + 9.0 * np.eye(3), abs=1e-9)


def test_half_of_the_dye_may_stay_on_a_wash_below_it(kit: KitFit) -> None:
    """The order alone adds one doubt: half the way to a clear film of all the dye on the top."""
    late, rest = Recipe((Step(KELP),)), Recipe((Step(LOAM),))
    on_wash, on_paper = (
        predict(kit, Recipe(steps))
        for steps in ((*rest.steps, *late.steps), (*late.steps, *rest.steps))
    )
    film = reflectance(kit, rest) * reflectance(kit, late) / PAPER.reflectance
    half = 0.5 * (film - on_wash.reflectance)
    ends = np.array([on_wash.reflectance + half, on_wash.reflectance - half])
    to_either_side = lab_from_reflectance(ends) - on_wash.lab
    more = on_wash.covariance - on_paper.covariance
    assert more == pytest.approx(0.5 * to_either_side.T @ to_either_side, abs=1e-6)


def test_a_missing_medium_is_named(kit: KitFit) -> None:
    """A kit without washes says that it has none, and what to do."""
    with pytest.raises(NotMeasuredError, match="No wash"):
        reflectance(KitFit(kit.markers, kit.pencils), Recipe((Step(LOAM),)))
    with pytest.raises(ValueError, match="one paper"):
        KitFit()


def test_mixtures_are_written_and_read() -> None:
    """A mixture's text form comes back as it was, and its shares add to one."""
    text = "mix 2 Loam + 1 Reed*2 (dilution 0.5)"
    recipe = parse_recipe(text, {"Loam": LOAM, "Reed": REED}.__getitem__)
    assert format_recipe(recipe) == text
    assert recipe.colorants == (LOAM, REED)
    assert film_steps(recipe, Medium.WASH)[0].shares == ((0, 2 / 3), (1, 1 / 3))


BURNISH = TreatmentStep(Treatment.BURNISH, Tool.STUMP)


@pytest.mark.parametrize("below", [KELP, LOAM])
def test_solvent_carries_off_some_of_what_lies_below_the_pencil(
    kit: KitFit, below: Colorant
) -> None:
    """Dye or wash below is taken as so much less of it by the stated share, and that is said."""
    under, drawn = Recipe((Step(below),)), (Step(FERN), SOLVENT)
    whole = Recipe((*under.steps, *drawn))
    left, _ = soaked(below.medium, whole)
    assert 0.7 < left < 1.0
    thinner = kit.of(below.medium).lay(under, PAPER.reflectance, share=left)
    by_hand = kit.of(Medium.PENCIL).lay(Recipe(drawn), thinner)
    assert reflectance(kit, whole) == pytest.approx(by_hand, abs=1e-12)
    assert any(f"through to the {below.medium}" in word for word in outside(kit, whole))
    assert f"{below.medium} under solvent" in kit.assumed_for(whole)


def test_what_solvent_does_below_is_unsure(kit: KitFit) -> None:
    """How much dye solvent carries off is tried to either side, which widens what is open."""
    open_ = leeway(kit, Recipe((Step(KELP), Step(FERN), SOLVENT)))
    dyed, soaking, _ = open_.tried
    assert len(soaking) == 3
    assert soaked(Medium.MARKER, Recipe((SOLVENT,)))[1] > 0.1
    known = replace(open_, tried=(dyed, open_.tried[2]))
    assert np.trace(open_.covariance()) > np.trace(known.covariance()) + 0.1


def test_burnishing_moves_nothing_below(kit: KitFit) -> None:
    """It is dry: the dye below stays as it is, and no word is said of soaking."""
    recipe = Recipe((Step(KELP), Step(FERN), BURNISH))
    dyed = reflectance(kit, Recipe((Step(KELP),)))
    alone = kit.of(Medium.PENCIL).lay(Recipe(recipe.steps[1:]), dyed)
    assert reflectance(kit, recipe) == pytest.approx(alone, abs=1e-12)
    for steps in (recipe.steps, (Step(FERN), SOLVENT)):
        assert not any("soaks" in word for word in outside(kit, Recipe(steps)))
