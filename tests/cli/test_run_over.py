"""``laydown run over``: what a color makes with each of the others."""

import json
from collections.abc import Callable
from typing import Any

Run = Callable[..., Any]


def test_each_other_color_is_laid_over_one_and_under_it(shoal: Run) -> None:
    """All but the color itself stand in both tables, and in both lists of the JSON."""
    told = shoal("run", "over", "Kelp", "--range", "Shoal").stdout
    over, under = told.split("\n\n")
    found = json.loads(shoal("run", "over", "Kelp", "--range", "Shoal", "--json").stdout)
    for table, laid in ((over, found["over"]), (under, found["under"])):
        names = {one["other"]["name"] for one in laid}
        assert "Kelp" not in names
        assert len(names) > 1
        lines = table.splitlines()[1:]
        assert len(lines) == len(names)
        assert all(any(line.startswith(name) for line in lines) for name in names)
        muddy = {one["other"]["name"] for one in laid if one["muddy"]}
        assert {line.split("  ")[0] for line in lines if line.endswith("muddy")} == muddy
