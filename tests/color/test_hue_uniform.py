from types import ModuleType

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.color.lab import WHITE_D65, hue_and_chroma, ipt_from_xyz


@settings(deadline=None)
@given(st.lists(st.floats(0.5, 95.0), min_size=3, max_size=3))
def test_ipt_is_that_of_an_independent_implementation(colour: ModuleType, xyz: list[float]) -> None:
    """For colors under D65 the numbers are those of colour-science."""
    ours = ipt_from_xyz(np.array(xyz), white=WHITE_D65)
    assert ours == pytest.approx(colour.XYZ_to_IPT(np.array(xyz) / 100.0), abs=1e-9)


def test_grays_have_no_chroma() -> None:
    """A gray under D50 stays gray after adaptation."""
    lab = np.array([[L, 0.0, 0.0] for L in (5.0, 30.0, 60.0, 95.0)])
    assert hue_and_chroma(lab)[:, 1] == pytest.approx(0.0, abs=1e-3)
