import numpy as np
import pytest

from laydown.color.lab import ciede2000, lab_from_reflectance
from laydown.demo.films import FilmBench, Pigment
from laydown.demo.oracle import HAND, Effects, SimulatedBench, Slab, set_up, swatch, truth, truths
from laydown.media.film import design as film_design
from laydown.media.film.fitting import fit_films
from laydown.media.kit.carrying import carry_films, carry_markers, choose_anchors
from laydown.media.kit.fit import outside, predict
from laydown.media.marker.design import minimum_design
from laydown.media.marker.fitting import fit_markers
from laydown.media.marker.model import MarkerFit
from laydown.media.recipe import Colorant, Medium, Paper, Recipe, Step
from laydown.media.swatch import Swatch
from simulated.dyes import dye_set, white_slab

BLUE_END = np.linspace(1.0, 0.0, 36)
WARM = Slab("Warm thirsty", 0.05 + 0.2 * BLUE_END**2, 36.0, 0.35)
DYES = {c: d for c, d in dye_set(7, 60).items() if not d.colorless}
ONES = [Recipe((Step(c),)) for c in DYES]


def one(colorant: Colorant) -> Recipe:
    """Return the recipe of one coat."""
    return Recipe((Step(colorant),))


@pytest.fixture(scope="module")
def benches() -> tuple[SimulatedBench, SimulatedBench]:
    """Return a smooth white paper and one of another shade and penetration."""
    first = set_up(white_slab(share=0.06), DYES, Effects(0.3, 0.5))
    return first, set_up(WARM, DYES, Effects(0.2, 0.3))


@pytest.fixture(scope="module")
def fit(benches: tuple[SimulatedBench, SimulatedBench]) -> MarkerFit:
    """Return 60 markers fitted on the first paper."""
    bench, rng = benches[0], np.random.default_rng(1)
    depth = [-truth(bench, recipe).mean() for recipe in ONES]
    design = minimum_design(list(DYES), depth)
    paper = Paper(bench.paper, truth(bench, Recipe()))
    swatches = [swatch(bench, recipe, HAND, rng) for recipe in design[1:]]
    return fit_markers(swatches, paper, colorants=list(DYES))


def carried(fit: MarkerFit, bench: SimulatedBench, anchors: int, seed: int = 2) -> MarkerFit:
    """Carry markers to another paper with so many anchors."""
    rng = np.random.default_rng(seed)
    chosen = choose_anchors(fit, anchors)
    swatches = [swatch(bench, one(c), HAND, rng) for c in chosen]
    return carry_markers(fit, Paper(bench.paper, truth(bench, Recipe())), swatches)


def misses(fit: MarkerFit, bench: SimulatedBench) -> np.ndarray:
    """Return how far one coat of each colorant is from the truth, CIEDE2000."""
    seen = lab_from_reflectance(truths(bench, [one(c) for c in fit.colorants]))
    return ciede2000(seen, lab_from_reflectance(fit.one_coat))


def test_five_anchors_carry_sixty_markers(
    fit: MarkerFit, benches: tuple[SimulatedBench, SimulatedBench]
) -> None:
    """With 5 anchors 60 markers are off by 2.0 at most on average, half of that without any."""
    without = misses(carried(fit, benches[1], 0), benches[1]).mean()
    five = misses(carried(fit, benches[1], 5), benches[1]).mean()
    assert len(fit.colorants) == 60
    assert five <= 2.0
    assert five <= 0.5 * without


def test_error_falls_with_anchors(
    fit: MarkerFit, benches: tuple[SimulatedBench, SimulatedBench]
) -> None:
    """More anchors, less error: none, two, five, fifteen, by the mean of three hands."""
    means = [
        np.mean(
            [misses(carried(fit, benches[1], k, seed), benches[1]).mean() for seed in (2, 3, 4)]
        )
        for k in (0, 2, 5, 15)
    ]
    assert means[0] > 2 * means[1]
    assert means[1] > means[2] > means[3]


def test_chosen_anchors_beat_the_first_ones(
    fit: MarkerFit, benches: tuple[SimulatedBench, SimulatedBench]
) -> None:
    """Anchors chosen for what they tell leave less error than the palest ones would."""
    rng = np.random.default_rng(3)
    palest = [fit.colorants[i] for i in np.argsort(fit.strength)[:5]]
    paper = Paper(benches[1].paper, truth(benches[1], Recipe()))
    taken = [swatch(benches[1], one(c), HAND, rng) for c in palest]
    by_palest = misses(carry_markers(fit, paper, taken), benches[1]).mean()
    assert misses(carried(fit, benches[1], 5), benches[1]).mean() < by_palest


def test_what_was_carried_is_marked(
    fit: MarkerFit, benches: tuple[SimulatedBench, SimulatedBench]
) -> None:
    """Anchors count as measured and come back as read; all others are marked and less sure."""
    made = carried(fit, benches[1], 5)
    chosen = choose_anchors(fit, 5)
    assert len(made.carried) == 55
    other = next(c for c in fit.colorants if c not in chosen)
    assert any("carried over" in word for word in outside(made, one(other)))
    assert not any("carried over" in word for word in outside(made, one(chosen[0])))
    assert "55 colorants" in made.notes[0]
    sure, unsure = (np.trace(predict(f, one(other)).covariance) for f in (fit, made))
    assert unsure > 1.5 * sure


