"""Values that no laydown writes: as a backup they are refused, in a library they are told."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from laydown.errors import LibraryError
from laydown.store.library import Library, Work, open_library
from laydown.store.tables import LibraryTable

READ = {
    "text for a number": "update papers set coats_limit = 'six'",
    "text for a measurement": "update swatches set spread = 'wide'",
    "bytes for a name": "update papers set name = x'00ff'",
    "number for a name": "update ranges set name = cast('5' as blob)",
    "name without end": "update papers set name = printf('%.20000c', 'p')",
    "medium unknown": "update ranges set medium = 'lava'",
    "coats beyond count": "update papers set coats_limit = 1000000000",
    "coats beyond a step": "update swatches set recipe = 'Estuary/Kelp*10' where id = 2",
    "coats of half": "update swatches set recipe = 'Estuary/Kelp*1.5' where id = 2",
    "dilution of all": "update swatches set recipe = replace(recipe, '0.5', '1')",
    "dilution of nothing": "update swatches set recipe = replace(recipe, '0.5', 'deep')",
    "tool unknown": "update swatches set recipe = replace(recipe, 'by swab', 'by spoon')",
    "parts beyond count": "update swatches set recipe = replace(recipe, 'mix 1', 'mix 9')",
    "mixture of one": "update swatches set recipe = replace(recipe, ' + 2 Pond/Loam', '')",
    "hours before it was laid": "update swatches set hours = -1 where hours is not null",
    "spectrum too short": "update swatches set reflectance = '[0.5]'",
    "spectrum of texts": "update swatches set reflectance = replace(reflectance, '[', '[\"a\",')",
    "spectrum that blinds": "update swatches set reflectance = replace(reflectance, '[0', '[99')",
    "spectrum without end": "update swatches set reflectance = printf('[%.99999c]', '1')",
    "spectrum not JSON": "update swatches set reflectance = '[0.5'",
    "spectrum nested": "update swatches set reflectance = printf('%.1400c', '[')",
    "xyz not a number": "update cell_readings set xyz = '[NaN, 1, 1]'",
    "xyz infinite": "update cell_readings set xyz = '[1, 1, Infinity]'",
    "spread infinite": "update swatches set spread = 9e999",
    "flags of numbers": "update swatches set flags = '[1]'",
    "flag unknown": "update cell_readings set flags = '[\"sour\"]'",
    "moment that is none": "update swatches set taken_in = 'noon'",
    "moment of a number": "update sheets set printed = 12",
    "yes or no of text": "update colorants set blender = 'maybe'",
    "yes or no of five": "update colorants set blender = 5",
    "colorant of no range": "update colorants set range_id = 99",
    "member of no kit": "update kit_members set colorant_id = 99",
    "recipe of no colorant": "update swatches set recipe = 'Estuary/Moss' where id = 2",
    "recipe of another colorant": "update swatches set recipe = 'Estuary/Dune' where id = 2",
    "colorant that no recipe names": "update swatches set recipe = '' where id = 2",
    "window of no colorant": "update window_readings set colorant_id = 99",
    "class unknown": "update lightfastness set grade = 'five stars'",
    "mark unknown": "update pan_marks set marks = 'shiny'",
    "marks at odds": "update pan_marks set marks = 'staining lifting'",
    "window backwards": "update window_readings set least = 9, most = 1",
    "window of two": "update window_readings set before = '[1, 2]'",
    "recipe of nothing": "update trial_entries set recipe = 'Kelp**'",
    "recipe without end": "update trial_entries set recipe = printf('%.2000000c', 'p')",
    "trial without entry": "delete from trial_entries",
    "fill unknown": "update trial_entries set fill = 'half'",
    "intended of texts": "update trial_entries set intended = '[\"a\", 1, 2]'",
    "sheet not JSON": "update sheets set content = 'Kit'",
    "sheet nested": "update sheets set content = printf('%.900000c', '[')",
    "sheet of something else": "update sheets set content = '{}'",
    "sheet beyond count": "update sheets set id = 99999999",
    "state unknown": "update jobs set state = 'lost'",
    "progress of text": "update jobs set done = 'all'",
    "number beyond count": "update jobs set total = 9223372036854775807",
    "text that isn't packed": "update job_texts set content = x'00'",
    "text that breaks off": "update job_texts set content = substr(content, 1, 5)",
    "plan of text": "update plans set file = 'PK'",
    "revision below none": "update plans set revision = -1",
    "lesson of bytes": "update lessons set text = x'00ff'",
    "text in no letters": "update lessons set text = cast(x'ff' as text)",
    "undo of no table": "update journal set table_name = 'sqlite_master'",
    "undo of other columns": "update journal set before = '{\"kit_id\": 1}'",
    "undo of a list": "update journal set before = '[1]'",
    "undo of wrong values": "update journal set before = replace(before, '1', '\"a\"')",
    "undo of nothing": "update journal set before = null, after = null",
}
"""Statements that put a wrong value into a library."""
ONLY_TAKEN_IN = {
    "name that is not found": ("update papers set name = 'Heron laid'",),
    "name that clears a screen": (
        "update kits set name = char(27) || '[2J', key = char(27) || '[2j'",
    ),
    "numbers used up": ("update sqlite_sequence set seq = 9223372036854775807",),
    "numbers of text": ("update sqlite_sequence set seq = 'last'",),
    "entry of no change": ("delete from changes",),
    "text of no job": ("update job_texts set job_id = 99",),
}
"""Statements after which a library can be used, and is not taken in."""


def look_at_all(library: Library) -> None:
    """Read what a person can have shown of a library, and take the last change back."""
    with library.look() as work:
        _look_at_supplies(work)
        work.sheets.all()
        work.sheets.readings(77)
        for trial in work.notebook.latest(withdrawn=True):
            work.notebook.history(trial.number)
        for job in work.jobs.all():
            work.jobs.asked(job.id), work.jobs.found(job.id)
        for lesson in work.lessons.all():
            work.lessons.text(lesson.number)
        for plan in work.plans.all():
            work.plans.file(plan.number)
    library.history()
    library.undo()


def _look_at_supplies(work: Work) -> None:
    work.papers(), work.ranges(), work.colorants(), work.kits(), work.coverage(), work.held()
    work.swatches()
    work.lightfastness.all(), work.lightfastness.tests()
    work.pan_marks.all()


def test_every_table_of_the_crammed_library_holds_something(crammed: Library) -> None:
    """So that each statement below meddles with something."""
    with closing(sqlite3.connect(crammed.location)) as connection:
        for table in LibraryTable.metadata.tables:
            assert connection.execute(f"select count(*) from {table}").fetchone() != (0,), table


@pytest.mark.parametrize("kind", READ)
def test_a_backup_with_a_wrong_value_is_refused(
    crammed: Library, meddled: Callable[..., Path], refused: Callable[..., str], kind: str
) -> None:
    """Whatever stands where laydown never writes it, nothing of that backup is taken in."""
    backup = meddled(crammed, READ[kind])
    assert str(backup) in refused(crammed, backup)


@pytest.mark.parametrize("kind", ONLY_TAKEN_IN)
def test_a_backup_that_would_trip_up_later_is_refused(
    crammed: Library, meddled: Callable[..., Path], refused: Callable[..., str], kind: str
) -> None:
    """So is one in which numbers and names lead nowhere, or are used up."""
    backup = meddled(crammed, *ONLY_TAKEN_IN[kind])
    assert str(backup) in refused(crammed, backup)


def test_nothing_is_taken_in_where_a_value_is_missing(
    crammed: Library, tmp_path: Path, refused: Callable[..., str]
) -> None:
    """A rule of the schema that was set aside for a moment is kept by the new library."""
    backup = crammed.backup(tmp_path / "given" / "backup.db")
    with closing(sqlite3.connect(backup, isolation_level=None)) as connection:
        ((made,),) = connection.execute("select sql from sqlite_master where name = 'papers'")
        change = "update sqlite_master set sql = ? where name = 'papers'"
        connection.execute("pragma writable_schema = on")
        connection.execute(change, (made.replace("NOT NULL", ""),))
    with closing(sqlite3.connect(backup, isolation_level=None)) as connection:
        connection.execute("update papers set coats_limit = null")
        connection.execute("pragma writable_schema = on")
        connection.execute(change, (made,))
    assert str(backup) in refused(crammed, backup)
    with pytest.raises(LibraryError, match=r"backup\.db"), open_library(backup).look() as work:
        work.papers()


@pytest.mark.parametrize("kind", READ)
def test_a_library_with_a_wrong_value_says_so(
    crammed: Library, meddled: Callable[..., Path], kind: str
) -> None:
    """Used where it lies, it ends in a sentence and never in a fault."""
    given = open_library(meddled(crammed, READ[kind]))
    with pytest.raises(LibraryError, match=r"backup\.db") as trouble:
        look_at_all(given)
    assert trouble.value.hint
