import re
import shlex
from collections.abc import Callable
from pathlib import Path

from click.testing import Result

Run = Callable[..., Result]
README = Path(__file__).parents[2] / "README.md"


def test_the_first_answer_of_the_readme_is_an_answer(run: Run, tmp_path: Path) -> None:
    """The file and the commands that the README begins with give an answer as they stand."""
    text = README.read_text(encoding="utf-8")
    table = re.search(r"^ *range,medium.*?(?=^ *```)", text, flags=re.MULTILINE | re.DOTALL)
    commands = re.findall(r"^ *laydown (swatches import .*|match .*)$", text, flags=re.MULTILINE)
    assert table is not None
    assert len(commands) == 2
    lines = [line.strip() for line in table[0].splitlines()]
    (tmp_path / "mine.csv").write_text("\n".join(lines), encoding="utf-8")
    taken, found = (run(*shlex.split(command)) for command in commands)
    assert taken.exit_code == 0, taken.output
    assert found.exit_code in (0, 3), found.output
    assert "Worth swatching next" in found.stdout
    for command in re.findall(r"^ *laydown (trial .*|light .*)$", text, flags=re.MULTILINE):
        noted = run(*shlex.split(command))
        assert noted.exit_code == 0, noted.output
