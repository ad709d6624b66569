"""The steps of a library, oldest first: what its tables were made of, one after the other.

A step does tomorrow what it does today, whatever becomes of the tables that the code maps; so the
types and lengths stand here. Revision 0001 is the first of `STEPS`.
"""

from collections.abc import Callable
from functools import partial
from typing import Any

import sqlalchemy as sa
from alembic import op

from laydown.store.migrations.bare_pictures import bare_pictures
from laydown.store.migrations.recipes_as_text import recipes_as_text

NAME, WORD, DAY, DIGEST = sa.String(200), sa.String(20), sa.String(10), sa.String(64)
MOMENT = sa.DateTime(timezone=True)


def _number(**more: Any) -> sa.Column[Any]:
    return sa.Column("id", sa.Integer, primary_key=True, **more)


def _needed(kind: Any, *names: str, **more: Any) -> list[sa.Column[Any]]:
    """Make columns of one kind that hold something in every row."""
    return [sa.Column(name, kind, nullable=False, **more) for name in names]


def _named() -> list[sa.Column[Any]]:
    return [_number(), *_needed(NAME, "name"), *_needed(NAME, "key", unique=True)]


def _of(name: str, table: str, **more: Any) -> sa.Column[Any]:
    """Make a column that names a row of another table; one of every row, unless it is said."""
    owner = sa.ForeignKey(f"{table}.id")
    return sa.Column(name, sa.Integer, owner, **({"nullable": False} | more))


def _add(table: str, *columns: tuple[Any, ...]) -> None:
    """Add columns: name, kind, and what counts for the rows that are there, usually nothing."""
    for name, kind, *usual in columns:
        (told,) = usual or ("",)
        op.add_column(table, sa.Column(name, kind, nullable=False, server_default=told))


def _swatches() -> None:
    """Keep ranges, colorants, papers and swatches."""
    op.create_table("ranges", *_named(), *_needed(WORD, "medium"))
    op.create_table(
        "colorants",
        *(_number(), _of("range_id", "ranges")),
        *_needed(NAME, "name", "key", "code"),
        *_needed(sa.Boolean, "blender"),
        sa.UniqueConstraint("range_id", "key"),
    )
    op.create_table("papers", *_named(), *_needed(sa.Integer, "coats_limit"))
    op.create_table(
        "swatches",
        *(_number(), _of("paper_id", "papers", index=True)),
        *_needed(WORD, "basis"),
        *_needed(sa.JSON, "reflectance", "xyz"),
        *_needed(sa.Double, "spread"),
        *_needed(sa.JSON, "flags"),
        *_needed(MOMENT, "taken_in"),
        sa.CheckConstraint("basis in ('spectrum', 'xyz')", name="basis_known"),
    )
    op.create_table(
        "steps",
        *(_number(), _of("swatch_id", "swatches"), *_needed(sa.Integer, "position")),
        _of("colorant_id", "colorants", nullable=True, index=True),
        sa.Column("coats", sa.Integer),
        *(sa.Column(name, WORD) for name in ("stroke", "pressure")),
        sa.Column("dilution", sa.Double),
        *(sa.Column(name, WORD) for name in ("wait", "treatment", "tool")),
        sa.UniqueConstraint("swatch_id", "position"),
        sa.CheckConstraint(
            "(colorant_id is null) = (treatment is not null)", name="colorant_or_treatment"
        ),
    )


def _kits_fits_journal() -> None:
    """Keep kits, fits, and the journal that undo reads."""
    op.create_table("kits", *_named())
    op.create_table(
        "kit_members",
        _of("kit_id", "kits", primary_key=True),
        _of("colorant_id", "colorants", primary_key=True, index=True),
    )
    op.create_table(
        "fits",
        *(_number(), *_needed(sa.Text, "ranges"), *_needed(NAME, "paper")),
        *(*_needed(sa.String(50), "model_version"), *_needed(DIGEST, "swatch_hash")),
        *_needed(sa.Text, "payload"),
        sa.UniqueConstraint("ranges", "paper"),
    )
    op.create_table(
        "changes", _number(), *_needed(sa.String(500), "label"), *_needed(MOMENT, "made")
    )
    op.create_table(
        "journal",
        *(_number(), _of("change_id", "changes"), *_needed(sa.Integer, "position")),
        *_needed(sa.String(50), "table_name"),
        *(sa.Column(name, sa.JSON) for name in ("before", "after")),
    )
    op.create_index("journal_by_change", "journal", ["change_id", "position"], unique=True)


