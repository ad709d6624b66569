"""The one array type of the core: float64, last axis = wavelength or channel."""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

FloatArray: TypeAlias = NDArray[np.float64]
