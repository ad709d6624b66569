import subprocess
import sys
import textwrap
import time
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from laydown.errors import TooLargeError, UnknownNameError
from laydown.media.recipe import Recipe
from laydown.media.swatch import Fill
from laydown.store.library import Library, Work, open_library
from laydown.store.records import TrialEntry


@pytest.fixture
def entry(supplies: SimpleNamespace) -> TrialEntry:
    """One coat of Kelp over two of Fig, which the library need not know."""
    recipe = Recipe((supplies.one(supplies.fig, 2), supplies.one(supplies.kelp)))
    return TrialEntry(
        kit="mine",
        paper="Gannet smooth",
        recipe=recipe,
        reflectance=np.linspace(0.1, 0.6, 36),
        wanted="lab:50,1,2",
        intended=np.array([50.0, 1.0, 2.0]),
        remark="for the bowl's shadow",
        done="2026-03-04",
        fill=Fill.REFILLED,
        picture="a" * 64,
        shared=1.5,
    )


def _same(a: TrialEntry, b: TrialEntry) -> bool:
    plain = ("kit", "paper", "basis", "spread", "measured", "wanted", "remark", "done",
             "fill", "photograph", "picture", "shared")  # fmt: skip
    return (
        all(getattr(a, f) == getattr(b, f) for f in plain)
        and a.recipe.key == b.recipe.key
        and np.array_equal(a.reflectance, b.reflectance)
        and (a.version, a.withdrawn, a.uid, a.recorded) == (
            b.version, b.withdrawn, b.uid, b.recorded)
    )  # fmt: skip


def test_a_trial_comes_back_as_it_was_noted(any_library: Library, entry: TrialEntry) -> None:
    """Every field survives, in a file and on a server."""
    with any_library.work("note") as work:
        made = work.notebook.add(entry)
    with any_library.look() as work:
        (found,) = work.notebook.latest()
    assert _same(made, found)
    assert found.intended is not None
    assert found.intended.tolist() == [50.0, 1.0, 2.0]


def test_an_edit_keeps_the_old_entry(library: Library, entry: TrialEntry) -> None:
    """The history holds what was noted first; the latest holds what was noted last."""
    with library.work("note") as work:
        number = work.notebook.add(entry).number
    with library.work("edit") as work:
        work.notebook.edit(number, replace(entry, remark="too dark"))
    with library.look() as work:
        history = work.notebook.history(number)
        assert [h.remark for h in history] == ["for the bowl's shadow", "too dark"]
        assert work.notebook.latest()[0].remark == "too dark"


def test_a_trial_taken_back_is_kept_and_can_return(library: Library, entry: TrialEntry) -> None:
    """Withdrawing adds an entry; bringing back adds another."""
    with library.work("note") as work:
        number = work.notebook.add(entry).number
    with library.work("withdraw") as work:
        work.notebook.withdraw(number)
    with library.look() as work:
        assert work.notebook.latest() == ()
        assert len(work.notebook.latest(withdrawn=True)) == 1
    with library.work("bring back") as work:
        work.notebook.withdraw(number, withdrawn=False)
    with library.look() as work:
        assert [t.version for t in work.notebook.latest()] == [3]


def test_undo_of_other_commands_leaves_trials_alone(library: Library, entry: TrialEntry) -> None:
    """What was tried was tried: the journal takes back the paper, not the trial."""
    with library.work("paper") as work:
        work.add_paper("Gannet smooth")
    with library.work("note") as work:
        work.notebook.add(entry)
    library.undo()
    with library.look() as work:
        assert work.papers() == ()
        assert len(work.notebook.latest()) == 1


def test_histories_move_whole_and_only_once(
    library: Library, entry: TrialEntry, tmp_path: Path
) -> None:
    """Another library takes all entries in, and the second time nothing."""
    with library.work("note") as work:
        number = work.notebook.add(entry).number
        work.notebook.edit(number, replace(entry, remark="again"))
        histories = [work.notebook.history(number)]
    other = open_library(tmp_path / "other.db")
    for expected in ((1, 2), (0, 0)):
        with other.work("take in") as work:
            assert work.notebook.take_in(histories) == expected
    with other.look() as work:
        moved = work.notebook.history(1)
    other.close()
    assert all(_same(a, b) for a, b in zip(moved, histories[0], strict=True))


def test_what_becomes_of_a_trial_is_another_edition(library: Library, entry: TrialEntry) -> None:
    """Noted, taken back and erased: each time the library is told from what it was before."""
    editions = [library.edition()]
    changes: list[Callable[[Work], object]] = [
        lambda work: work.notebook.add(entry),
        lambda work: work.notebook.withdraw(1),
        lambda work: work.notebook.erase(1),
    ]
    for change in changes:
        with library.work("change a trial") as work:
            change(work)
        editions.append(library.edition())
    assert all(one != other for one, other in pairwise(editions))