def _mixtures() -> None:
    """Keep the parts of steps that are mixed on the palette."""
    op.create_table(
        "parts",
        *(_number(), _of("step_id", "steps"), *_needed(sa.Integer, "position")),
        *(_of("colorant_id", "colorants", index=True), *_needed(sa.Integer, "parts")),
        sa.UniqueConstraint("step_id", "position"),
    )


def _trials() -> None:
    """Keep the notebook: trials, every entry ever made for each, and their photographs."""
    op.create_table(
        "photographs",
        *(_number(), *_needed(DIGEST, "digest", unique=True), *_needed(sa.String(300), "name")),
        *_needed(sa.LargeBinary, "content"),
    )
    op.create_table("trials", _number(), *_needed(sa.String(32), "uid", unique=True))
    op.create_table(
        "trial_entries",
        *(_number(), _of("trial_id", "trials"), *_needed(sa.Integer, "version")),
        *(*_needed(sa.Boolean, "withdrawn"), *_needed(MOMENT, "recorded")),
        *(*_needed(NAME, "kit", "paper"), *_needed(sa.Text, "recipe")),
        *(*_needed(sa.JSON, "reflectance"), *_needed(WORD, "basis"), *_needed(sa.Double, "spread")),
        *(*_needed(WORD, "measured"), *_needed(sa.String(500), "wanted")),
        sa.Column("intended", sa.JSON),
        *(*_needed(sa.Text, "remark"), *_needed(DAY, "done"), *_needed(WORD, "fill")),
        _of("photograph_id", "photographs", nullable=True),
        sa.UniqueConstraint("trial_id", "version"),
    )


def _sheets() -> None:
    """Keep printed sheets, and what was read from them."""
    op.create_table(
        "sheets",
        *(_number(autoincrement=False), *_needed(sa.Text, "content"), *_needed(MOMENT, "printed")),
    )
    op.create_table(
        "cell_readings",
        *(_number(), _of("sheet_id", "sheets"), *_needed(sa.Integer, "cell")),
        *(*_needed(WORD, "stage"), *_needed(sa.JSON, "xyz"), *_needed(sa.Double, "spread")),
        *(*_needed(sa.JSON, "flags"), *_needed(sa.String(40), "conversion")),
        *(*_needed(sa.Boolean, "accepted"), *_needed(MOMENT, "taken_in")),
    )
    op.create_index("cell_readings_by_cell", "cell_readings", ["sheet_id", "cell"])


def _jobs() -> None:
    """Keep jobs: long work, how far it has come, and what came of it."""
    op.create_table(
        "jobs",
        *(_number(), *_needed(sa.String(50), "task"), *_needed(sa.String(300), "title")),
        *(*_needed(sa.String(50), "started_by"), *_needed(sa.String(32), "owner")),
        *(*_needed(WORD, "state", index=True), *_needed(sa.Integer, "done", "total")),
        *(*_needed(sa.Text, "message", "hint"), *_needed(sa.Boolean, "to_be_stopped")),
        *(*_needed(sa.Integer, "bytes_kept"), *_needed(MOMENT, "made")),
        *(sa.Column(name, MOMENT) for name in ("started", "ended")),
        *_needed(MOMENT, "heard_of"),
        sqlite_autoincrement=True,  # a number is never given twice
    )
    op.create_table(
        "job_texts",
        _of("job_id", "jobs", primary_key=True),
        sa.Column("part", sa.String(10), primary_key=True),
        *_needed(sa.LargeBinary, "content"),
    )


