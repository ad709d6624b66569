from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from laydown.color.lab import lab_from_reflectance
from laydown.match.outcome import Target
from laydown.match.ranking import VALUE_FIRST, Limits, Ranking
from laydown.match.search.search import search_kit
from laydown.media.film.fitting import fit_films
from laydown.media.kit.fit import KitFit, reflectance
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
    mixture,
)
from laydown.media.swatch import Swatch
from simulated.matching import match_color

Lister = Callable[..., list[Recipe]]
PAPER = Paper("Gannet smooth", np.linspace(0.85, 0.9, 36))
TARGETS = np.array([[60.0, 20.0, 30.0], [35.0, 5.0, -25.0], [82.0, -6.0, 18.0]])


def ones(names: str, medium: Medium, seed: int) -> list[Swatch]:
    """Return a plain coat of each name, of colors by chance."""
    rng = np.random.default_rng(seed)
    waves = np.cos(np.pi * np.arange(4)[:, None] * (np.arange(36) + 0.5) / 36)
    return [
        Swatch(
            PAPER.name,
            Recipe((Step(Colorant(name, medium.upper(), medium)),)),
            PAPER.reflectance * np.exp(-np.exp(rng.normal(-1.0, 0.8, 4) @ waves)),
        )
        for name in names.split()
    ]


def deepened(one: Swatch) -> Swatch:
    """Return three coats of what was swatched in one, paler than three clear films are."""
    recipe = Recipe((replace(one.recipe.steps[0], laydown=Laydown(coats=3)),))
    passed = one.reflectance / PAPER.reflectance
    return replace(one, recipe=recipe, reflectance=PAPER.reflectance * passed**2.2)


@pytest.fixture(scope="module")
def kit() -> KitFit:
    """Return a kit of a few colorants of each medium; K of its washes grows with their load."""
    washes = ones("Loam Reed Silt", Medium.WASH, 3)
    return KitFit(
        fit_markers(ones("Kelp Dune Cove", Medium.MARKER, 1), PAPER),
        fit_films(ones("Fern Root Seed", Medium.PENCIL, 2), PAPER, Medium.PENCIL),
        fit_films([*washes, *map(deepened, washes)], PAPER, Medium.WASH),
    )


def left_out(names: str) -> Limits:
    """Return limits that leave these out."""
    return Limits(steps=2, coats=1, without=frozenset(names.split()))


CASES = [
    ("pencils", Limits(steps=3, coats=2), Recipe()),
    ("washes", Limits(steps=3, coats=1, total_coats=3), Recipe()),
    ("markers pencils washes", Limits(steps=2, coats=1), Recipe()),
    ("markers washes", Limits(steps=3, coats=1, without=frozenset({"Silt", "Cove"})), Recipe()),
    ("markers pencils washes", left_out("Fern Root Seed Loam Reed Silt"), Recipe()),
    ("markers pencils washes", left_out("Kelp Dune Cove Fern Root Seed"), Recipe()),
    ("pencils washes", left_out("Fern Root Seed Loam Reed"), Recipe()),
    ("markers pencils washes", left_out("Kelp Dune Cove Fern Root Seed Loam Reed Silt"), Recipe()),
    ("pencils", Limits(steps=2, coats=1), Recipe((Step(Colorant("Root", "PENCIL", "pencil")),))),
    (
        "markers pencils washes",
        Limits(steps=1, coats=2),
        Recipe((Step(Colorant("Loam", "WASH", Medium.WASH), Laydown(coats=2)),)),
    ),
]


def test_search_over_blended_pencil_finds_what_trying_every_recipe_finds(
    kit: KitFit, every_recipe: Lister
) -> None:
    """Over dye, wash and pencil that met solvent the search is exact as on bare paper."""
    below = [one.colorants[0] for one in (kit.of(medium) for medium in Medium)]
    lain = sorted(below, key=lambda c: ("marker", "wash", "pencil").index(c.medium))
    solvent = TreatmentStep(Treatment.SOLVENT, Tool.SWAB)
    over, limits = Recipe((*(Step(c) for c in lain), solvent)), Limits(steps=2, coats=1)
    recipes = every_recipe(kit, limits, over)
    labs = lab_from_reflectance(np.array([reflectance(kit, over.then(r)) for r in recipes]))
    costs = VALUE_FIRST.difference(TARGETS[0], labs)
    found = search_kit(kit, TARGETS[0], limits=limits, top=5, over=over)
    assert found.costs == pytest.approx(np.sort(costs)[:5], abs=1e-9)


