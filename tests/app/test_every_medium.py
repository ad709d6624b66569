"""Every report of every medium, with all that a recipe may hold: mixtures, blenders, treatments."""

import ctypes
import html
import json
import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import closing
from functools import cache
from pathlib import Path
from types import MappingProxyType

import pypdfium2
import pytest
from pypdfium2 import raw

from laydown.app.buying import ChooseKit, choose_kit
from laydown.app.encoding import to_json
from laydown.app.fits import Supplies, set_up
from laydown.app.lessons.lessons import LessonAsked, convert_lesson, new_lesson, write_lesson
from laydown.app.lessons.packs import pack_lesson, write_pack
from laydown.app.library import Library, open_named
from laydown.app.light.checking import CheckLight, check_light
from laydown.app.light.life import ForecastLife, forecast_life
from laydown.app.light.lightfastness import rate_lightfastness
from laydown.app.matches.colors import FORMS, Asking, MakeChart, make_chart, write_chart
from laydown.app.notebook.asking import (
    SuggestTrials,
    explain_trial,
    sheet_of,
    suggest_trials,
)
from laydown.app.notebook.trials import AddTrial, add_trial, print_trials
from laydown.app.pictures.painting import FORMS as PLAN_FORMS
from laydown.app.pictures.painting import PaintPlan, kit_picture, print_plan
from laydown.app.pictures.plans import PictureFile, planned, write_plan
from laydown.app.reports import Result, report_of, write_report
from laydown.app.runs import CompareRanges, ListRuns, compare_ranges, list_partners, list_runs
from laydown.app.sheets.printing import PrintSheet, draw_sheet, print_sheet
from laydown.app.supplies.kits import lay_out_box
from laydown.app.swatches import ImportSwatches, import_swatches
from laydown.app.tasks import GivenFile
from laydown.color.screen import screen_color
from laydown.demo.lemons import draw_lemons, lemons_png
from laydown.media.light.exposure import Exposure, Span
from laydown.media.recipe import format_recipe
from laydown.media.recipe_words import name_words
from laydown.plan.chart import Chart
from laydown.plan.picture.picture import PicturePlan, PlanRules

PAPER = "Gannet smooth"
SWATCHES = f"""\
range,medium,color,paper,blender,over,L,a,b
Cove,marker,,{PAPER},,,95,0.5,-2
Cove,marker,Kelp,{PAPER},,,52,-22,24
Cove,marker,Dune,{PAPER},,,82,3,22
Cove,marker,Rinse,{PAPER},yes,Kelp,56,-21,22
Meadow,pencil,Fern,{PAPER},,,62,-22,24
Meadow,pencil,Root,{PAPER},,,42,4,12
Pond,wash,Reed,{PAPER},,,78,-4,40
Pond,wash,Silt,{PAPER},,,45,3,10
Pond,wash,Lily,{PAPER},,,70,30,5
"""
"""Invented markers with a blender, pencils and washes on one paper."""
RANGES = MappingProxyType(
    {
        "markers": ("Cove",),
        "pencils": ("Meadow",),
        "washes": ("Pond",),
        "markers and pencils": ("Cove", "Meadow"),
    }
)
LAID = MappingProxyType(
    {
        "markers": "Dune; Rinse (wet)",
        "pencils": "Fern (light); solvent by swab; burnish by stump",
        "washes": "mix 1 Reed + 2 Silt (dilution 0.75)",
        "markers and pencils": "Dune; Rinse; Fern (light); solvent by brush; burnish by stump",
    }
)
"""What lies on the paper already, so that every recipe holds what is unusual in its medium."""
WANTED = MappingProxyType(
    {
        "markers": ("Kelp; Dune", "Dune"),
        "pencils": ("Root", "Fern (heavy)"),
        "washes": ("mix 3 Reed + 1 Silt", "Lily"),
        "markers and pencils": ("Dune; Fern", "Root (heavy); solvent by swab"),
    }
)
UNUSUAL = MappingProxyType(
    {
        "markers": "Rinse",
        "pencils": "burnish",
        "washes": "mix 1 Reed + 2 Silt",
        "markers and pencils": "burnish",
    }
)
"""What every report of such a recipe has in it."""
IN_WORDS = MappingProxyType({**UNUSUAL, "washes": "1 part Reed and 2 parts Silt"})
"""The same where a recipe is said for whoever is to lay it."""


