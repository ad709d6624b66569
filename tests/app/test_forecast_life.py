import re
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest

from laydown.app.fits import Supplies
from laydown.app.library import Library, open_named
from laydown.app.light.life import ForecastLife, LifeForecast, forecast_life
from laydown.app.light.lightfastness import (
    AddWindowTest,
    add_window_test,
    export_lightfastness,
    import_lightfastness,
    known_lightfastness,
    list_lightfastness,
    rate_lightfastness,
)
from laydown.app.matches.colors import Asking
from laydown.app.reports import write_report
from laydown.errors import (
    BadRecipeError,
    LightfastnessError,
    NotMeasuredError,
    UnknownNameError,
)
from laydown.media.light.exposure import Exposure, Span
from laydown.media.recipe import Colorant, Recipe, Step

WALL = Exposure(Span(150.0, 150.0), hours=8.0, filtered=True)
ASKING = Asking(Supplies(ranges=("Shoal",)), steps=2, coats=2)


def rate(library: Library, **grades: str) -> None:
    """State classes of colorants of the range Shoal."""
    for name, grade in grades.items():
        rate_lightfastness(library, grade, (f"Shoal/{name}",))


def forecast(library: Library, exposure: Exposure = WALL, **more: object) -> LifeForecast:
    """Forecast recipes as laid."""
    return forecast_life(library, ForecastLife(exposure, asking=ASKING, swaps=0, **more))


def test_without_any_class_there_is_no_forecast(library: Library) -> None:
    """No range, no years; the colorant is named, and it is said what to do."""
    found = forecast(library, laid=("Kelp",))
    (part,) = found.parts
    assert (part.noticeable, part.clear, part.life.noticeable) == (None, None, None)
    assert "Kelp" in part.noticeable_said
    assert found.unrated == ("Shoal/Kelp",)
    assert any("hang a plain coat" in note for note in found.notes)


@pytest.mark.parametrize("grade", ["IV", "V"])
def test_a_class_without_a_table_is_no_forecast_either(library: Library, grade: str) -> None:
    """What is known from memory only isn't told."""
    rate(library, Kelp=grade)
    (part,) = forecast(library, laid=("Kelp",)).parts
    assert part.noticeable is None


def test_years_are_the_dose_over_the_light_of_a_year(library: Library) -> None:
    """Wool 2, 0.3 to 3 Mlx·h, in 0.438 Mlx·h a year is 0.7 to 7 years, told in months and years."""
    rate(library, Kelp="2")
    found = forecast(library, laid=("Kelp",))
    (part,) = found.parts
    assert part.noticeable.low == pytest.approx(0.3 / 0.438, rel=0.03)
    assert part.noticeable.high == pytest.approx(3.0 / 0.438, rel=0.03)
    assert part.noticeable_said == "about 8 months to 7 years"
    assert part.clear.low > part.noticeable.low


def test_twice_the_light_is_half_the_time(library: Library) -> None:
    """Lux and hours count alike."""
    rate(library, Kelp="2")
    once = forecast(library, laid=("Kelp",)).parts[0].noticeable
    for exposure in (
        Exposure(Span(300.0, 300.0), 8.0, filtered=True),
        Exposure(Span(150.0, 150.0), 16.0, filtered=True),
    ):
        twice = forecast(library, exposure, laid=("Kelp",)).parts[0].noticeable
        assert twice.low == pytest.approx(once.low / 2)
        assert twice.high == pytest.approx(once.high / 2)


def test_the_weakest_part_stands_first_and_the_unknown_last(library: Library) -> None:
    """Parts are ordered by what goes first, whatever the order they were named in."""
    rate(library, Kelp="4", Dune="1")
    found = forecast(library, laid=("Cliff/Gull", "Kelp", "Dune"))
    assert [part.name for part in found.parts] == ["Dune", "Kelp", "Cliff/Gull"]
    assert found.parts[0].first == "Shoal/Dune"
    assert found.parts[0].because == "blue wool 1"


def test_what_was_laid_says_which_ranges_count(library: Library) -> None:
    """Without a kit or a range the ranges of the recipe are taken."""
    rate(library, Kelp="3")
    found = forecast_life(library, ForecastLife(WALL, laid=("Kelp",), swaps=0))
    assert found.kit == "Shoal"


def test_with_ultraviolet_a_lasting_class_begins_where_wool_3_does(library: Library) -> None:
    """How much sooner isn't known here, which is said; the order of what goes first stays."""
    rate(library, Kelp="5", Dune="1")
    found = forecast(library, Exposure(Span(800.0, 800.0)), laid=("Kelp", "Dune"))
    assert [part.name for part in found.parts] == ["Dune", "Kelp"]
    assert found.parts[1].life.noticeable.low == pytest.approx(0.5, rel=0.03)
    assert found.parts[1].life.noticeable.high == pytest.approx(100.0, rel=0.03)
    assert any("isn't known here" in note for note in found.notes)


