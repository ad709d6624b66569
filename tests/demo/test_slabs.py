"""The bench's optics, held to a closed theory, to finer sums and to themselves."""

import numpy as np
import pytest

from laydown.color.arrays import FloatArray
from laydown.demo.oracle import MOST_AMOUNT, Slab, SolvedSlab, solve

SHARES = (0.0, 0.02, 0.1, 0.5, 1.0)


def _slab(share: float, *, scattering: float = 30.0) -> Slab:
    return Slab("White", np.linspace(0.05, 0.02, 36), scattering, share)


def _amounts(count: int) -> FloatArray:
    rng = np.random.default_rng(5)
    return np.exp(rng.uniform(np.log(0.003), np.log(0.9 * MOST_AMOUNT), (count, 36)))


def _chandrasekhar(albedo: float) -> float:
    """Return the plane albedo at normal incidence, 1 − √(1 − ω) H(1), by iterating H."""
    nodes, weights = np.polynomial.legendre.leggauss(80)
    mu, w = 0.5 * (nodes + 1.0), 0.5 * weights
    h, at_one, loss = np.ones_like(mu), 1.0, np.sqrt(1.0 - albedo)
    for _ in range(400):
        kernel = 0.5 * albedo * w * mu * h
        at_one = 1.0 / (loss + (kernel / (1.0 + mu)).sum())
        h = 1.0 / (loss + (kernel / (mu[:, None] + mu)).sum(axis=1))
    return float(1.0 - loss * at_one)


@pytest.mark.parametrize("albedo", [0.5, 0.9, 0.99])
def test_a_deep_slab_reflects_as_chandrasekhar_found(albedo: float) -> None:
    """A slab too deep to see through reflects 1 − √(1 − ω) H(1), from Chandrasekhar's H function
    for isotropic scattering (Radiative Transfer, 1950, § 34–38).
    """
    depth = 200.0
    absorbed = np.full(36, depth * (1.0 / albedo - 1.0))
    seen = SolvedSlab(Slab("Deep", absorbed, depth, 1.0)).reflectance(np.zeros(36))
    assert seen == pytest.approx(np.full(36, _chandrasekhar(albedo)), abs=1e-5)


def test_dye_in_the_whole_sheet_is_a_grayer_sheet() -> None:
    """Dye through and through does what the same absorption of the paper itself would do."""
    dyed = SolvedSlab(_slab(1.0))
    dye = np.linspace(0.1, 4.0, 36)
    gray = SolvedSlab(Slab("Gray", dyed.slab.absorption + dye * dyed.unit, 30.0, 0.3))
    assert dyed.reflectance(dye) == pytest.approx(gray.reflectance(np.zeros(36)), abs=1e-7)


def test_a_clear_film_is_passed_straight_in_and_slanting_out() -> None:
    """Under a thin film the loss lies between two straight passes and one straight plus one at
    twice the depth, which is the mean slant of evenly scattered light.
    """
    film = SolvedSlab(_slab(0.0))
    dye = np.full(36, 0.01)
    lost = -np.log(film.reflectance(dye) / film.reflectance(np.zeros(36)))
    depth = 0.01 * film.unit
    assert np.all(lost > 2.0 * depth)
    assert np.all(lost < 3.0 * depth)


@pytest.mark.parametrize("share", SHARES)
def test_bare_paper_looks_the_same_wherever_its_dye_would_lie(share: float) -> None:
    """Without dye, cutting the sheet at any depth changes nothing."""
    whole = SolvedSlab(_slab(1.0)).reflectance(np.zeros(36))
    assert SolvedSlab(_slab(share)).reflectance(np.zeros(36)) == pytest.approx(whole, abs=1e-6)


@pytest.mark.parametrize("share", SHARES)
def test_one_halving_halves_a_white_that_absorbs_nothing(share: float) -> None:
    """One unit of dye leaves half the reflectance, at every share."""
    sheet = SolvedSlab(Slab("Pure", np.zeros(36), 30.0, share))
    bare, dyed = sheet.reflectance(np.zeros(36)), sheet.reflectance(np.ones(36))
    assert dyed == pytest.approx(0.5 * bare, abs=1e-8)


@pytest.mark.parametrize(
    ("share", "tolerance"), [(0.0, 1e-4), (0.02, 1e-5), (0.1, 1e-5), (1, 1e-5)]
)
def test_eight_angles_are_enough(share: float, tolerance: float) -> None:
    """Against 24 angles the reflectance differs by under 1e-4 below a film, 1e-5 in paper."""
    coarse = SolvedSlab(_slab(share))
    fine = SolvedSlab(_slab(share), angles=24)
    fine.unit = coarse.unit
    for amount in _amounts(2):
        assert coarse.reflectance(amount) == pytest.approx(fine.reflectance(amount), abs=tolerance)


@pytest.mark.parametrize("share", SHARES)
def test_between_its_nodes_a_response_is_true_to_the_solved_transfer(share: float) -> None:
    """Interpolating costs less than 1e-5 in reflectance."""
    sheet, response = SolvedSlab(_slab(share)), solve(_slab(share))
    amounts = np.vstack([np.zeros((1, 36)), _amounts(4)])
    solved = np.array([sheet.reflectance(amount) for amount in amounts])
    assert response(amounts) == pytest.approx(solved, abs=1e-5)


def test_more_dye_is_darker_until_the_nodes_end() -> None:
    """Reflectance falls with every bit of dye and stays where the last node is."""
    response = solve(_slab(0.1))
    ladder = np.linspace(0.0, MOST_AMOUNT, 4000)[:, None] * np.ones(36)
    assert np.all(np.diff(response(ladder), axis=0) < 0.0)
    beyond = response(np.full(36, 2.0 * MOST_AMOUNT))
    assert np.array_equal(beyond, response(ladder[-1]))
    last = SolvedSlab(_slab(0.1)).reflectance(np.full(36, MOST_AMOUNT))
    assert beyond == pytest.approx(last, abs=1e-8)


@pytest.mark.parametrize("share", [-0.1, 1.1])
def test_a_share_is_a_share(share: float) -> None:
    """The share that takes the dye lies between 0 and 1."""
    with pytest.raises(ValueError, match="0 to 1"):
        _slab(share)