def _lightfastness() -> None:
    """Keep classes of lightfastness, and tests in a window."""
    op.create_table(
        "lightfastness",
        _of("colorant_id", "colorants", primary_key=True),
        *(*_needed(WORD, "grade"), *_needed(sa.String(300), "source")),
    )
    op.create_table(
        "window_readings",
        *(_number(), _of("colorant_id", "colorants", index=True), *_needed(NAME, "paper")),
        *(*_needed(sa.Double, "least", "most"), *_needed(sa.Boolean, "filtered")),
        *(*_needed(sa.JSON, "before", "after"), *_needed(sa.Double, "noise")),
        *(*_needed(sa.String(300), "remark"), *_needed(MOMENT, "noted")),
    )


def _lessons() -> None:
    """Keep lessons."""
    op.create_table(
        "lessons",
        *(_number(), *_needed(sa.String(300), "title"), *_needed(NAME, "paper")),
        *(*_needed(sa.Integer, "colors"), *_needed(sa.Text, "text"), *_needed(MOMENT, "kept")),
        sqlite_autoincrement=True,  # a number is never given twice
    )


def _plans() -> None:
    """Keep plans of pictures, and what was changed in them by hand."""
    op.create_table(
        "plans",
        *(_number(), *_needed(sa.String(300), "title"), *_needed(sa.Text, "changes")),
        *(*_needed(sa.Integer, "revision"), *_needed(sa.LargeBinary, "begun", "file")),
        *_needed(MOMENT, "kept", "changed"),
        sqlite_autoincrement=True,  # a number is never given twice
    )


def _plans_put_away() -> None:
    """Keep which plans were put away, for undo to bring them back."""
    plan = sa.Column("plan_id", sa.Integer, primary_key=True, autoincrement=False)
    op.create_table("plans_put_away", plan, *_needed(MOMENT, "put_away"))


def _who_and_where() -> None:
    """Note who changed a library on a server, and which bench a job runs at."""
    _add("changes", ("who", sa.String(100)))
    _add("jobs", ("bench", sa.Integer, "0"))


def _marks_of_pans() -> None:
    """Keep what the trade says of pans: opacity, staining or lifting, granulation."""
    pan = _of("colorant_id", "colorants", primary_key=True)
    op.create_table("pan_marks", pan, *_needed(sa.String(100), "marks"))


def _finished_works() -> None:
    """Keep finished works: what was made, on which paper, by which recipes."""
    op.create_table(
        "finished_works",
        *(_number(), *_needed(NAME, "title", "paper"), *_needed(sa.Text, "recipes")),
        *(*_needed(DAY, "done"), *_needed(sa.Text, "remark"), *_needed(DIGEST, "photograph")),
        *_needed(MOMENT, "kept"),
        sqlite_autoincrement=True,  # a number is never given twice
    )


STEPS: tuple[Callable[[], None], ...] = (
    _swatches,
    _kits_fits_journal,
    _mixtures,
    _trials,
    _sheets,
    _jobs,
    _lightfastness,
    _lessons,
    _plans,
    # what trials were read from together, and its error in all of them; earlier ones have neither
    partial(_add, "trial_entries", ("picture", DIGEST), ("shared", sa.Double, "0")),
    recipes_as_text,
    lambda: None,  # bare pictures: `bare_pictures` bares PDFs too, and it would be done twice
    partial(_add, "trial_entries", ("made_by", NAME)),  # what was there counts as the owner's
    bare_pictures,
    _plans_put_away,
    partial(_add, "papers", ("surface", WORD)),  # coated or not; of those there nobody has said
    _marks_of_pans,
    # which picture a swatch was read from, and its error; earlier ones have neither
    partial(_add, "swatches", ("picture", DIGEST), ("shared", sa.Double, "0")),
    _who_and_where,
    partial(_add, "kit_members", ("stock", WORD, "there")),  # low, used up, on loan or there
    _finished_works,
)