every_medium = pytest.mark.parametrize("media", RANGES)


@pytest.fixture(scope="module")
def laid(tmp_path_factory: pytest.TempPathFactory, lay_library: Callable[[Path], Path]) -> Path:
    """Lay a library of all media, whose lightfastness is known, with their fits, to copy."""
    path = lay_library(tmp_path_factory.mktemp("laid") / "library.db")
    with closing(open_named(str(path))) as library:
        import_swatches(library, ImportSwatches((GivenFile(SWATCHES.encode(), "swatches.csv"),)))
        rate_lightfastness(library, "3", ranges=("Cove", "Meadow", "Pond"))
        for media in RANGES:
            set_up(library, _asking(media).supplies)
    return path


@pytest.fixture(scope="module")
def studio(laid: Path) -> Iterator[Library]:
    """Give a library of all media that no test here changes."""
    with closing(open_named(str(laid))) as library:
        yield library


@pytest.fixture
def notebook(laid: Path, tmp_path: Path) -> Iterator[Library]:
    """Give the same to write in."""
    with closing(open_named(str(shutil.copyfile(laid, tmp_path / "library.db")))) as library:
        yield library


def _asking(media: str) -> Asking:
    supplies = Supplies(ranges=RANGES[media], paper=PAPER, over=LAID[media])
    return Asking(supplies, steps=1, coats=1, top=1)


def _lesson(library: Library, media: str) -> bytes:
    rows = ["color,passage,role", *(f"{color},jar,midtone" for color in WANTED[media])]
    made = new_lesson(library, "\n".join(rows).encode(), f"{media}.csv")
    return write_lesson(made)


@cache
def _plan() -> PicturePlan:
    picture = lemons_png(draw_lemons(rows=60, columns=90))
    return planned(None, PictureFile(picture, "lemons.png", rules=PlanRules(2, colors=2)))


def _described(pdf: bytes) -> None:
    """Hold a PDF to a title that is shown, a language, and marks to find its parts by."""
    document, language = pypdfium2.PdfDocument(pdf), (ctypes.c_ushort * 8)()
    assert document.get_metadata_dict()["Title"]
    assert b"/DisplayDocTitle true" in pdf
    raw.FPDFCatalog_GetLanguage(document, language, 16)
    assert bytes(language).decode("utf-16-le").strip("\0") == "en"
    assert [mark for mark in document.get_toc() if mark.get_title()]


def _text(pdf: bytes) -> str:
    """Return what a PDF says."""
    _described(pdf)
    pages = [page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(pdf)]
    return " ".join(" ".join(pages).split())


def _charted(chart: Chart, media: str) -> None:
    """Write a chart in every form, and find what lies on the paper in each that can be read."""
    written = {form: write_chart(chart, form) for form in FORMS}
    assert IN_WORDS[media] in _text(written["pdf"])
    assert "mix " not in _text(written["pdf"])
    assert "Behind this chart" in _text(write_chart(chart, details=True))
    assert UNUSUAL[media] in written["csv"].decode()
    assert IN_WORDS[media] in html.unescape(written["html"].decode())
    assert len(json.loads(written["json"])["matches"]) == len(chart.matches)


def _reported(found: Result) -> str:
    """Write a report in every form, and return it as a table."""
    written = {form: write_report(found, form) for form in FORMS}
    _described(written["pdf"])
    assert "<html" in written["html"].decode()
    assert json.loads(written["json"])
    return written["csv"].decode()


@every_medium
def test_a_chart_is_written(studio: Library, media: str) -> None:
    """A chart goes into every form, whatever its recipes hold."""
    _charted(make_chart(studio, MakeChart(colors=WANTED[media], asking=_asking(media))), media)


