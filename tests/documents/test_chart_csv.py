import csv
from collections.abc import Callable
from dataclasses import replace
from io import StringIO

import pytest

from laydown.documents.print.charts import COLUMNS, chart_csv
from laydown.match.outcome import Match
from laydown.media.recipe import Colorant, parse_recipe
from laydown.plan.chart import Chart

Mixed = Callable[[int], Chart]


def read(text: str) -> list[dict[str, str]]:
    """Read as a spreadsheet would."""
    return list(csv.DictReader(StringIO(text, newline="")))


def test_each_match_is_a_line_under_the_same_columns(mixed: Mixed) -> None:
    """There are as many lines as matches, in their order, and no cell too many or too few."""
    chart = mixed(6)
    rows = read(chart_csv(chart))
    assert [row["name"] for row in rows] == [m.target.name for m in chart.matches]
    assert all(tuple(row) == COLUMNS and None not in row.values() for row in rows)


def test_numbers_are_those_of_the_match(mixed: Mixed) -> None:
    """Colors, differences and chances agree with the match to half their last digit."""
    chart = mixed(6)
    for row, match in zip(read(chart_csv(chart)), chart.matches, strict=True):
        seen = match.best.prediction.lab
        told = [float(row[f"predicted_{axis}"]) for axis in "Lab"]
        assert told == pytest.approx(seen, abs=0.0501)
        assert float(row["delta_e"]) == pytest.approx(match.best.difference.delta_e, abs=0.0501)
        assert float(row["acceptance"]) == pytest.approx(match.best.acceptance, abs=0.00501)
        assert float(row["delta_e_low"]) <= float(row["delta_e_high"])


def test_no_number_is_minus_nothing(mixed: Mixed) -> None:
    """A hue off by less than half a degree reads 0, to whichever side it lies."""
    chart = mixed(1)
    match = chart.matches[0]
    slightly = replace(match.best.difference, hue=-0.3)
    slight = replace(match, best=replace(match.best, difference=slightly))
    assert read(chart_csv(replace(chart, matches=(slight,))))[0]["hue_off"] == "0"


def test_recipes_can_be_typed_back(mixed: Mixed) -> None:
    """A recipe in the table is in the form that the command line reads."""
    chart = mixed(6)
    blender = {c.name: c for m in chart.matches for c in m.best.prediction.recipe.colorants}
    for row, match in zip(read(chart_csv(chart)), chart.matches, strict=True):
        assert parse_recipe(row["recipe"], blender.__getitem__) == match.best.prediction.recipe


def test_recipes_name_their_ranges_where_there_are_two(
    make_chart: Callable[..., Chart],
    make_match: Callable[..., Match],
    make_candidate: Callable[..., object],
) -> None:
    """A name alone would not do where the kit has colorants of two ranges."""
    other = parse_recipe("Kelp", lambda name: Colorant(name, "Estuary"))
    wanted = (60.0, 0.0, 20.0)
    second = make_match(wanted=wanted, best=make_candidate(other, wanted, wanted=wanted))
    rows = read(chart_csv(make_chart(make_match(), second)))
    assert [row["recipe"] for row in rows] == ["Orchard/Marrow*2", "Estuary/Kelp"]


def test_notes_of_the_chart_stand_on_every_line(mixed: Mixed) -> None:
    """A line cut out of the table still says that its data is invented."""
    assert all("invented" in row["notes"] for row in read(chart_csv(mixed(6))))


@pytest.mark.parametrize("name", ["=1+1", "+cmd", "@sum", "-x", "\tx"])
def test_no_name_runs_as_a_formula(
    make_chart: Callable[..., Chart], make_match: Callable[..., Match], name: str
) -> None:
    """Text that a spreadsheet would work out gets an apostrophe before it; numbers don't."""
    row = read(chart_csv(make_chart(make_match(name))))[0]
    assert row["name"] == "'" + name
    assert float(row["wanted_a"]) == -4.0


def test_commas_quotes_and_line_ends_in_names_survive(
    make_chart: Callable[..., Chart], make_match: Callable[..., Match]
) -> None:
    """A name comes back as it was, whatever is in it."""
    name = 'Rind, "lit"\nside 砂'
    assert read(chart_csv(make_chart(make_match(name))))[0]["name"] == name


def test_a_chart_without_rows_has_its_columns(mixed: Mixed) -> None:
    """No targets make one line with the names of the columns, ended as RFC 4180 says."""
    assert chart_csv(mixed(0)) == ",".join(COLUMNS) + "\r\n"
