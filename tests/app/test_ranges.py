"""Ranges: what is known of one, and what showing it takes."""

import subprocess
import sys


def test_showing_a_range_loads_no_search() -> None:
    """The search, its compiler and the hulls of a comparison are left for who asks for them."""
    heavy = "'numba', 'scipy', 'laydown.match.search.search'"
    script = f"import sys, laydown.app.supplies.ranges; print({{{heavy}}} & set(sys.modules))"
    told = subprocess.run([sys.executable, "-c", script], check=True, capture_output=True).stdout
    assert told.decode() == "set()\n"