def test_bounds_of_carried_colors_hold(
    fit: MarkerFit, benches: tuple[SimulatedBench, SimulatedBench]
) -> None:
    """Regions that are said to hold 80 in 100 carried colors hold 70 to 95."""
    made = carried(fit, benches[1], 5)
    rng = np.random.default_rng(9)
    inside = []
    for colorant in made.colorants:
        said = predict(made, one(colorant))
        seen = swatch(benches[1], one(colorant), HAND, rng).reflectance
        off = lab_from_reflectance(seen) - said.lab
        inside.append(off @ np.linalg.solve(said.covariance, off) <= 4.642)  # χ², 3 degrees
    assert 0.7 <= np.mean(inside) <= 0.95


def test_an_anchor_makes_what_looks_like_it_surer_and_nothing_else() -> None:
    """By the formula for Gaussian processes, from what is chosen of a range's own amounts.

    A colorant's own amount varies by .12 and is read to .06 [natural log]. After its twin was
    read, its variance is .12² − .12⁴ / (.12² + .06²) + .06², and a stranger's .12² + .06².
    """
    paper, other = Paper("Gannet smooth", np.full(36, 0.9)), Paper("Heron laid", np.full(36, 0.85))
    bands = np.arange(36)
    looks = {name: np.exp(-(((bands - at) / 8.0) ** 2)) for name, at in LOOKS.items()}
    seen = {Colorant(name, "Test"): 0.9 * np.exp(-look) for name, look in looks.items()}
    known = fit_markers([Swatch(paper.name, one(c), r) for c, r in seen.items()], paper)
    anchor = next(iter(seen))
    made = carry_markers(known, other, [Swatch(other.name, one(anchor), 0.94 * seen[anchor])])
    amounts = [np.diag(fit.covariance)[-len(LOOKS) :] for fit in (made, known)]
    _, twin, stranger = amounts[0] - amounts[1]
    assert twin == pytest.approx(0.12**2 - 0.12**4 / (0.12**2 + 0.06**2) + 0.06**2, abs=2e-4)
    assert stranger == pytest.approx(0.12**2 + 0.06**2, abs=2e-4)


def test_without_an_anchor_amount_and_scale_of_the_range_are_open() -> None:
    """Amounts vary by .3 [natural log] from paper to paper and .12 in a range, scales by .3."""
    bands = np.arange(36)
    paper, other = Paper("Gannet smooth", np.full(36, 0.9)), Paper("Heron laid", np.full(36, 0.85))
    kelp = Colorant("Kelp", "Test")
    seen = Swatch(paper.name, one(kelp), 0.9 * np.exp(-(((bands - 9) / 8.0) ** 2)))
    known = fit_markers([seen], paper)
    made = carry_markers(known, other)
    scale = known.priors.at("scale")
    assert np.sqrt(made.covariance[scale, scale]) == pytest.approx(0.3)
    more = (made.covariance - known.covariance)[-1, -1]
    assert more == pytest.approx(0.3**2 + 0.12**2)


def test_films_without_an_anchor_are_as_open() -> None:
    """A pencil's amount on another paper varies by .3 for the range and by .12 for itself."""
    fern = Colorant("Fern", "Test", Medium.PENCIL)
    paper, other = Paper("Gannet smooth", np.full(36, 0.9)), Paper("Heron laid", np.full(36, 0.85))
    known = fit_films([Swatch(paper.name, one(fern), np.full(36, 0.5))], paper, Medium.PENCIL)
    made = carry_films(known, other)
    more = np.diag(made.covariance - known.covariance)
    assert more[more > 0].tolist() == pytest.approx([0.3**2 + 0.12**2])


LOOKS = {"Anchor": 4.0, "Twin": 4.0, "Stranger": 30.0}
"""In which band each absorbs most."""


@pytest.mark.parametrize("medium", [Medium.PENCIL, Medium.WASH])
def test_films_are_carried_too(medium: Medium) -> None:
    """Pencils and washes on a darker paper: 3 anchors keep one coat within 2 on average."""
    rng = np.random.default_rng(4)
    colorants = [Colorant(f"Dye {i}", "Test", medium) for i in range(8)]
    level = 0.8 if medium is Medium.PENCIL else 0.25
    dyes = dye_set(5, len(colorants)).values()
    pigments = {
        c.label: Pigment(0.8 * d.absorption, np.full(36, level * np.exp(rng.normal(0, 0.4))))
        for c, d in zip(colorants, dyes, strict=True)
    }
    first, second = FilmBench(white_slab(share=0.1), pigments), FilmBench(WARM, pigments)

    def read(bench: FilmBench, recipe: Recipe) -> Swatch:
        factor = 1.25 if bench is second else 1.0  # this paper takes more
        return Swatch(
            bench.slab.name,
            recipe,
            bench.truth(recipe, factor * np.exp(0.05 * rng.standard_normal(recipe.coats))),
        )

    papers = [Paper(b.slab.name, b.truth(Recipe())) for b in (first, second)]
    design = film_design.minimum_design(colorants)[1:]
    fit = fit_films([read(first, r) for r in design], papers[0], medium)
    truth_there = np.array([second.truth(one(c), [1.25]) for c in fit.colorants])

    def off(anchors: int) -> float:
        taken = [read(second, one(c)) for c in choose_anchors(fit, anchors)]
        made = carry_films(fit, papers[1], taken)
        assert len(made.carried) == len(colorants) - anchors
        labs = lab_from_reflectance(made.references), lab_from_reflectance(truth_there)
        return float(ciede2000(*labs).mean())

    assert off(3) <= 2.0
    assert off(3) < off(0)