def test_a_photograph_is_kept_once(library: Library, entry: TrialEntry) -> None:
    """Two trials share the bytes of one photograph."""
    with library.work("note") as work:
        digest = work.notebook.keep_photograph("bowl.jpg", b"light")
        assert work.notebook.keep_photograph("copy.jpg", b"light") == digest
        work.notebook.add(replace(entry, photograph=digest))
    with library.look() as work:
        assert work.notebook.latest()[0].photograph == digest
        assert work.notebook.photograph(digest)[1] == b"light"


def test_a_number_that_no_trial_has_is_named(library: Library) -> None:
    """The error says which number, and how to see the others."""
    with library.look() as work, pytest.raises(UnknownNameError, match="number 7") as caught:
        work.notebook.history(7)
    assert caught.value.command == "laydown trial list"


WRITER = """
import sys
import numpy as np
from laydown.media.recipe import Colorant, Recipe, Step
from laydown.store.library import open_library
from laydown.store.records import TrialEntry

library = open_library(sys.argv[1])
for count in range(int(sys.argv[3])):
    entry = TrialEntry("mine", "Gannet", Recipe((Step(Colorant("Kelp", "Shoal")),)),
                       np.full(36, 0.5), remark=f"{sys.argv[2]} {count}")
    with library.work("note") as work:
        made = work.notebook.add(entry)
    print(entry.remark, flush=True)
"""


def _writer(path: Path, who: str, count: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(WRITER), str(path), who, str(count)],
        stdout=subprocess.PIPE,
        text=True,
    )


def _remarks(path: Path) -> list[str]:
    library = open_library(path)
    with library.look() as work:
        found = [trial.remark for trial in work.notebook.latest()]
    library.close()
    return found


def test_a_photograph_larger_than_is_kept_is_refused(
    library: Library, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It could not be read again."""
    monkeypatch.setattr("laydown.store.trials.MOST_PICTURE", 5)
    with library.work("keep") as work:
        work.notebook.keep_photograph("bowl.jpg", b"12345")
        with pytest.raises(TooLargeError, match=r"bowl\.jpg"):
            work.notebook.keep_photograph("bowl.jpg", b"123456")


def test_killed_at_any_instant_every_acknowledged_trial_is_there(path: Path) -> None:
    """Writers are killed at odd moments; all that they said was noted is found again."""
    open_library(path).close()
    said: list[str] = []
    for attempt in range(5):
        writer = _writer(path, f"w{attempt}", 100_000)
        assert writer.stdout is not None
        said += [writer.stdout.readline().strip() for _ in range(2)]
        time.sleep(0.03 + 0.037 * attempt)
        writer.kill()
        said += [line.strip() for line in writer.communicate()[0].splitlines()]
        found = _remarks(path)
        assert set(said) <= set(found)
        assert len(found) == len(set(found)) <= len(said) + attempt + 1
    assert len(said) >= 10


def test_two_writing_at_once_lose_nothing(path: Path) -> None:
    """Both processes' trials are all there, each with a number of its own."""
    open_library(path).close()
    writers = [_writer(path, who, 25) for who in ("one", "two")]
    for writer in writers:
        writer.communicate()
        assert writer.returncode == 0
    assert sorted(_remarks(path)) == sorted(f"{w} {n}" for w in ("one", "two") for n in range(25))


def test_an_erased_trial_is_in_the_file_no_more(
    library: Library, path: Path, entry: TrialEntry
) -> None:
    """Neither its words nor its photograph are left in any corner of the library's file."""
    with library.work("note") as work:
        digest = work.notebook.keep_photograph("bowl.jpg", b"a light nobody saw " * 2000)
        kept = work.notebook.keep_photograph("jug.jpg", b"a light that stays " * 2000)
        work.notebook.add(replace(entry, photograph=digest, remark="a secret of hers"))
        work.notebook.edit(1, replace(entry, photograph=kept, remark="another of hers"))
        work.notebook.add(replace(entry, photograph=kept, remark="told to everyone"))
    assert b"a light nobody saw" in path.read_bytes()
    with library.work("erase") as work:
        assert work.notebook.erase(1) == 1
        assert [trial.number for trial in work.notebook.latest()] == [2]
        assert work.notebook.photograph(kept)[1].startswith(b"a light that stays")
        with pytest.raises(UnknownNameError):
            work.notebook.erase(1)
    content = path.read_bytes()
    for gone in (b"a light nobody saw", b"a secret of hers", b"another of hers"):
        assert gone not in content
    assert b"told to everyone" in content


def test_an_erased_photograph_goes_from_every_trial(
    library: Library, path: Path, entry: TrialEntry
) -> None:
    """Trials that shared a photograph all stay, and none shows it."""
    with library.work("note") as work:
        digest = work.notebook.keep_photograph("bowl.jpg", b"a light nobody saw " * 2000)
        for _ in range(2):
            work.notebook.add(replace(entry, photograph=digest))
    with library.work("erase") as work:
        assert work.notebook.erase_photographs(2) == 1
        assert [trial.photograph for trial in work.notebook.latest()] == ["", ""]
        assert work.notebook.erase_photographs(2) == 0
    assert b"a light nobody saw" not in path.read_bytes()
