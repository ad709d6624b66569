"""Files to double-click, read back by the rules of their systems and, where we can, run."""

import configparser
import json
import re
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from laydown.errors import BadFileError
from laydown.web.shortcuts import Shortcut, System, shortcuts

PATIENCE = 600.0
"""How long a busy computer may take to run a command [s]."""
SAY_WORDS = "import json, sys; print(json.dumps(sys.argv[1:]))"
HARD = ["plain", "with blank", "100%", "$HOME", "back\\slash", "`tick`", "it's", "äöü", "a;b&c|d"]


def words_of_entry(value: str) -> list[str]:
    """Read an Exec key back by the specification: text first, then quotes, then percent signs."""
    text = value.replace("\\\\", "\\")
    quoted = re.findall(r'"((?:[^"\\]|\\.)*)"', text)
    return [re.sub(r"\\(.)", r"\1", word).replace("%%", "%") for word in quoted]


def entry_of(shortcut: Shortcut) -> configparser.SectionProxy:
    """Read a desktop entry."""
    reader = configparser.RawConfigParser(delimiters=("=",), strict=True)
    reader.optionxform = str  # type: ignore[assignment,method-assign]  # keys have capitals
    reader.read_string(shortcut[1].decode())
    assert reader.sections() == ["Desktop Entry"]
    return reader["Desktop Entry"]


def test_a_desktop_entry_holds_the_command() -> None:
    """Whatever signs its words have, they are read back the same."""
    opening, closing = shortcuts(["python", *HARD, 'a"b'], ["stop"], system=System.LINUX)
    entry = entry_of(opening)
    assert words_of_entry(entry["Exec"]) == ["python", *HARD, 'a"b']
    assert (entry["Type"], entry["Terminal"]) == ("Application", "true")
    assert entry["Categories"].endswith(";")
    assert words_of_entry(entry_of(closing)["Exec"]) == ["stop"]
    assert entry_of(closing)["Terminal"] == "false"


def test_names_end_as_their_systems_want() -> None:
    """A .desktop, a .command, a .bat, each for opening and for closing."""
    names = [name for system in System for name, _ in shortcuts(["a"], ["b"], system=system)]
    assert names == [
        "Open the bench.desktop",
        "Put the pencils away.desktop",
        "Open the bench.command",
        "Put the pencils away.command",
        "Open the bench.bat",
        "Put the pencils away.bat",
    ]


@pytest.mark.skipif(shutil.which("gio") is None, reason="needs gio, which opens desktop entries")
def test_a_desktop_opens_it(tmp_path: Path) -> None:
    """The desktop's own launcher runs the command, with every word as it was."""
    place = tmp_path / "words"
    program = "import json, sys; open(sys.argv[1], 'w').write(json.dumps(sys.argv[2:]))"
    command = [sys.executable, "-c", program, str(place), *HARD, 'a"b']
    _, closing = shortcuts(["a"], command, system=System.LINUX)
    file = tmp_path / closing[0]
    file.write_bytes(closing[1])
    subprocess.run(["gio", "launch", str(file)], check=True, timeout=PATIENCE, capture_output=True)
    last = time.monotonic() + PATIENCE
    while not (place.exists() and place.read_text(encoding="utf-8")):
        assert time.monotonic() < last
        time.sleep(0.05)
    assert json.loads(place.read_text(encoding="utf-8")) == [*HARD, 'a"b']


@pytest.mark.skipif(shutil.which("sh") is None, reason="needs a shell")
def test_a_shell_runs_the_script_for_a_mac(tmp_path: Path) -> None:
    """Its words come through as they are; that it never ran on a Mac stands in it."""
    command = [sys.executable, "-c", SAY_WORDS, *HARD, 'a"b']
    opening, _ = shortcuts(command, ["b"], system=System.MAC)
    file = tmp_path / opening[0]
    file.write_bytes(opening[1])
    ran = subprocess.run(["sh", str(file)], check=True, timeout=PATIENCE, capture_output=True)
    assert json.loads(ran.stdout) == [*HARD, 'a"b']
    assert "not yet run on one" in opening[1].decode()


def test_a_batch_file_has_the_line_ends_and_quotes_of_windows() -> None:
    """Words stand in quotes, percent signs twice, and that it never ran there stands in it."""
    command = ["C:\\Program Files\\python.exe", "-m", "laydown", "100%"]
    opening, _ = shortcuts(command, ["b"], system=System.WINDOWS)
    lines = opening[1].decode().split("\r\n")
    assert "\n" not in "".join(lines)
    assert '"C:\\Program Files\\python.exe" "-m" "laydown" "100%%"' in lines
    assert lines[0] == "@echo off"
    assert "not yet run on one" in lines[2]


@pytest.mark.parametrize(
    ("word", "system"), [("a\nb", System.LINUX), ("a\rb", System.MAC), ('a"b', System.WINDOWS)]
)
def test_a_name_that_would_break_out_is_refused(word: str, system: System) -> None:
    """A line end in a path would be a further line of the file."""
    with pytest.raises(BadFileError, match="can't hold the name"):
        shortcuts([word], ["b"], system=system)
