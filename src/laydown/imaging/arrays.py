"""The array types of pictures: (row, column, channel), 8 bits as opened, float once linear."""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Pixels: TypeAlias = NDArray[np.uint8]
Linear: TypeAlias = NDArray[np.float32]
