"""Long work says so soon after it began, at the command line."""

from collections.abc import Callable, Iterator
from contextlib import nullcontext
from functools import partial

import pytest
from click.testing import Result

from laydown.app import tasks
from laydown.cli import commands, console
from laydown.match.search import search


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Give what is said."""
    sentences: list[str] = []
    monkeypatch.setattr(console, "say", sentences.append)
    return sentences


def passed(times: Iterator[float], *, total: int, recipes: bool = True) -> None:
    """Have a hundredth of the work done between two looks at the clock."""
    tell = partial(console.say_if_long, recipes=recipes)
    watch = tasks.told_if_long(None, tell, clock=times.__next__)
    for done in range(0, total + 1, total // 100):
        watch(done, total)


def test_a_long_search_says_once_how_many_recipes_and_how_long(told: list[str]) -> None:
    """From the rate of the first second, with the limits that are sooner done."""
    passed((float(n) for n in range(1000)), total=5_000_000)
    (sentence,) = told
    assert "5,000,000 recipes" in sentence
    assert "--steps 2" in sentence
    assert "Ctrl-C" in sentence
    assert 90 <= int(sentence.split("up to ")[1].split()[0]) <= 99


def test_short_work_says_nothing(told: list[str]) -> None:
    """What is done within ten seconds or so needs no word."""
    passed((n / 12 for n in range(1000)), total=5_000_000)
    assert told == []


def test_long_work_of_other_kinds_says_how_long_alone(told: list[str]) -> None:
    """Colors of a chart are no recipes, and are not called so."""
    passed((4.0 * n for n in range(1000)), total=100, recipes=False)
    (sentence,) = told
    assert "minutes" in sentence
    assert "recipes" not in sentence


def test_a_match_that_takes_long_says_so_beside_its_answer(
    shoal: Callable[..., Result], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The sentence goes to standard error; the answer is the same, and `-q` leaves it out."""
    asked = ("match", "lab:54,80,68", "--steps", "3", "--coats", "3")
    for name in ("FEW", "AT_FIRST", "AT_MOST"):
        monkeypatch.setattr(search, name, 16)
    plain = shoal(*asked)
    monkeypatch.setattr(tasks, "LONG", -1.0)
    monkeypatch.setattr(tasks, "FIRST_LOOK", 0.0)
    long = shoal(*asked)
    assert "recipes to search" not in plain.stderr
    assert "recipes to search" in long.stderr
    assert plain.exit_code == 3
    assert long.stdout == plain.stdout
    assert "recipes to search" not in shoal("match", "-q", *asked[1:]).stderr


def test_work_that_is_told_by_the_time_allowed_says_nothing(
    monkeypatch: pytest.MonkeyPatch, told: list[str]
) -> None:
    """A choice of purchases mostly ends long before its time is over, so none is announced."""

    def do(task: str, *_: object, watch: Callable[[int, int], None] | None, **__: object) -> str:
        for done in range(3):
            if watch:
                watch(done, 1000)
        return task

    monkeypatch.setattr(tasks, "LONG", -1.0)
    monkeypatch.setattr(tasks, "FIRST_LOOK", 0.0)
    monkeypatch.setattr(tasks, "do", do)
    monkeypatch.setattr(console, "library_in_use", lambda **_: nullcontext())
    for task, sentences in (("choose_kit", 0), ("make_chart", 1)):
        verb = commands.Verb("verb", tasks=(task,), example="", callback=do, params=[])
        with verb.make_context("verb", []):
            assert console.ask(progress="choosing") == task
        assert len(told) == sentences
