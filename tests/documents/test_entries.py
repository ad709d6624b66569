import csv
from collections.abc import Callable
from dataclasses import replace
from io import StringIO

import numpy as np
import pytest

from laydown.documents.print import entries as headings
from laydown.documents.print.charts import chart_csv
from laydown.documents.print.entries import entries, number, shade, span, stroke_areas
from laydown.match.outcome import Candidate, Match, Origin, Verdict
from laydown.media.recipe import Colorant, Medium, Paper, Recipe, Step
from laydown.plan.chart import Chart

Mixed = Callable[[int], Chart]
Many = Callable[..., Chart]
One = Callable[..., Match]


def test_ranges_have_no_more_digits_than_they_bear() -> None:
    """A wide range is in whole units; a narrow one has a digit; one without width is a number."""
    assert span(1.2, 3.9) == "1 to 4"
    assert span(0.31, 0.94) == "0.3 to 0.9"
    assert span(2.0, 2.0) == "2.0"


def test_minus_is_a_minus_and_zero_has_none() -> None:
    """Negative numbers carry U+2212; what rounds to zero carries no sign."""
    assert number(-3.2, 1) == "−3.2"
    assert number(-0.04, 1) == "0.0"
    assert number(-0.4, 0) == "0"


def test_an_unsure_color_has_fewer_digits() -> None:
    """Lab has a digit after the point only where its spread is under half a unit."""
    lab = np.array([50.04, 10.0, -20.0])
    assert shade(lab, covariance=np.eye(3) * 0.01).numbers.endswith("Lab 50.0, 10.0, −20.0")
    assert shade(lab, covariance=np.eye(3)).numbers.endswith("Lab 50, 10, −20")
    assert shade(lab, rough=True).numbers.endswith("Lab 50, 10, −20")


def test_a_prediction_always_carries_its_margin(mixed: Mixed) -> None:
    """Each predicted value and each stated difference has a ± of a tenth or more."""
    for row in entries(mixed(6)):
        for text in (row.predicted.numbers, row.sure):
            assert float(text.split("±\u00a0")[1].split(",")[0].split(";")[0]) >= 0.1


def test_what_all_rows_share_is_said_once(mixed: Mixed) -> None:
    """A note on every match stands at the head and in no row; others stay in their row."""
    chart = mixed(6)
    shared = "Assumed, since no swatch tells it yet: lift."
    assert shared in headings.whole_notes(chart)
    rows = entries(chart)
    assert not any(shared in row.notes for row in rows)
    assert any("Out of reach" in note for row in rows for note in row.notes)


def test_a_color_no_screen_shows_is_said_to_be_so(make_chart: Many, make_match: One) -> None:
    """Where a patch is only the nearest, the row says which."""
    beyond = entries(make_chart(make_match(wanted=(60.0, -90.0, 60.0))))[0]
    assert not beyond.wanted.inside
    assert beyond.notes[0].startswith("The wanted color is beyond what screens")
    assert entries(make_chart(make_match()))[0].notes == ()


def test_strokes_have_their_color_alone_and_under_each_later_one(mixed: Mixed) -> None:
    """The first step's last overlap is the whole pile; without the colors nothing is filled."""
    chart = mixed(6)
    deep = max(range(6), key=lambda i: len(chart.matches[i].best.prediction.recipe.steps))
    filled = entries(chart)[deep]
    assert [len(fills) for _, fills in filled.layers] == [3, 2, 1]
    assert filled.layers[0][1][-1] == filled.predicted.fill
    bare = entries(replace(chart, layers=()))[deep]
    assert [fills for _, fills in bare.layers] == [(), (), ()]


def test_a_stroke_shows_itself_where_no_other_lies() -> None:
    """Of three strokes each is alone at a corner, and the whole pile lies where all overlap."""
    fills = (("a", "ab", "abc"), ("b", "bc"), ("c",))
    layers = [("", colors) for colors in fills]
    areas = list(stroke_areas(layers))

    def top(x: float, y: float) -> str:
        lying = (f for (a, b, w, h), f in areas if a <= x <= a + w and b <= y <= b + h)
        return [*lying][-1]

    side, offset = 1 - 2 / 4.5, 1 / 4.5
    assert top(0.01, 0.01) == "a"
    assert top(side + 0.01, offset + 0.01) == "b"
    assert top(0.99, 0.99) == "c"
    assert top(side - 0.01, side - 0.01) == "abc"
    assert top(offset + 0.01, offset + 0.01) == "ab"
    assert top(side + 0.01, side + 0.01) == "bc"


def test_what_is_the_same_needs_no_words(mixed: Mixed) -> None:
    """A row says what stays off only where its verdict is not “same” and there is a difference."""
    for row in entries(mixed(6)):
        off = row.verdict is not Verdict.SAME and row.off != "No difference worth naming."
        assert bool(row.in_short) == off


@pytest.mark.parametrize(
    ("off", "said"),
    [
        ("a touch too dark", "Will be a touch too dark."),
        ("a quarter of a value step too dark, redder", "Will be a little too dark, redder."),
        ("three quarters of a value step too light", "Will be too light."),
        ("one value step too light, much duller", "Will be much too light, much duller."),
        ("a step and three quarters of value too dark", "Will be much too dark."),
        ("3 value steps too dark, bluer", "Will be much too dark, bluer."),
    ],
)
def test_what_stays_off_is_said_without_steps_of_value(
    make_chart: Many, make_match: One, off: str, said: str
) -> None:
    """Whoever colors reads “will be too dark”; how many steps of value that is lies behind."""
    match = make_match()
    far = replace(match.best.difference, words=off)
    best = replace(match.best, verdict=Verdict.BUT_VALUE, difference=far)
    (row,) = entries(make_chart(replace(match, best=best)))
    assert row.in_short == said
    assert row.off == f"{off[0].upper()}{off[1:]}."


