from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from laydown.media.inference.design import Sight, updated
from laydown.media.inference.forward import linearize
from laydown.media.inference.posterior import (
    GaussianPrior,
    NormalEquations,
    information,
    log_evidence,
    most_probable,
    normal_equations,
    principal_axes,
    solved,
    trust_within,
    without_lone,
)
from laydown.media.marker import model as marker_model
from laydown.media.marker.fitting import fit_markers
from laydown.media.recipe import Colorant, Paper, Recipe, Step
from laydown.media.swatch import Basis, Swatch

OBSERVATIONS, FEATURES, PARAMETERS = 6, 3, 4


@pytest.fixture(scope="module")
def straight() -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return what is seen, Jacobians and scatter of a linear problem, and a prior precision."""
    rng = np.random.default_rng(11)
    jacobian = rng.normal(size=(OBSERVATIONS, FEATURES, PARAMETERS))
    roots = rng.normal(size=(OBSERVATIONS, FEATURES, FEATURES))
    scatter = roots @ roots.transpose(0, 2, 1) + 0.5 * np.eye(FEATURES)
    seen = rng.normal(size=(OBSERVATIONS, FEATURES))
    return seen, jacobian, scatter, np.diag(rng.uniform(0.5, 2.0, PARAMETERS))


def whole(scatter: np.ndarray) -> np.ndarray:
    """Return blocks as one matrix."""
    matrix = np.zeros((OBSERVATIONS * FEATURES, OBSERVATIONS * FEATURES))
    for number, block in enumerate(scatter):
        rows = slice(FEATURES * number, FEATURES * (number + 1))
        matrix[rows, rows] = block
    return matrix


def mode(seen: np.ndarray, jacobian: np.ndarray, scatter: np.ndarray, precision: np.ndarray):
    """Return mean and covariance of the posterior by the textbook, all as one matrix."""
    j, r = jacobian.reshape(-1, PARAMETERS), np.linalg.inv(whole(scatter))
    covariance = np.linalg.inv(j.T @ r @ j + precision)
    return covariance @ j.T @ r @ seen.ravel(), covariance


def test_evidence_is_the_density_with_the_parameters_integrated_out(straight) -> None:
    """Up to a constant it is the log density of a normal of covariance J P⁻¹ Jᵀ + R."""
    seen, jacobian, scatter, precision = straight
    j = jacobian.reshape(-1, PARAMETERS)
    constant = -0.5 * seen.size * np.log(2.0 * np.pi)
    for scale in (1.0, 3.0):
        covariance = j @ np.linalg.inv(precision) @ j.T + scale * whole(scatter)
        wanted = multivariate_normal(cov=covariance).logpdf(seen.ravel())
        assert log_evidence(seen, jacobian, scale * scatter, precision) + constant == (
            pytest.approx(wanted)
        )


def descend(straight, lowest: np.ndarray, movable: np.ndarray) -> np.ndarray:
    """Return the most probable parameters of the linear problem within bounds."""
    seen, jacobian, scatter, precision = straight

    def look(x: np.ndarray) -> tuple[NormalEquations, None]:
        residual = seen - jacobian @ x
        told, _ = normal_equations(residual, jacobian, scatter, huber=1e9, with_volume=True)
        return told, None

    prior = GaussianPrior(
        np.zeros(PARAMETERS), np.diag(precision), lowest, np.full(PARAMETERS, 9.0), movable
    )
    start, damping = np.full(PARAMETERS, 5.0), (1e-6, 1e6)
    found = most_probable(look, prior, start, rounds=60, gain=1e-14, move=1e-12, damping=damping)
    return found[0]


def test_the_most_probable_parameters_of_a_straight_model_are_the_textbooks(straight) -> None:
    """From afar Gauss–Newton comes to (JᵀR⁻¹J + P)⁻¹ JᵀR⁻¹ r."""
    free, far = np.ones(PARAMETERS, dtype=bool), np.full(PARAMETERS, -9.0)
    assert descend(straight, far, free) == pytest.approx(mode(*straight)[0], abs=1e-6)


def test_a_parameter_pressed_to_its_bound_leaves_the_others_their_optimum(straight) -> None:
    """The least parameter held above its optimum, the rest solve the equations that are left."""
    mean, covariance = mode(*straight)
    place = int(np.argmin(mean))
    lowest = np.full(PARAMETERS, -9.0)
    lowest[place] = mean[place] + 0.5
    wanted = mean + covariance[:, place] / covariance[place, place] * 0.5
    found = descend(straight, lowest, np.ones(PARAMETERS, dtype=bool))
    assert found == pytest.approx(wanted, abs=1e-6)


def test_what_is_told_more_than_the_limit_off_counts_less() -> None:
    """Huber: within the limit by its square, beyond it in proportion."""
    assert trust_within(np.array([0.5, 2.0, 8.0]), 2.0) == pytest.approx([1.0, 1.0, 0.25])
    residual = np.array([[1.0], [8.0]])
    (hessian, gradient, cost), distances = normal_equations(
        residual, np.ones((2, 1, 1)), np.ones((2, 1, 1)), huber=2.0, with_volume=False
    )
    assert cost == pytest.approx(1.0 + 2.0 * 2.0 * 8.0 - 2.0**2)
    assert gradient == pytest.approx([1.0 + 2.0])
    assert hessian == pytest.approx(np.array([[1.25]]))
    assert distances == pytest.approx([1.0, 8.0])


def test_one_more_patch_adds_its_information(straight) -> None:
    """The covariance expected after it is the inverse of the precision and JᵀR⁻¹J."""
    _, jacobian, scatter, precision = straight
    before, one, r = np.linalg.inv(precision), jacobian[0], scatter[0]
    wanted = np.linalg.inv(precision + one.T @ np.linalg.solve(r, one))
    assert updated(before, Sight(np.arange(PARAMETERS), one, r)) == pytest.approx(wanted)


def test_principal_axes_make_up_the_covariance(straight) -> None:
    """A standard deviation along each, their squares add up to the block asked for."""
    _, covariance = mode(*straight)
    axes = principal_axes(covariance[np.ix_([2, 0], [2, 0])])
    assert axes.T @ axes == pytest.approx(covariance[np.ix_([2, 0], [2, 0])])


SHARED, ALONE = 4, 120


@pytest.fixture(scope="module")
def large() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return seen, Jacobians and scatter of a range: each patch of two, or of one alone."""
    rng = np.random.default_rng(12)
    patches = [(n,) for n in range(ALONE)] + [(0, 1), (1, 2), (7, 9)]
    jacobian = np.zeros((len(patches), FEATURES, SHARED + ALONE + 1))
    jacobian[..., :SHARED] = rng.normal(size=(len(patches), FEATURES, SHARED))
    for row, colorants in zip(jacobian, patches, strict=True):
        row[:, [SHARED + c for c in colorants]] = rng.normal(size=(FEATURES, len(colorants)))
    roots = rng.normal(size=(len(patches), FEATURES, FEATURES))
    scatter = roots @ roots.transpose(0, 2, 1) + 0.5 * np.eye(FEATURES)
    return rng.normal(size=(len(patches), FEATURES)), jacobian, scatter