@every_medium
def test_a_lesson_is_converted(studio: Library, media: str) -> None:
    """In each answer every color is laid once over what lies there, and charted in every form."""
    request = LessonAsked(_lesson(studio, media), "jar.txt", _asking(media), turns=1)
    made = convert_lesson(studio, request)
    for chart in (made.singly, made.together, *made.turned_charts):
        _charted(chart, media)
        for match in chart.matches:
            laid = format_recipe(match.best.prediction.recipe)
            assert laid.startswith(LAID[media])
            assert ";" not in laid.removeprefix(LAID[media]).removeprefix("; ")
    assert json.loads(to_json(made))["names"]


@every_medium
def test_a_class_pack_is_made(studio: Library, media: str) -> None:
    """The pack lists supplies and recipes, on paper and as a page."""
    packed = pack_lesson(studio, LessonAsked(_lesson(studio, media), "jar.txt", _asking(media)))
    _described(write_pack(packed, "pdf"))
    page = html.unescape(write_pack(packed, "html").decode())
    assert IN_WORDS[media] in page
    assert "value step" not in page
    assert "no difference worth naming" not in page


def test_each_copy_of_a_pack_is_of_one_range(studio: Library) -> None:
    """Who owns one range reads of no other, and no recipe stands as it is typed."""
    lesson = b'color,passage\n"lab:50,-20,20",jar\n"lab:80,0,20",jar\n'
    text = write_lesson(new_lesson(studio, lesson, "jar.csv"))
    supplies = Supplies(ranges=("Cove", "Meadow"), paper=PAPER)
    packed = pack_lesson(studio, LessonAsked(text, "jar.txt", Asking(supplies, steps=2, coats=2)))
    printed = pypdfium2.PdfDocument(write_pack(packed, "pdf"))
    pages = [page.get_textpage().get_text_range() for page in printed]
    second = next(n for n, page in enumerate(pages) if "Supplies from Meadow" in page)
    first_copy, second_copy = " ".join(pages[:second]), " ".join(pages[second:])
    for copy, own, others in (
        (first_copy, ("Kelp", "Dune"), ("Fern", "Root")),
        (second_copy, ("Fern", "Root"), ("Kelp", "Dune")),
    ):
        assert any(name in copy for name in own)
        assert not any(name in copy for name in others)
        assert copy.count("wanted") == copy.count("you get") == 2
        assert "Value strip" in copy
        assert "Take care" in copy
        assert not re.search(r"\*\d", copy)


