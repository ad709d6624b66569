"""From reflectance to CIE XYZ under D50 and the 2° observer, white at Y = 100."""

import numpy as np

from laydown.color.arrays import FloatArray
from laydown.reference.tables import load_table

WEIGHTS_D50: FloatArray = load_table("weights_d50").numbers("X", "Y", "Z")
"""Shape (36, 3): reflectance @ WEIGHTS_D50 is XYZ."""
WHITE_D50: FloatArray = WEIGHTS_D50.sum(axis=0)
"""Shape (3,): XYZ of the perfect white, so that it is L* 100, a* 0, b* 0 exactly."""
WEIGHTS_D50.flags.writeable = False
WHITE_D50.flags.writeable = False


def xyz_from_reflectance(
    reflectance: FloatArray, *, weights: FloatArray = WEIGHTS_D50
) -> FloatArray:
    """See reflectances under a light, as the CIE 1931 observer does.

    Parameters
    ----------
    reflectance
        Shape (…, 36) [0 to 1].
    weights
        Shape (36, 3), the light's own, from `laydown.color.light.weights`.

    Returns
    -------
    FloatArray
        Shape (…, 3), XYZ [perfect white at Y = 100].

    Notes
    -----
    A fluorescent surface has another reflectance under another light; for it only the light it
    was measured under is true.

    References
    ----------
    CIE 015:2018, section 7; ASTM E308.

    Examples
    --------
    A gray that returns half of every wavelength has half of white's XYZ.

    >>> (xyz_from_reflectance(np.full(36, 0.5)) / WHITE_D50).round(12).tolist()
    [0.5, 0.5, 0.5]
    """
    return np.asarray(reflectance, dtype=np.float64) @ weights
