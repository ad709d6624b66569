"""Compile the few loops that numpy can't do, and say whether that has been done already.

A compiled loop is kept in a folder beside the package or, where that can't be written, in the
folder of the environment variable ``NUMBA_CACHE_DIR`` or of the user. Where none can be written,
it is compiled anew in each process: slower at the start, never wrong.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

import numpy as np
from numba import njit
from numba.core import event
from numpy.typing import NDArray

from laydown.color.arrays import FloatArray

Function = TypeVar("Function", bound=Callable[..., Any])


OPTIONS: dict[str, Any] = {
    "nogil": True,
    "fastmath": {"reassoc", "contract", "nsz", "arcp"},
    "error_model": "numpy",  # a division is not watched, or no loop goes side by side
}


def compiled(function: Function) -> Function:
    """Compile a function on its first call, release the interpreter in it, and keep the result.

    Sums may be regrouped, so that bands go through the processor side by side: results differ
    from plain sums in the last digits, which the margins of the search allow for.
    """
    return _kept_if_possible(function, OPTIONS)


def compiled_in_place(function: Function) -> Function:
    """Compile a short function into those that call it, which saves handing over whole kits."""
    return _kept_if_possible(function, {**OPTIONS, "forceinline": True})


def _kept_if_possible(function: Function, options: dict[str, Any]) -> Function:
    try:
        made: Function = njit(cache=True, **options)(function)
    except RuntimeError:  # no folder can be written
        made = njit(**options)(function)
    return made


@contextmanager
def announcing(tell: Callable[[], None]) -> Iterator[None]:
    """Call `tell` when something has to be compiled in here: once, and before it is.

    A loop that was kept is only loaded, which is not told. The caller may be any thread.
    """
    with event.install_listener("numba:compile", _Announcer(tell)):
        yield


class _Announcer(event.Listener):
    def __init__(self, tell: Callable[[], None]) -> None:
        self._tell = tell
        self._has_told = False

    def on_start(self, _: event.Event) -> None:
        if not self._has_told:
            self._has_told = True
            self._tell()

    def on_end(self, _: event.Event) -> None:
        """Nothing to tell: what was waited for goes on."""


def is_kept(function: Callable[..., Any]) -> bool:
    """Whether a compiled function is ready, in this process or in the folder where it is kept.

    Asks the compiler's own index of that folder; where that can't be read the answer is no, which
    only makes the caller announce a compilation that then takes no time.
    """
    if getattr(function, "signatures", None):
        return True
    try:
        index = function._cache._cache_file._load_index()  # type: ignore[attr-defined]
    except (AttributeError, OSError, ValueError):
        return False
    return bool(index)


# A polynomial way from absorption to reflectance that a processor runs sixteen lanes wide.

DEGREE = 10
DARK = 0.003
"""Below this reflectance the error is held absolutely, above it in proportion to R^(2/3)."""
MOST_SHIFT = 4.0
ROUNDS = 12


def quick_curve(
    inverse: Callable[[FloatArray], FloatArray], *, scale: float, most: float
) -> tuple[NDArray[np.float32], float]:
    """Fit R ≈ q(t)^(−p), q a polynomial in t = (√(A + shift) − middle) / half, A from 0 to `most`.

    R is smooth in √(A + (1 − w)²/2w), where the scale has its bend. The weight R^(−2/3) makes the
    error in the cube root, and so in L*, a*, b*, about equal for light and dark. The fit is least
    squares with weights renewed from the errors (Lawson), which comes near the least maximum; what
    it leaves is measured on a grid so fine that nothing hides between, and doubled.

    `inverse`: from absorption to reflectance at this scale. `scale`: w in [0, 1]. `most`: the
    largest absorption that will be asked for. Returns shape (4 + DEGREE + 1,), single precision:
    shift, middle, 1 / half, how often 1/q is squared (p = 1, 2, 8 for 0, 1, 3), then q's
    coefficients from the lowest power; and the most that |R̃ − R| / max(R, DARK)^(2/3) can be,
    single precision included.

    >>> _, error = quick_curve(lambda a: np.exp(-a), scale=0.0, most=6.0)
    >>> error < 1e-4
    True
    """
    shift = min((1.0 - scale) ** 2 / (2.0 * scale), MOST_SHIFT) if scale > 0 else MOST_SHIFT
    squarings = 0 if scale >= 0.3 else 1 if scale >= 0.03 else 3
    low, high = np.sqrt(shift), np.sqrt(shift + most)
    middle, half = 0.5 * (low + high), 0.5 * (high - low)
    t = np.cos(np.pi * (np.arange(200) + 0.5) / 200)
    reflected = inverse((middle + half * t) ** 2 - shift)
    coefficients = _lawson(t, reflected, 2**squarings)
    head = [shift, middle, 1.0 / half, squarings]
    numbers = np.array([*head, *coefficients], dtype=np.float32)
    return numbers, 2.0 * _error(numbers, inverse, most)


def _lawson(t: FloatArray, reflected: FloatArray, power: int) -> FloatArray:
    wanted = reflected ** (-1.0 / power)
    allowed = np.maximum(reflected, DARK) ** (2.0 / 3.0)
    rate = power * reflected / wanted / allowed
    powers = np.polynomial.chebyshev.chebvander(t, DEGREE)
    weight, best, least = np.full(len(t), 1.0 / len(t)), np.zeros(DEGREE + 1), np.inf
    for _ in range(ROUNDS):
        root = np.sqrt(weight) * rate
        found = np.linalg.lstsq(powers * root[:, None], wanted * root, rcond=None)[0]
        error = np.abs(np.maximum(powers @ found, 0.1) ** -power - reflected) / allowed
        if error.max() < least:
            best, least = found, error.max()
        weight = weight * (error + 1e-12)
        weight /= weight.sum()
    return np.asarray(np.polynomial.chebyshev.cheb2poly(best))


def _error(
    numbers: NDArray[np.float32], inverse: Callable[[FloatArray], FloatArray], most: float
) -> float:
    """Return the largest error of `numbers` on a fine grid, evaluated in single precision."""
    shift = float(numbers[0])
    z = np.linspace(np.sqrt(shift), np.sqrt(shift + most), 4001)
    a = np.maximum(z * z - shift, 0.0)
    reflected = inverse(a)
    t = (np.sqrt(a.astype(np.float32) + numbers[0]) - numbers[1]) * numbers[2]
    q = np.zeros_like(t)
    for coefficient in numbers[:3:-1]:
        q = q * t + coefficient
    got = (1.0 / q.astype(np.float64)) ** (2 ** float(numbers[3]))
    return float(np.max(np.abs(got - reflected) / np.maximum(reflected, DARK) ** (2.0 / 3.0)))
