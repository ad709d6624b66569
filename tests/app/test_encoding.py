"""Results as text: JSON for readers, and what is kept, read back whole."""

import dataclasses
import json
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from pathlib import Path
from typing import Any, cast

import numpy as np
import pytest

from laydown.app import TASKS, encoding
from laydown.app.encoding import from_text, reader_of, to_json, to_text
from laydown.app.fits import Supplies
from laydown.app.library import Library
from laydown.app.matches.colors import Asking, MakeChart, make_chart
from laydown.app.tasks import job_task
from laydown.color.arrays import FloatArray
from laydown.match.outcome import Verdict
from laydown.media.laydown import Laydown
from laydown.media.recipe import Colorant, Recipe, Step, parse_recipe
from laydown.media.swatch import Swatch
from laydown.plan.chart import Chart


@dataclass(frozen=True, slots=True)
class _Invented:
    zebra: object
    apple: object


def test_fields_keep_the_order_of_their_dataclass() -> None:
    """The order of a dataclass's fields is the order in JSON, not the alphabet's."""
    assert list(json.loads(to_json(_Invented(1, 2)))) == ["zebra", "apple"]


def test_arrays_enums_and_paths_become_plain() -> None:
    """An array is a list, an enum its value, a path its text."""
    made = json.loads(to_json([np.eye(2), Verdict.BUT_HUE, Path("a") / "b", np.float64(0.5)]))
    assert made == [[[1.0, 0.0], [0.0, 1.0]], "off mostly in hue", str(Path("a") / "b"), 0.5]


def test_a_recipe_is_its_text_with_ranges() -> None:
    """A recipe is written as people type it, each name with its range."""
    kelp = Colorant("Kelp", "Estuary")
    recipe = Recipe((Step(kelp, Laydown(coats=2)), Step(kelp)))
    assert json.loads(to_json(recipe)) == "Estuary/Kelp*2; Estuary/Kelp"


def test_a_set_is_written_in_one_order() -> None:
    """A set, which has no order of its own, is written by the order of its members' text."""
    assert json.loads(to_json(frozenset({"b", "c", "a"}))) == ["a", "b", "c"]


def test_numbers_are_rounded_and_no_number_is_null() -> None:
    """Six decimals remain, negative zero goes, infinity and NaN become null."""
    given = [1 / 3, -1e-9, float("inf"), float("nan"), 7]
    assert to_json(given).split() == ["[", "0.333333,", "0.0,", "null,", "null,", "7", "]"]


def test_what_has_no_form_is_a_programmers_mistake() -> None:
    """An object of an unknown kind is refused, not guessed at."""
    with pytest.raises(TypeError, match="object has no kept form"):
        to_json({"thing": object()})


def test_bytes_are_written_in_base64() -> None:
    """The letters Man are TWFu, as in RFC 4648's alphabet."""
    assert to_json(b"Man") == '"TWFu"'


def test_what_nobody_sees_is_escaped() -> None:
    """Signs that steer a terminal or turn letters around are written as their numbers alone."""
    text = "Ke\x1b\x9b\x7flp\u202e\u200b \U000e0041 \ud83d Дюна"
    made = to_json({text: text})
    assert made.replace("\n", "").isprintable()
    assert made.isascii() is False
    assert json.loads(made) == {text: text}


PAPER = "Gannet smooth"


class Wind(StrEnum):
    """Where the wind comes from."""

    WEST = "west"


@dataclass(frozen=True, slots=True, eq=False)
class Logbook:
    """One of each kind of value."""

    name: str
    depth: float
    marks: frozenset[int]
    fixes: tuple[tuple[float, str], ...]
    sounding: FloatArray
    picture: bytes | None
    when: datetime
    wind: Wind
    place: Path
    shares: dict[int, float]


def logbook(**changed: Any) -> Logbook:
    """Return a logbook with some fields of one's own."""
    usual = Logbook(
        name="Gannet “smooth”",
        depth=0.1 + 0.2,
        marks=frozenset({3, 1}),
        fixes=((1 / 3, "a"), (0.0, "b")),
        sounding=np.array([[1 / 7, 2.0], [np.pi, -0.0]]),
        picture=bytes(range(256)),
        when=datetime(2026, 5, 4, 18, 30, tzinfo=UTC),
        wind=Wind.WEST,
        place=Path("a", "b"),
        shares={80: 0.75, 95: 1.0},
    )
    return dataclasses.replace(usual, **changed)


def test_every_kind_of_value_comes_back_as_it_was() -> None:
    """No digit of a number, no byte of a picture, and no type is lost."""
    kept = logbook()
    back = from_text(to_text(kept), Logbook)
    np.testing.assert_array_equal(back.sounding, kept.sounding)
    for field in dataclasses.fields(Logbook):
        if field.name != "sounding":
            assert getattr(back, field.name) == getattr(kept, field.name)
            assert type(getattr(back, field.name)) is type(getattr(kept, field.name))


def test_an_empty_array_keeps_its_shape() -> None:
    """Three columns and no row are still three columns."""
    back = from_text(to_text(logbook(sounding=np.zeros((0, 3)), picture=None)), Logbook)
    assert back.sounding.shape == (0, 3)
    assert back.picture is None


def test_the_same_value_gives_the_same_text() -> None:
    """Members of a set are written in order, whatever the order they were put in."""
    one, other = (to_text(logbook(marks=frozenset(m))) for m in ([1, 9, 17], [17, 1, 9]))
    assert one == other


