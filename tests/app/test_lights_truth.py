"""Matches under other lights against the simulated truth, which knows nothing of the model."""

from collections.abc import Iterator

import numpy as np
import pytest

from laydown.app.fits import Supplies, SuppliesAtHand, set_up
from laydown.app.library import open_named
from laydown.app.matches.colors import Asking, find_match
from laydown.app.swatches import ImportSwatches, import_swatches
from laydown.app.tasks import GivenFile
from laydown.color.arrays import FloatArray
from laydown.color.lab import lab_from_reflectance, xyz_from_reflectance
from laydown.color.light import DAY, find_light, metamerism_index, named_lights
from laydown.demo.files import CLASS_PAPER, read_bytes, read_rows
from laydown.demo.oracle import truths
from laydown.demo.truth import demo_bench
from laydown.match.outcome import Target
from laydown.match.pairing import pair_of
from laydown.media.kit.fit import leeways, reflectance
from laydown.media.recipe import Colorant, Recipe, Step
from laydown.plan.light.lights import under_lights

CHI_SQUARE_80 = 4.6416
"""80 % point of chi-square with 3 degrees of freedom (computed: scipy.stats.chi2.ppf(.8, 3))."""
USUAL = tuple(one for one in named_lights() if one.usual)
SURE = 1e-4 * np.eye(3)
Pair = tuple[Target, Recipe, FloatArray]


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[SuppliesAtHand]:
    """Return the student's markers, fitted from their swatches."""
    library = open_named(str(tmp_path_factory.mktemp("lights") / "library.db"))
    name = "orchard_on_gannet_smooth.csv"
    import_swatches(library, ImportSwatches((GivenFile(read_bytes(name), name),)))
    yield set_up(library, Supplies(ranges=("Orchard",), paper=CLASS_PAPER))
    library.close()


@pytest.fixture(scope="module")
def pairs(bench: SuppliesAtHand) -> list[Pair]:
    """Match every other of the teacher's 60 markers four ways; return the matches' true spectra."""
    asking = Asking(Supplies(ranges=("Orchard",), paper=CLASS_PAPER), steps=2, coats=2)
    made: list[Pair] = []
    rows = [row for row in read_rows("truth_dyes.csv") if row["range"] == "Estuary"][::2]
    for row in rows:
        color = Recipe((Step(Colorant(row["color"], "Estuary")),))
        spectrum = truths(demo_bench(), [color])[0]
        target = Target(
            row["color"], lab_from_reflectance(spectrum), covariance=SURE, reflectance=spectrum
        )
        found = find_match(target, bench, asking, watch=None)
        recipes = [one.prediction.recipe for one in (found.best, *found.alternatives)]
        made += zip([target] * 4, recipes, truths(demo_bench(), recipes), strict=False)
    return made


def test_regions_hold_what_they_say_under_every_light(
    bench: SuppliesAtHand, pairs: list[Pair]
) -> None:
    """Of true colors under each light 70 to 90 in 100 lie in the regions meant for 80."""
    recipes = [recipe for _, recipe, _ in pairs]
    foreseen_of = [reflectance(bench.whole, recipe) for recipe in recipes]
    left_of = leeways(bench.whole, recipes)
    for light in (find_light(DAY), *USUAL):
        held = []
        for (_, _, truth), foreseen, left in zip(pairs, foreseen_of, left_of, strict=True):

            def see(spectra: FloatArray, weights: FloatArray = light.weights) -> FloatArray:
                return lab_from_reflectance(spectra, weights=weights)

            off = see(truth) - see(foreseen)
            covariance = left.covariance(see)
            held.append(float(off @ np.linalg.solve(covariance, off)) <= CHI_SQUARE_80)
        assert 0.7 <= float(np.mean(held)) <= 0.9, light.name


def test_ranges_of_the_index_hold_what_they_say(bench: SuppliesAtHand, pairs: list[Pair]) -> None:
    """Of true indices, over all lights, 70 to 90 in 100 lie in the ranges meant for 80."""
    held = []
    for target, recipe, truth in pairs:
        check = under_lights(
            pair_of(target, bench.whole, recipe),
            recipe,
            day=find_light(DAY),
            lights=USUAL,
            tolerance=2.25,
        )
        for seen in check.lights:
            low, high = seen.index_range
            held.append(low <= true_index(target, truth, seen.light.weights) <= high)
    assert 0.7 <= float(np.mean(held)) <= 0.9


def true_index(target: Target, truth: FloatArray, weights: FloatArray) -> float:
    """Return the index that the simulated patch has against the color wanted."""
    assert target.reflectance is not None
    index = metamerism_index(
        wanted_reference=xyz_from_reflectance(target.reflectance),
        xyz_reference=xyz_from_reflectance(truth),
        wanted_test=xyz_from_reflectance(target.reflectance, weights=weights),
        xyz_test=xyz_from_reflectance(truth, weights=weights),
        white_test=weights.sum(axis=0),
    )
    return float(index)