def test_what_is_not_known_of_ultraviolet_is_said_in_words(library: Library) -> None:
    """A lasting color tested behind a filter has no known beginning without one."""
    moved = AddWindowTest(Span(40.0, 40.0), True, "Kelp", "lab:50,0,0", "lab:52,0,0")
    add_window_test(library, moved)
    (part,) = forecast(library, Exposure(Span(800.0, 800.0)), laid=("Kelp",)).parts
    assert part.noticeable.low == 0.0
    assert "how much isn't known here" in part.noticeable_said


def test_a_swap_is_found_only_where_it_lasts_and_comes_near(library: Library) -> None:
    """A wanted gray made of a weak colorant is made of a lasting one; without one it is said so."""
    rate(library, Kelp="1", Dune="6")
    request = ForecastLife(WALL, laid=("Kelp",), asking=ASKING)
    (swap,) = forecast_life(library, request).swaps
    assert swap.instead_of == "Shoal/Kelp"
    assert swap.recipe is None or [c.name for c in swap.recipe.colorants] == ["Dune"]
    rate(library, Dune="1")
    (none,) = forecast_life(library, request).swaps
    assert (none.recipe, none.words) == (None, "Nothing in your box is known to last longer.")


def test_a_lasting_twin_takes_the_place_of_a_weak_colorant(library: Library) -> None:
    """Where the kit holds the same color in a lasting colorant, that is the swap."""
    with library.look() as work:
        kelp = [s.swatch for s in work.swatches(colorant=work.find_colorant("Kelp"))]
    twin = Colorant("Wrack", "Shoal")
    with library.work("twin") as work:
        work.add_swatches(
            [replace(s, recipe=Recipe((Step(twin, s.recipe.steps[0].laydown),))) for s in kelp]
        )
    rate(library, Kelp="1", Wrack="5", Dune="1")
    (swap,) = forecast_life(library, ForecastLife(WALL, laid=("Kelp",), asking=ASKING)).swaps
    assert [c.name for c in swap.recipe.colorants] == ["Wrack"]
    assert swap.off < 0.5
    assert swap.noticeable.low > 1.0


def test_colors_are_matched_before_they_are_forecast(library: Library) -> None:
    """A list of wanted colors gives a part each, with passage and role."""
    rate(library, Kelp="2", Dune="3")
    listed = b"passage,role,color\nweeds,shadow,Kelp\n,,Dune\n"
    found = forecast(library, file=listed, source="my_weeds.csv")
    assert {(p.passage, p.role, p.name) for p in found.parts} == {
        ("weeds", "shadow", "Kelp"),
        ("", "", "Dune"),
    }
    assert found.title == "My weeds"


def test_nothing_named_is_told_as_such(library: Library) -> None:
    """Without colors, a file or recipes there is nothing to forecast."""
    with pytest.raises(BadRecipeError, match="Nothing was named"):
        forecast(library)


def test_a_window_test_counts_once_it_shows_a_change(library: Library) -> None:
    """Before that the class tells more; after it the test does."""
    rate(library, Kelp="2")
    before = "lab:50,0,0"
    still = AddWindowTest(Span(0.01, 0.01), True, "Kelp", before, "lab:50.1,0,0")
    add_window_test(library, still)
    with library.look() as work:
        assert known_lightfastness(work)["Shoal/Kelp"].fading.words == "blue wool 2"
    add_window_test(library, AddWindowTest(Span(1.0, 1.0), True, "Kelp", before, "lab:54,0,0"))
    with library.look() as work:
        fading = known_lightfastness(work)["Shoal/Kelp"].fading
    assert fading.words == "window test, 2 readings"
    assert fading.noticeable.high < 1.0


def test_before_is_the_first_reading_or_the_swatch(library: Library) -> None:
    """Without a color before, the earlier reading's holds, else the one-coat swatch's."""
    add_window_test(library, AddWindowTest(Span(1.0, 1.0), colorant="Kelp", after="lab:70,0,0"))
    add_window_test(
        library, AddWindowTest(Span(2.0, 2.0), False, "Dune", "lab:80,0,0", "lab:81,0,0")
    )
    done = add_window_test(
        library, AddWindowTest(Span(4.0, 4.0), colorant="Dune", after="lab:83,0,0")
    )
    with library.look() as work:
        kelp, *_ = work.lightfastness.tests()
    assert kelp.reading.before[0] == pytest.approx(63.0, abs=3.0)
    assert done[0][0].reading.before.tolist() == pytest.approx([80.0, 0.0, 0.0], abs=0.01)


