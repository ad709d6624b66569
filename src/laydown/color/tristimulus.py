"""From reflectance to CIE XYZ under D50 and the 2° observer, white at Y = 100; other whites."""

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

    `reflectance`: shape (…, 36) [0 to 1]. `weights`: shape (36, 3), the light's own, from
    `laydown.color.light.weights`. Returns shape (…, 3), XYZ [perfect white at Y = 100].

    A fluorescent surface has another reflectance under another light; for it only the light it
    was measured under is true.

    Source: CIE 015:2018, section 7; ASTM E308.

    A gray that returns half of every wavelength has half of white's XYZ.

    >>> (xyz_from_reflectance(np.full(36, 0.5)) / WHITE_D50).round(12).tolist()
    [0.5, 0.5, 0.5]
    """
    return np.asarray(reflectance, dtype=np.float64) @ weights


BRADFORD: FloatArray = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)
"""From XYZ to the cone responses in which white is scaled (ICC.1, annex E)."""
BRADFORD.flags.writeable = False


def adapt(xyz: FloatArray, *, white_from: FloatArray, white_to: FloatArray) -> FloatArray:
    """Estimate the XYZ under one light of surfaces known under another.

    `xyz`: shape (…, 3) under the first light [its white at Y = 100]. `white_from`, `white_to`:
    shape (3,), XYZ of the perfect white under the first and the second light. Returns shape (…, 3)
    under the second light.

    Bradford, linear. What a surface does under another light its XYZ can't tell; on 190 measured
    patches taken from daylight C to D50 the estimate was off by CIEDE2000 0.7 on average and 1.9
    at most (docs/decisions/color.md). With a spectrum, use the light's own weights.

    Source: ICC.1:2022, annex E; K. M. Lam, Metamerism and colour constancy, Ph.D. thesis,
    University of Bradford (1985).

    White becomes the other light's white.

    >>> daylight, lamp = np.array([95.05, 100.0, 108.9]), np.array([109.85, 100.0, 35.58])
    >>> adapt(daylight, white_from=daylight, white_to=lamp).round(9).tolist()
    [109.85, 100.0, 35.58]
    """
    gain = (BRADFORD @ white_to) / (BRADFORD @ white_from)
    matrix = np.linalg.solve(BRADFORD, gain[:, None] * BRADFORD)
    return np.asarray(xyz, dtype=np.float64) @ matrix.T