def test_a_name_that_is_a_typed_recipe_is_said_in_words(make_chart: Many, make_match: One) -> None:
    """What was typed as `Oilskin; Marram*2` is no riddle on paper."""
    (row,) = entries(make_chart(make_match("Oilskin; Marram*2")))
    assert row.name == "Oilskin with Marram twice"


def test_further_recipes_are_not_the_ones_shown_already(make_chart: Many, make_match: One) -> None:
    """The best and the single recipe aren't repeated among the alternatives."""
    assert entries(make_chart(make_match()))[0].others == ()


def test_a_glowing_paper_is_spoken_of(make_chart: Many, make_match: One) -> None:
    """A paper that reflects more than falls on it is named at the head, a plain one is not."""
    glow = np.full(36, 0.9)
    glow[5] = 1.08
    chart = make_chart(make_match(), paper=Paper("Tern bright", glow))
    assert any("Tern bright glows" in note for note in headings.whole_notes(chart))
    assert headings.whole_notes(make_chart(make_match())) == ()


def test_a_paper_that_was_not_measured_is_said_to_be_assumed(
    make_chart: Many, make_match: One
) -> None:
    """Once, whether or not the matches say it too."""
    paper = Paper("Gannet smooth", np.full(36, 0.9), measured=False)
    told = "The paper itself was not measured: a usual white is assumed."
    for notes in ((), (told,)):
        chart = make_chart(make_match(notes=notes), make_match(notes=notes), paper=paper)
        assert headings.whole_notes(chart).count(told) == 1


def test_a_page_says_of_drying_only_what_its_recipes_ask_for(
    mixed: Mixed, make_chart: Many, make_match: One, make_candidate: Callable[..., Candidate]
) -> None:
    """Markers dry each time, “while wet” is named where a recipe has it, and pencils don't dry."""
    pencil = Recipe((Step(Colorant("Reed", "Pond", Medium.PENCIL)),))
    drawn = make_match(best=make_candidate(pencil, (80.0, 0, 20), wanted=(80.0, 0, 20)))
    told = [headings.reading(chart) for chart in (mixed(6), make_chart(make_match()))]
    assert ["dry" in said for said in told] == [True, True]
    assert ["while wet" in said for said in told] == [True, False]
    assert "dry" not in headings.reading(make_chart(drawn))


def test_a_page_counts_what_to_take_out_by_what_it_is(
    make_chart: Many, make_match: One, make_candidate: Callable[..., Candidate]
) -> None:
    """Markers, pencils and pans are called so, each with how many there are."""
    pencil = Recipe((Step(Colorant("Reed", "Pond", Medium.PENCIL)),))
    drawn = make_match(best=make_candidate(pencil, (80.0, 0, 20), wanted=(80.0, 0, 20)))
    both = headings.to_take_out(make_chart(make_match(), drawn))
    assert both == ("Take out 1 marker and 1 pencil:", "Marrow, Reed.")
    assert headings.to_take_out(make_chart()) == ("", "")


def test_counts_add_up(mixed: Mixed) -> None:
    """The head counts rows by verdict, and tolerances that are known say how far they reach."""
    chart = mixed(6)
    assert headings.counts(entries(chart)).startswith("6 colors: 2 same, 1 off mostly in value")
    assert "ΔE 2.25" in headings.tolerance(chart)
    assert headings.tolerance(replace(chart, tolerance="mine")) == "Tolerance “mine”."


def test_screen_colors_are_given_without_digits(make_chart: Many, make_match: One) -> None:
    """A target taken from a screen has whole numbers."""
    row = entries(make_chart(make_match(origin=Origin.SCREEN)))[0]
    assert row.wanted.numbers.endswith("Lab 86, −4, 60")


def test_passages_group_what_follows(mixed: Mixed) -> None:
    """Rows of a passage stand together; those without come under other colors, or none at all."""
    groups = headings.passages(entries(mixed(6)))
    assert [(name, len(rows)) for name, rows in groups] == [("Lemons", 2), ("Bowl", 2), ("", 2)]
    assert headings.passage_title("", alone=False) == "Other colors"
    assert headings.passage_title("", alone=True) == ""


def test_an_unsure_target_makes_the_answer_unsure(make_chart: Many, make_match: One) -> None:
    """What is not known of the wanted color widens what is said of the match, on every output."""
    sure = make_match()
    wide = np.eye(3) * 36.0
    best = replace(sure.best, covariance=sure.best.covariance + wide)
    unsure = replace(sure, target=replace(sure.target, covariance=wide), best=best)
    margins = [
        float(row.sure.split("±\u00a0")[1].split(";")[0])
        for row in entries(make_chart(sure, unsure))
    ]
    assert margins[1] > 3 * margins[0]
    low_high = [
        float(row["delta_e_high"]) - float(row["delta_e_low"])
        for row in csv.DictReader(StringIO(chart_csv(make_chart(sure, unsure)), newline=""))
    ]
    assert low_high[1] > 2 * low_high[0]