def test_a_file_of_swatches_measured_after_is_compared_with_those_before(library: Library) -> None:
    """Plain coats count, two coats and bare paper don't."""
    after = (
        "range,medium,color,paper,coats,L,a,b\n"
        "Shoal,marker,Kelp,Gannet smooth,1,70,0,0\n"
        "Shoal,marker,Kelp,Gannet smooth,2,60,0,0\n"
        "Shoal,marker,,Gannet smooth,,95,0,0\n"
    )
    request = AddWindowTest(Span(1.0, 2.0), file=after.encode(), source="after.csv")
    done = add_window_test(library, request)
    assert [t.colorant.name for t in done[0]] == ["Kelp"]
    assert add_window_test(library, request)[1] == 1


def test_a_window_test_without_a_plain_coat_is_refused(library: Library) -> None:
    """Only two coats were measured, so nothing can be compared."""
    after = "range,medium,color,paper,coats,L,a,b\nShoal,marker,Kelp,Gannet smooth,2,60,0,0\n"
    with pytest.raises(LightfastnessError, match="plain coat"):
        add_window_test(library, AddWindowTest(Span(1.0, 2.0), file=after.encode(), source="a"))


def test_what_is_exported_comes_in_again(library: Library, tmp_path: Path) -> None:
    """Another library with the same colorants knows the same afterwards, and once only."""
    rate(library, Kelp="2", Dune="II")
    add_window_test(library, AddWindowTest(Span(0.5, 2.0), colorant="Kelp", after="lab:70,0,0"))
    text = export_lightfastness(library)
    other = open_named(str(tmp_path / "other.db"))
    with library.look() as work, other.work("fill") as filled:
        filled.add_swatches([s.swatch for s in work.swatches()])
    done = import_lightfastness(other, text.encode(), "x.csv")
    assert (done[1], done[3]) == (2, 1)
    assert export_lightfastness(other) == text
    again = import_lightfastness(other, text.encode(), "x.csv")
    assert (again[1], again[3]) == (0, 0)
    other.close()


def test_an_import_with_an_unknown_colorant_changes_nothing(library: Library) -> None:
    """The line is named, and the lines before it aren't kept."""
    text = b"range,color,class\nShoal,Kelp,3\nShoal,Gorse,3\n"
    with pytest.raises(UnknownNameError, match="line 3"):
        import_lightfastness(library, text, "mine.csv")
    with pytest.raises(NotMeasuredError):
        export_lightfastness(library)


def test_the_list_names_whom_nothing_is_known_of(library: Library) -> None:
    """Of a range asked for, the unrated are listed, too."""
    rate(library, Kelp="2")
    found = list_lightfastness(library, range="Shoal")
    assert [(o.colorant.name, o.anything) for o in found] == [("Dune", False), ("Kelp", True)]


@pytest.mark.parametrize("form", ["pdf", "html", "csv", "json"])
def test_a_forecast_is_written_in_each_form(library: Library, form: str) -> None:
    """The same forecast gives the same bytes, and open ends are no numbers in JSON."""
    rate(library, Kelp="8")
    found = forecast(library, laid=("Kelp", "Dune"))
    content = write_report(found, form)
    assert content == write_report(found, form)
    if form == "json":
        assert b'"high": null' in content
    if form == "html":
        assert b"never a promised lifetime" in content


def test_a_forecast_is_one_picture_and_three_sentences_with_the_rest_behind(
    library: Library,
) -> None:
    """The first page says what goes first, how much does within a year and what to do, and draws
    it; how near a swap comes is said in plain words there, and in numbers behind.
    """
    rate(library, Kelp="1", Dune="6")
    request = ForecastLife(WALL, laid=("Kelp", "Dune"), asking=ASKING)
    found = forecast_life(library, request)
    first, *behind = (
        page.get_textpage().get_text_range()
        for page in pypdfium2.PdfDocument(write_report(found, "pdf"))
    )
    assert "First goes Kelp" in first
    assert "Within a year 1 of 2 may change that much." in " ".join(first.split())
    assert "It can't hang like this for 10 years unchanged: hang a copy." in " ".join(first.split())
    assert "1. Kelp" in first
    assert "2. Dune" in first
    assert "Nothing in your box that lasts longer comes close enough." in first
    assert not re.search(r"ΔE|CIEDE2000|lux-hours a year|value \d", first)
    assert "The nearest is off by ΔE" in " ".join(behind)
    assert "a year." in " ".join(behind)


def test_advice_on_showing_keeps_to_the_years_wanted(library: Library) -> None:
    """Wool 2's 0.3 Mlx·h over 10 years are 30,000 lux-hours a year, 50 lux for 1.6 hours a day."""
    rate(library, Kelp="2")
    advice = forecast(library, laid=("Kelp",)).showing[0]
    assert "30,000 lux-hours" in advice
    assert "50 lux for about 1.6 hours a day" in advice
