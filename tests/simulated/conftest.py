import pytest

from simulated.people import SwatchedRange, swatched_range


@pytest.fixture(scope="session")
def known() -> SwatchedRange:
    """Twelve invented markers, swatched by a careful hand."""
    return swatched_range(7, colorants=12)
