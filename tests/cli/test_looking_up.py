import csv
from collections.abc import Callable
from pathlib import Path
from typing import Any, NoReturn

import click
import numba
import pytest
from click.testing import CliRunner, Result

from laydown.cli.asking import tell_of_compiling
from laydown.cli.commands import verb

Run = Callable[..., Result]

LESSON = "made lesson.txt"
NAMED = [
    (["match", "Kelpp"], "Kelpp"),
    (["match", "Kelp*2; Skif"], "Skif"),
    (["match", "Kelp; Skiff", "--range", "Shole"], "Shole"),
    (["match", "Kelp; Skiff", "--paper", "Ganet"], "Ganet"),
    (["match", "Kelp; Skiff", "--kit", "mien"], "mien"),
    (["match", "Kelp; Skiff", "--from-paper", "Ganet"], "Ganet"),
    (["match", "Kelp; Skiff", "--carried-from", "Ganet"], "Ganet"),
    (["match", "Kelp; Skiff", "--without", "Nett"], "Nett"),
    (["match", "Kelp; Skiff", "--over", "Nett"], "Nett"),
    (["chart", "--color", "Kelp; Skiff", "--color", "Kelpp"], "Kelpp"),
    (["chart", "list.csv"], "list.csv, line 3: "),
    (["chart", "--colors-of", "Shole"], "Shole"),
    (["chart", "--color", "Kelp; Skiff", "-o", "chart.doc"], ".doc"),
    (["light", "check", "Kelpp"], "Kelpp"),
    (["light", "check", "Kelp; Skiff", "--light", "mooon"], "mooon"),
    (["light", "check", "Kelp", "-o", "lights.doc"], ".doc"),
    (["light", "life", "Kelpp", "--lux", "150"], "Kelpp"),
    (["light", "life", "Kelp", "--laid", "Kelp; Skif", "--lux", "150"], "Skif"),
    (["light", "life", "Kelp", "--lux", "150", "-o", "wall.doc"], ".doc"),
    (["lesson", "convert", "no lesson.txt"], "no lesson.txt"),
    (["lesson", "convert", LESSON, "--range", "Shole"], "Shole"),
    (["lesson", "convert", LESSON, "--shop", "Shole"], "Shole"),
    (["lesson", "convert", LESSON, "-o", "lesson.doc"], ".doc"),
    (["lesson", "pack", LESSON, "--range", "Shoal", "--range", "Shole"], "Shole"),
    (["lesson", "new", "list.csv"], "list.csv, line 3: "),
    (["run", "list", "--shop", "Shole"], "Shole"),
    (["run", "list", "-o", "runs.doc"], ".doc"),
    (["run", "partners", "Kelpp"], "Kelpp"),
    (["range", "compare", "Shoal", "Shole"], "Shole"),
    (["range", "compare", "Shoal", "Shoal", "-o", "both.doc"], ".doc"),
    (["range", "show", "Shole"], "Shole"),
    (["kit", "choose", LESSON, "--prices", "list.csv"], "list.csv"),
    (["kit", "choose", LESSON, "--must", "Kelpp"], "Kelpp"),
    (["kit", "choose", LESSON, "-o", "buy.doc"], ".doc"),
    (["trial", "next", "--recipe", "Kelpp"], "Kelpp"),
    (["trial", "next", "--color", "Kelp; Skiff", "--color", "Kelpp"], "Kelpp"),
    (["hand", "compare", "list.csv"], "list.csv"),
    (["paper", "anchors", "Shoal", "--known-on", "Ganet"], "Ganet"),
    (["picture", "recipes", "picture.png", "--kit", "mien"], "mien"),
    (["picture", "recipes", "picture.png", "--range", "Shoal", "--beside", "Shole"], "Shole"),
    (["picture", "print", "picture.png", "--range", "Shole"], "Shole"),
    (["sheet", "print", "first", "--range", "Shoal", "--color", "Kelpp"], "Kelpp"),
    (["sheet", "print", "next", "--range", "Shoal", "--color", "Kelpp"], "Kelpp"),
]
"""Commands with one thing in each that is not there, and how the message calls it."""


@pytest.fixture
def unfitted(shoal: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Return a command line where whoever fits is stopped."""
    lines = [["color"], ["Kelp; Skiff"], ["Kelpp"]]
    with (tmp_path / "list.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(lines)
    (tmp_path / "picture.png").write_bytes(b"no picture")
    made = shoal("lesson", "new", "-", "-o", LESSON, stdin="color\nKelp\nDune\n")
    assert made.exit_code == 0, made.output

    def stop(*_: Any, **__: Any) -> NoReturn:
        message = "fitted before all was looked up"
        raise AssertionError(message)

    monkeypatch.setattr("laydown.app.fits.fit_markers", stop)
    return shoal


@pytest.mark.parametrize(
    ("command", "named"), NAMED, ids=[" ".join(command) for command, _ in NAMED]
)
def test_all_that_is_named_is_looked_up_before_anything_is_fitted(
    unfitted: Run, command: list[str], named: str
) -> None:
    """A name that is mistyped, or a file that can't be, is told before anything is worked out."""
    told = unfitted(*command)
    assert told.exit_code == 1, told.output
    assert named in told.stderr
    assert "looked up" not in told.stderr


def test_compiling_is_told_when_it_begins_and_once() -> None:
    """A command says that the search is prepared when the first loop is compiled, not before."""

    @verb("try", "", "try")
    def compile_two() -> None:
        tell_of_compiling()
        click.echo("Begun.", err=True)
        for number in (1, 2.5):
            assert numba.njit(lambda x: x + 1)(number) == number + 1

    told = CliRunner().invoke(compile_two, [])
    assert told.stderr == "Begun.\nPreparing the search, once; this takes some seconds…\n"
    assert CliRunner().invoke(compile_two, ["-q"]).stderr == "Begun.\n"


def test_nothing_is_told_of_compiling_once_the_command_is_done(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """What compiles after a command has ended says nothing."""

    @verb("try", "", "try")
    def compile_nothing() -> None:
        tell_of_compiling()

    CliRunner().invoke(compile_nothing, [])
    numba.njit(lambda x: x - 1)(1)
    assert capsys.readouterr().err == ""