def test_a_large_range_is_told_as_much_as_if_nothing_were_left_out(large) -> None:
    """Summed where patches and parameters meet, the information is that of all by all."""
    seen, jacobian, scatter = large
    weights = np.linspace(0.2, 1.0, len(seen))
    hessian, gradient, squares = information(seen, jacobian, scatter, weights)
    r = weights[:, None, None] * np.linalg.inv(scatter)
    assert hessian == pytest.approx(np.einsum("tfp,tfg,tgq->pq", jacobian, r, jacobian))
    assert gradient == pytest.approx(np.einsum("tfp,tfg,tg->p", jacobian, r, seen))
    assert squares == pytest.approx(np.einsum("tf,tfg,tg->t", seen, np.linalg.inv(scatter), seen))


def test_a_large_range_is_solved_in_a_small_block(large, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is alone is eliminated first; solution and determinant are those of the whole."""
    seen, jacobian, scatter = large
    matrix = information(seen, jacobian, scatter, np.ones(len(seen)))[0] + np.eye(
        SHARED + ALONE + 1
    )
    right = np.arange(len(matrix), dtype=np.float64)
    x, volume = np.linalg.solve(matrix, right), np.linalg.slogdet(matrix)[1]
    sizes: list[int] = []
    solve = np.linalg.solve
    monkeypatch.setattr(np.linalg, "solve", lambda a, b: (sizes.append(len(a)), solve(a, b))[1])
    assert solved(matrix, right)[0] == pytest.approx(x)
    assert solved(matrix, right)[1] == pytest.approx(volume)
    assert max(sizes) <= SHARED + 3


def test_recipes_made_straight_together_are_as_each_alone(
    full: Sequence[Swatch], colorants: Sequence[Colorant], paper: Paper
) -> None:
    """Look, slopes and scatter of swatched coats, guessed spectra, layers and mixed orders."""
    guessed = [replace(s, basis=Basis.XYZ) if n == 1 else s for n, s in enumerate(full)]
    clear = Colorant("Clear", colorants[0].range, blender=True)
    fit = fit_markers(guessed, paper, colorants=[*colorants, clear])
    recipes = [s.recipe for s in full] + [
        Recipe((Step(colorants[0]), Step(clear))),
        Recipe((Step(colorants[3]), Step(clear))),
    ]
    models = [fit.model_of(recipe) for recipe in recipes]
    together = linearize(models, fit.effects, fit.own, fit.priors, crowding=0.1)
    p = len(fit.covariance)
    scatter = together.covariance(fit.noise, measuring=0.3)
    for place, model in enumerate(models):
        alone = linearize([model], fit.effects, fit.own, fit.priors, crowding=0.1)
        assert together.features[place] == pytest.approx(alone.features[0], abs=1e-9)
        assert together.jacobian(p)[place] == pytest.approx(alone.jacobian(p)[0], abs=1e-6)
        wanted = alone.covariance(fit.noise, measuring=0.3)[0]
        assert scatter[place] == pytest.approx(wanted, abs=1e-6)


def test_recipes_that_are_alike_are_colored_at_once(
    full: Sequence[Swatch], paper: Paper, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Eighteen swatches of three kinds of recipe ask the model three times, not eighteen."""
    asked = []
    reflect = marker_model.relative_reflectance
    monkeypatch.setattr(
        marker_model, "relative_reflectance", lambda *a: asked.append(1) or reflect(*a)
    )
    fit = fit_markers(full, paper)
    models = [fit.model_of(swatch.recipe) for swatch in full]
    asked.clear()
    linearize(models, fit.effects, fit.own, fit.priors)
    assert len(asked) == 3


def test_what_one_observation_alone_goes_with_is_integrated_out_first(straight) -> None:
    """The evidence is that of all parameters, whether shared, lone, or met by nothing."""
    seen, jacobian, scatter, _ = straight
    t, f, p = jacobian.shape
    lone = np.full((t, 1), p) + np.arange(t)[:, None]
    places = np.concatenate([np.tile(np.arange(p), (t, 1)), lone], axis=1)
    slopes = np.concatenate([jacobian, seen[..., None] + 0.3], axis=2)
    whole = np.zeros((t, f, p + t + 1))
    np.put_along_axis(whole, places[:, None], slopes, axis=2)
    precision = np.linspace(0.5, 2.0, p + t + 1)
    wanted = log_evidence(seen, whole, scatter, np.diag(precision))
    few, wider, rest = without_lone(places, slopes, scatter, precision)
    assert few.shape == jacobian.shape
    assert log_evidence(seen, few, wider, np.diag(rest)) == pytest.approx(wanted)