@every_medium
def test_a_plan_is_printed_with_recipes(
    studio: Library, media: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A picture's plan goes into every form with the recipes of its colors, found once for all."""
    plan = _plan()
    from_kit = kit_picture(studio, plan, _asking(media))
    monkeypatch.setattr("laydown.app.pictures.painting.kit_picture", lambda *_, **__: from_kit)
    picture = PictureFile(write_plan(plan), "lemons.plan")
    made = {
        form: print_plan(studio, PaintPlan(picture, _asking(media), form=form))[1]
        for form in PLAN_FORMS
    }
    assert IN_WORDS[media] in made["html"].decode()
    assert len(json.loads(made["json"])["plan"]["kits"][0]["matches"]) == 2
    _described(made["pdf"])
    assert made["svg"].startswith(b"<svg")


@every_medium
def test_a_kit_is_chosen(studio: Library, media: str) -> None:
    """The supply list says in plain words what is made of it and how close; numbers lie behind."""
    lessons = (GivenFile(_lesson(studio, media), "jar.txt"),)
    request = ChooseKit(lessons, RANGES[media], paper=PAPER, coats=1, seconds=5)
    found = choose_kit(studio, request)
    assert name_words(WANTED[media][0]).split(" with ")[0] in _reported(found)
    (group,) = found.groups
    report = report_of(found)
    assert report.lead[0].endswith("You make a color where it comes close enough for a class.")
    shelf, made, numbers = report.sections
    assert all(row.keys == ("wanted", "you get") for row in made.rows)
    assert not any(re.search("Off by|ΔE", row.text) for row in (*shelf.rows, *made.rows))
    assert len(numbers.rows) == len(made.rows) + 1
    for offer, row in zip(group.choice.chosen.bought, shelf.rows, strict=False):
        assert row.patches == tuple(screen_color(group.labs[place]) for place in offer.colorants)
        assert offer.name == f"{row.text.removesuffix(', 1 piece')}/{row.head}"


@every_medium
def test_runs_partners_and_ranges_are_reported(studio: Library, media: str) -> None:
    """Runs of the supplies, partners of a colorant, and what another range reaches are written."""
    supplies = Supplies(ranges=RANGES[media], paper=PAPER)
    ranges = CompareRanges(RANGES[media][-1], "Pond" if media != "washes" else "Cove", PAPER)
    runs = list_runs(studio, ListRuns(supplies, shop=("Cove",)))
    _reported(runs)
    told = {section.title: section.rows for section in report_of(runs).sections}
    numbers = [row.head for row in told.get("Numbers", ())]
    assert [row.head for row in told["Runs, from light to dark"]] == numbers
    assert not any(map(str.isdigit, "".join(r.text for r in told["Runs, from light to dark"])))
    one = WANTED[media][-1].split(" ")[0]
    found = list_partners(studio, one, supplies)
    _described(write_report(found, "pdf"))
    assert one in html.unescape(write_report(found, "html").decode())
    assert RANGES[media][-1] in _reported(compare_ranges(studio, ranges))


@every_medium
def test_a_box_is_laid_out_on_a_page(studio: Library, media: str) -> None:
    """Every colorant stands on one page by hue, from light to dark; blenders are named beside."""
    found = lay_out_box(studio, Supplies(ranges=RANGES[media], paper=PAPER))
    assert found.blenders == (("Rinse",) if "Cove" in RANGES[media] else ())
    _reported(found)
    report = report_of(found)
    shown = [name for row in report.sections[0].rows for name in row.keys]
    assert sorted(shown) == sorted(shade.name for shade in found.shades)
    values = {shade.name: shade.value for shade in found.shades}
    for row in report.sections[0].rows:
        along = [values[name] for name in row.keys]
        assert along == sorted(along, reverse=True)
        ends = sorted({f"{value:.0f}" for value in (along[0], along[-1])}, reverse=True)
        assert row.text == f"value {' to '.join(ends)}"
    printed = write_report(found, "pdf")
    assert len(pypdfium2.PdfDocument(printed)) == 1
    assert all(name in _text(printed) for name in (*shown, *found.blenders))


@every_medium
def test_matches_are_seen_under_other_lights(studio: Library, media: str) -> None:
    """The report on lights has each color with its recipe."""
    request = CheckLight(WANTED[media], lights=("evening lamp",), asking=_asking(media))
    assert UNUSUAL[media] in _reported(check_light(studio, request))


@every_medium
def test_a_life_on_a_wall_is_forecast(studio: Library, media: str) -> None:
    """What was laid and what is matched has a forecast each."""
    light = Exposure(Span(100.0, 200.0))
    laid = (LAID[media], *WANTED[media])
    request = ForecastLife(light, WANTED[media][:1], laid, asking=_asking(media))
    found = forecast_life(studio, request)
    assert all(part.noticeable for part in found.parts)
    assert IN_WORDS[media] in _reported(found)


@every_medium
def test_trials_are_noted_explained_and_printed(notebook: Library, media: str) -> None:
    """Recipes that were tried are printed as they were laid, and why they missed is told."""
    laid = (LAID[media], *WANTED[media])
    for recipe in laid:
        asked = AddTrial(recipe, "lab:50,5,10", wanted="lab:52,3,10", paper=PAPER)
        ((trial,), _) = add_trial(notebook, asked)
        assert explain_trial(notebook, trial.number)[-1].causes
    printed, pdf = print_trials(notebook)
    assert printed == len(laid)
    assert IN_WORDS[media] in _text(pdf)


@every_medium
def test_trials_are_suggested_and_their_sheet_printed(notebook: Library, media: str) -> None:
    """What is worth trying for such recipes goes onto a sheet to color in."""
    asked = SuggestTrials((LAID[media], *WANTED[media]), most=2, asking=_asking(media))
    suggested = suggest_trials(notebook, asked)
    _described(draw_sheet(notebook, sheet_of(notebook, suggested, page="A4")))
    recipes = (LAID[media], *WANTED[media])
    sheet = print_sheet(notebook, PrintSheet("list", _asking(media), recipes))
    _described(draw_sheet(notebook, sheet))