@pytest.mark.parametrize(("media", "limits", "over"), CASES)
def test_search_finds_what_trying_every_recipe_finds(
    media: str, limits: Limits, over: Recipe, kit: KitFit, every_recipe: Lister
) -> None:
    """The five best of all recipes, by the model itself, are the five found, in that order."""
    part = KitFit(**{name: getattr(kit, name) for name in media.split()})
    over = Recipe(tuple(Step(_known(part, s), s.laydown) for s in over.steps))
    recipes = every_recipe(part, limits, over)
    labs = lab_from_reflectance(np.array([reflectance(part, over.then(r)) for r in recipes]))
    for target in TARGETS:
        costs = VALUE_FIRST.difference(target, labs)
        found = search_kit(part, target, limits=limits, top=5, over=over)
        assert found.considered == len(recipes)
        assert found.costs == pytest.approx(np.sort(costs)[: len(found.costs)], abs=1e-9)
        assert set(found.recipes) <= set(recipes)
        more = search_kit(part, target, limits=limits, top=5, over=over, within=0.5)
        near = np.sort(costs)[np.sort(costs) <= np.sort(costs)[:5][-1] + 0.5]
        assert more.costs == pytest.approx(near, abs=1e-9)


def _known(kit: KitFit, step: object) -> Colorant:
    assert isinstance(step, Step)
    return next(c for c in kit.colorants if c.name == step.colorant.name)


def test_effort_counts_in_the_search(kit: KitFit, every_recipe: Lister) -> None:
    """What each step and coat costs is added, and the search is exact for that sum, too."""
    part, limits = KitFit(pencils=kit.pencils), Limits(steps=2, coats=2)
    ranking = Ranking(step=0.8, coat=0.5)
    recipes = every_recipe(part, limits)
    labs = lab_from_reflectance(np.array([reflectance(part, r) for r in recipes]))
    costs = ranking.difference(TARGETS[0], labs) + [ranking.effort(r) for r in recipes]
    found = search_kit(part, TARGETS[0], limits=limits, ranking=ranking, top=3)
    assert found.costs == pytest.approx(np.sort(costs)[:3], abs=1e-9)


def test_no_order_that_ruins_work_is_ever_proposed(kit: KitFit, every_recipe: Lister) -> None:
    """Among all recipes of a kit of all media, none has anything but pencil over pencil."""
    for recipe in every_recipe(kit, Limits(steps=2, coats=1)):
        media = [s.colorant.medium for s in recipe.steps if isinstance(s, Step)]
        if Medium.PENCIL in media:
            assert set(media[media.index(Medium.PENCIL) :]) == {Medium.PENCIL}


def test_a_colorant_alone_is_plainer_than_a_mixture() -> None:
    """A mixture is recommended only where it is noticeably nearer than a colorant alone."""
    plain = ones("Loam Reed Silt", Medium.WASH, 3)
    washes = KitFit(washes=fit_films(plain, PAPER, Medium.WASH))
    loam, reed, _ = washes.colorants
    alone, mixed = Recipe((Step(reed),)), Recipe((mixture((3, reed), (1, loam)),))
    ends = [lab_from_reflectance(reflectance(washes, recipe)) for recipe in (mixed, alone)]
    for share, better in ((0.8, alone), (0.1, mixed)):
        wanted = ends[0] + share * (ends[1] - ends[0])
        best = match_color(Target("", wanted), washes, limits=Limits(steps=2, coats=1)).best
        assert best.prediction.recipe == better


def test_a_mixture_is_no_colorant_alone(kit: KitFit) -> None:
    """Beside a mixture, too, stands the best that one colorant alone does."""
    washes = KitFit(washes=kit.washes)
    loam, reed, _ = washes.colorants
    mixed = Recipe((mixture((2, loam), (1, reed)),))
    target = Target("", lab_from_reflectance(reflectance(washes, mixed)))
    match = match_color(target, washes, limits=Limits(steps=2, coats=1), top=0)
    assert match.best.prediction.recipe == mixed
    assert len(match.single.prediction.recipe.colorants) == 1
