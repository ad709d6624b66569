"""The array type of the core, float64 with last axis = wavelength or channel; and of pictures."""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

FloatArray: TypeAlias = NDArray[np.float64]

Pixels: TypeAlias = NDArray[np.uint8]
Plane: TypeAlias = NDArray[np.float32]
"""Pictures as (row, column, channel): 8 bits as opened, and light once linear."""
