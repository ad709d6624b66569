import json
import os
import shlex
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from laydown.cli.main import door

Run = Callable[..., Result]


def _complete(words: str, library: Path) -> list[str]:
    """Return what bash would be offered for the last of these words."""
    environment = {
        "_LAYDOWN_COMPLETE": "bash_complete",
        "COMP_WORDS": words,
        "COMP_CWORD": str(len(words.split(" ")) - 1),
        "LAYDOWN_DB": str(library),
    }
    told = CliRunner().invoke(door, [], env=environment, prog_name="laydown")
    assert told.stderr == ""
    return [line.partition(",")[2] for line in told.stdout.splitlines() if line]


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_each_shell_gets_its_lines(run: Run, shell: str) -> None:
    """The lines for a shell set up the completion of ``laydown``."""
    told = run("completion", shell)
    assert told.exit_code == 0
    assert "_LAYDOWN_COMPLETE" in told.stdout
    assert json.loads(run("completion", shell, "--json").stdout)["lines"] in told.stdout


@pytest.mark.parametrize(
    ("words", "offered"),
    [
        ("laydown sw", ["swatches"]),
        ("laydown paper show ", [r"Gannet\\ smooth"]),
        ("laydown match Sk", ["Skiff"]),
        ("laydown match x --range ", ["Shoal"]),
        ("laydown match x --without d", ["Dune"]),
        ("laydown match x --tolerance cl", ["class", "close"]),
        ("laydown kit show ", []),
    ],
)
def test_commands_and_the_users_own_names_are_completed(
    shoal: Run, tmp_path: Path, words: str, offered: list[str]
) -> None:
    """Commands, choices, colorants, ranges and papers are completed from what is there."""
    assert shoal("library", "path").exit_code == 0
    assert _complete(words, tmp_path / "library.db") == offered


def test_a_library_that_cannot_be_read_completes_nothing(tmp_path: Path) -> None:
    """A shell is no place for messages: an error completes nothing, in silence."""
    (tmp_path / "notes.txt").write_text("my notes", encoding="utf-8")
    assert _complete("laydown paper show ", tmp_path / "notes.txt") == []


def test_completing_makes_no_library(tmp_path: Path) -> None:
    """Asking for names where there is no library leaves none behind."""
    assert _complete("laydown paper show ", tmp_path / "none.db") == []
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(shutil.which("bash") is None, reason="needs bash")
@pytest.mark.parametrize(
    ("typed", "offered"),
    [("Ga", r"Gannet\ smooth"), (r"Gannet\ s", r"Gannet\ smooth"), ('"Gannet s', "Gannet smooth")],
)
def test_bash_takes_a_name_with_a_blank_as_one_word(
    shoal: Run, tmp_path: Path, typed: str, offered: str
) -> None:
    """In bash itself a blank in a name is escaped, and left alone within quotes."""
    lines = shoal("completion", "bash").stdout
    (tmp_path / "laydown").write_text(f'#!/bin/sh\nexec "{sys.executable}" -m laydown "$@"\n')
    (tmp_path / "laydown").chmod(0o755)
    asked = f"COMP_WORDS=(laydown paper show {shlex.quote(typed)}); COMP_CWORD=3\n"
    asked += "_laydown_completion laydown\nprintf '%s\\n' \"${COMPREPLY[@]}\"\n"
    told = subprocess.run(
        ["bash", "--norc", "-c", lines + asked],
        env=os.environ
        | {
            "PATH": f"{tmp_path}{os.pathsep}{os.environ['PATH']}",
            "LAYDOWN_DB": str(tmp_path / "library.db"),
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert told.stdout.splitlines() == [offered]
