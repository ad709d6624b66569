"""The whole check (``.ci/run``): when it makes the program before it tests."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest

RUN = Path(__file__).parents[2] / ".ci" / "run"
PROGRAM = "build ONLY=program"


class Clone:
    """A repository that holds the check and a `make` which only notes what it is asked."""

    def __init__(self, root: Path) -> None:
        self.root, self.asked, self.said = root, root / "asked", ""
        (root / "tools").mkdir(parents=True)
        (root / ".ci").mkdir()
        shutil.copy(RUN, root / ".ci" / "run")
        make = root / "tools" / "make"
        make.write_text(f'#!/bin/sh\necho "$@" >> {self.asked}\n', encoding="utf-8")
        make.chmod(0o755)
        self.git("init", "--quiet", "--initial-branch=next")

    def git(self, *words: str) -> None:
        """Run git, as nobody in particular."""
        who = ("-c", "user.name=Ann", "-c", "user.email=ann@example.invalid")
        subprocess.run(["git", *who, *words], cwd=self.root, check=True, capture_output=True)

    def commit(self, file: str) -> None:
        """Commit a change of one file."""
        path = self.root / file
        path.parent.mkdir(exist_ok=True)
        path.write_text(path.read_text("utf-8") + "." if path.exists() else "", "utf-8")
        self.git("add", file)
        self.git("commit", "--quiet", "--message", file)

    def check(self) -> list[str]:
        """Return what the check asks of `make`."""
        self.asked.unlink(missing_ok=True)
        path = f"{self.root / 'tools'}:{os.environ['PATH']}"
        run = [self.root / ".ci" / "run"]
        done = subprocess.run(run, check=True, env={"PATH": path}, capture_output=True, text=True)
        self.said = done.stdout
        return self.asked.read_text("utf-8").splitlines()


@pytest.fixture
def clone(tmp_path: Path) -> Clone:
    """Give a clone of two commits, neither of which is of what makes the program."""
    made = Clone(tmp_path / "clone")
    made.commit("README.md")
    made.commit("README.md")
    return made


def test_the_program_is_made_where_what_makes_it_changed(clone: Clone) -> None:
    """In the last commit, or in what the last commit brings together."""
    assert clone.check() == ["test"]
    clone.commit("packaging/build.py")
    assert clone.check() == [PROGRAM, "test"]
    clone.commit("README.md")
    assert clone.check() == ["test"]
    clone.git("checkout", "--quiet", "-b", "side")
    clone.commit("requirements.lock")
    clone.commit("LICENSE")
    clone.git("checkout", "--quiet", "next")
    clone.git("merge", "--quiet", "--no-ff", "--message", "Merge", "side")
    assert clone.check() == [PROGRAM, "test"]


def test_a_clone_that_cannot_say_what_changed_says_that_it_makes_no_program(
    clone: Clone, tmp_path: Path
) -> None:
    """A clone of the last commit alone knows nothing of the one before, and no time to guess."""
    shallow = tmp_path / "shallow"
    clone.git("clone", "--quiet", "--depth=1", f"file://{clone.root}", str(shallow))
    for name in (".ci", "tools"):
        shutil.copytree(clone.root / name, shallow / name)
    clone.root = shallow
    assert clone.check() == ["test"]
    assert "can't say what changed: the program is not built" in clone.said