def test_a_recipe_keeps_apart_colorants_and_treatments(library: Library) -> None:
    """Steps of either kind come back as what they were."""
    with library.look() as work:
        recipe = parse_recipe("Kelp*2; solvent by swab; Dune (soaked, wet)", work.find_colorant)
    assert from_text(to_text(recipe), Recipe) == recipe


def test_a_chart_read_back_gives_the_same_bytes(library: Library) -> None:
    """What a page shows of a kept chart is what the command line would have written."""
    request = MakeChart(
        colors=("lab:60,5,5", "Kelp"),
        asking=Asking(Supplies(ranges=("Shoal",), paper=PAPER), coats=2, steps=2),
    )
    assert from_text(to_text(request), MakeChart) == request
    chart = make_chart(library, request)
    text = to_text(chart)
    back = from_text(text, Chart)
    assert to_text(back) == text
    assert to_json(back) == to_json(chart)


@pytest.mark.parametrize("text", ["{}", "[]", "1", '{"name": 1}', "null", "{"])
def test_text_of_something_else_is_refused(text: str) -> None:
    """What has other fields than the type is no value of it."""
    with pytest.raises(ValueError, match=r"."):
        from_text(text, Logbook)


def test_a_field_too_many_is_refused() -> None:
    """Text of a later version is not read as if it were of this one."""
    text = to_text(logbook()).replace('{"name"', '{"crew":7,"name"', 1)
    with pytest.raises(ValueError, match="crew"):
        from_text(text, Logbook)


@pytest.mark.parametrize(
    ("field", "told"),
    [
        ("name", "1"),
        ("name", "null"),
        ("depth", '"deep"'),
        ("depth", "true"),
        ("marks", "[1.5]"),
        ("marks", '"12"'),
        ("fixes", "[[0.1]]"),
        ("fixes", '{"a": 1}'),
        ("sounding", "[]"),
        ("sounding", "[[2], [1, 2, 3]]"),
        ("sounding", '[["two"], [1, 2]]'),
        ("sounding", "[[99999999999999999999], [1]]"),
        ("sounding", '[[1], [{"a": 1}]]'),
        ("picture", '"a"'),
        ("picture", "7"),
        ("when", '"noon"'),
        ("wind", '"sour"'),
        ("place", "[]"),
        ("shares", "[1]"),
        ("shares", "[[[1], 2]]"),
        ("name", "[" * 100_000),
    ],
)
def test_a_value_of_another_type_is_refused(field: str, told: str) -> None:
    """A number where a text belongs, or a list without end, is no value of its field."""
    written = json.loads(to_text(logbook()))
    fields = [f'"{name}":{told if name == field else json.dumps(v)}' for name, v in written.items()]
    with pytest.raises(ValueError, match=r"."):
        from_text("{" + ",".join(fields) + "}", Logbook)


def test_more_values_than_any_of_ours_are_not_read(monkeypatch: pytest.MonkeyPatch) -> None:
    """A short text of very many lists would take thirty times its size in memory."""
    text = to_text(logbook())
    monkeypatch.setattr(encoding, "MOST_VALUES", encoding.values_in(text))
    assert from_text(text, Logbook).name == logbook().name
    longer = to_text(logbook(fixes=((1.0, "a"),) * 3))
    with pytest.raises(ValueError, match="values"):
        from_text(longer, Logbook)


def test_a_type_without_a_form_is_refused() -> None:
    """An object of no known type is neither written nor read."""
    with pytest.raises(TypeError, match="no kept form"):
        to_text(object())
    with pytest.raises(TypeError, match="no kept form"):
        reader_of(object)


def tasks_with_a_request() -> list[str]:
    """Return the tasks that go from a frozen request to a frozen result."""
    found = []
    for name in TASKS:
        try:
            job_task(name)
        except ValueError:
            continue
        found.append(name)
    return found


def test_the_long_tasks_can_be_jobs() -> None:
    """Charts, lessons, packs, kits to buy, sheets and the demo go from a request to a result."""
    long = {"make_chart", "convert_lesson", "pack_lesson", "choose_kit", "read_sheet", "run_demo"}
    assert long <= set(tasks_with_a_request())


@pytest.mark.parametrize("name", tasks_with_a_request())
def test_a_task_can_be_kept(name: str) -> None:
    """Whatever its request and its result are made of has a kept form."""
    for end in job_task(name)[1:]:
        reader_of(cast("Any", end))


@pytest.mark.parametrize("name", ["encoding", "os", "show_trial"])
def test_only_tasks_with_a_request_are_jobs(name: str) -> None:
    """A name from outside starts nothing but a task of ours."""
    with pytest.raises(ValueError, match=name):
        job_task(name)


@pytest.mark.parametrize("one", ["value", "hue"])
def test_a_verdict_kept_under_its_older_name_is_read(one: str) -> None:
    """Jobs that an older bench kept called what is off mostly in one thing the same but for it."""
    assert from_text(f'"same but for {one}"', Verdict) == f"off mostly in {one}"


def test_a_swatch_says_in_words_what_it_looks_like() -> None:
    """Beside what was measured stand name, value, CIELAB and screen color."""
    gray = Swatch("Gannet smooth", Recipe(), np.full(36, 0.1842))
    told = json.loads(to_json(gray))["in_words"]
    assert told["words"] == "medium gray"
    assert told["lab"] == pytest.approx([50.0, 0.0, 0.0], abs=0.01)
    assert told["screen"] == "#777777"
