"""Light in a dyed paper by adding and doubling: the physics of the simulated bench.

Radiative transfer in plane layers, solved by the package iadpython. Nothing here uses a scale of
absorption, Kubelka and Munk's equations or any other formula of `laydown.media`.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray

ANGLES = 8
"""Quadrature angles. Against 24 angles the reflectance of a dyed paper differs by under 1e-5 where
the paper scatters around the dye, and by under 1e-4 below a clear film (``tests/demo``)."""
NODES = 48
"""Amounts of dye at which a bench solves the transfer; between them it interpolates, to 1e-5."""
FIRST_AMOUNT = 0.05
"""Below about this amount the nodes stand evenly, above it they stand evenly in its logarithm."""
MOST_AMOUNT = 400.0
"""More dye than this counts as this much; nine coats of the strongest demo dye stay below it."""


@dataclass(frozen=True, slots=True, eq=False)
class Slab:
    """A simulated paper: a scattering slab whose top share takes the dye."""

    name: str
    """The paper's invented name."""
    absorption: FloatArray
    """Of the bare paper, shape (36,) [optical depth of the whole sheet]."""
    scattering: float = 30.0
    """Isotropic [optical depth of the whole sheet]."""
    share: float = 0.1
    """Top share of the sheet that takes the dye: 0 leaves it as a clear film on top, 1 lets it
    through the whole sheet."""

    def __post_init__(self) -> None:
        if not 0.0 <= self.share <= 1.0:
            raise ValueError(f"share {self.share:g}: allowed is 0 to 1")


class SolvedSlab:
    """One sheet of a `Slab`, solved wavelength by wavelength.

    Amounts of dye are counted in *halvings*: one unit brings a sheet that absorbs nothing itself
    to half its reflectance, wherever in the paper the dye lies. So one dye looks about equally
    strong at every share.
    """

    def __init__(self, slab: Slab, *, angles: int = ANGLES) -> None:
        # Loading iadpython takes a second, which the rest of laydown should not have to wait for.
        import iadpython  # noqa: PLC0415

        self._iad = iadpython
        self.slab = slab
        self._sample = iadpython.Sample(quad_pts=angles)
        self._sample.update_quadrature()
        self._below = [self._layer(1.0 - slab.share, depth) for depth in slab.absorption.tolist()]
        self._white = self._layer(1.0 - slab.share, 0.0)

    @cached_property
    def unit(self) -> float:
        """Optical depth of dye [per halving]."""
        from scipy.optimize import brentq  # noqa: PLC0415

        half = 0.5 * self._top(0.0, 0.0, self._white)

        def excess(log_depth: float) -> float:
            return self._top(0.0, float(np.exp(log_depth)), self._white) - half

        return float(np.exp(brentq(excess, np.log(1e-4), np.log(1e4), xtol=1e-10)))

    def reflectance(self, dye: FloatArray) -> FloatArray:
        """Solve the transfer for one amount of dye at each wavelength.

        Parameters
        ----------
        dye
            Shape (36,) [halvings].

        Returns
        -------
        FloatArray
            Shape (36,): reflectance for light that falls straight on, gathered over the half space.
        """
        depths = (dye * self.unit).tolist()
        bands = zip(self.slab.absorption.tolist(), depths, self._below, strict=True)
        return np.array([self._top(own, depth, below) for own, depth, below in bands])

    def matrices(self, dye: FloatArray) -> FloatArray:
        """Return how a dyed sheet reflects from each direction into each.

        Parameters
        ----------
        dye
            Shape (36,) [halvings].

        Returns
        -------
        FloatArray
            Shape (36, angles, angles), a ground for films (`laydown.demo.films`).
        """
        depths = (dye * self.unit).tolist()
        bands = zip(self.slab.absorption.tolist(), depths, self._below, strict=True)
        return np.array([self._added(own, depth, below)[0] for own, depth, below in bands])

    def _layer(self, share: float, absorbed: float) -> tuple[FloatArray, FloatArray]:
        """Return how a share of the sheet reflects and transmits, `absorbed` over the sheet."""
        if share == 0.0:
            reflected, passed = self._iad.zero_layer(self._sample)
            return reflected, passed
        return self._solve(share * self.slab.scattering, share * absorbed)

    def _solve(self, scattered: float, absorbed: float) -> tuple[FloatArray, FloatArray]:
        sample = self._sample
        sample.b = scattered + absorbed
        sample.a = scattered / sample.b
        reflected, passed = self._iad.simple_layer_matrices(sample)
        return reflected, passed

    def _top(self, own: float, dye: float, below: tuple[FloatArray, FloatArray]) -> float:
        """Lay the dyed share over the rest and return the reflectance."""
        up, down = self._added(own, dye, below)
        return float(self._sample.UX1_and_UXU(up, down)[0])

    def _added(
        self, own: float, dye: float, below: tuple[FloatArray, FloatArray]
    ) -> tuple[FloatArray, FloatArray]:
        """Lay the dyed share over the rest and return what goes up and what goes down."""
        share = self.slab.share
        if share == 0.0:
            passed = np.diagflat(np.exp(-dye / self._sample.nu) / self._sample.twonuw)
            reflected = np.zeros_like(passed)
        else:
            reflected, passed = self._solve(share * self.slab.scattering, share * own + dye)
        r, t = below
        up, _, down, _ = self._iad.add_layers(
            self._sample, reflected, reflected, passed, passed, r, r, t, t
        )
        return up, down


@dataclass(frozen=True, slots=True, eq=False)
class Response:
    """How a sheet answers any amount of dye: the solved transfer between its nodes."""

    coefficients: FloatArray
    """Shape (4, nodes − 1, 36): a cubic spline of −ln R over ln(1 + amount/`FIRST_AMOUNT`)."""

    def reflectance(self, dye: FloatArray) -> FloatArray:
        """Return the reflectance for amounts of dye.

        Parameters
        ----------
        dye
            Shape (…, 36) [halvings]; below 0 counts as 0, above `MOST_AMOUNT` as that.

        Returns
        -------
        FloatArray
            Shape (…, 36).
        """
        pieces = self.coefficients.shape[1]
        at = np.log1p(np.clip(dye, 0.0, MOST_AMOUNT) / FIRST_AMOUNT) / _step(pieces)
        piece: NDArray[np.intp] = np.minimum(at.astype(np.intp), pieces - 1)
        x = (at - piece) * _step(pieces)
        c3, c2, c1, c0 = self.coefficients[:, piece, np.arange(self.coefficients.shape[2])]
        return np.asarray(np.exp(-(((c3 * x + c2) * x + c1) * x + c0)))


def _step(pieces: int) -> float:
    return float(np.log1p(MOST_AMOUNT / FIRST_AMOUNT) / pieces)


def solve(slab: Slab) -> Response:
    """Solve a sheet's transfer at `NODES` amounts of dye, once for all recipes on it."""
    from scipy.interpolate import CubicSpline  # noqa: PLC0415

    sheet = SolvedSlab(slab)
    at = np.arange(NODES) * _step(NODES - 1)
    amounts = FIRST_AMOUNT * np.expm1(at)
    bands = slab.absorption.shape[0]
    solved = np.array([sheet.reflectance(np.full(bands, amount)) for amount in amounts])
    return Response(np.asarray(CubicSpline(at, -np.log(solved)).c, dtype=np.float64))
